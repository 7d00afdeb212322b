/** Where the desktop window's pages live: a scheme of our own, so that there is no file and no network address to reach. */
export const appScheme = 'crossbearing'
export const appOrigin = `${appScheme}://app`

/** Names of the messages between a desktop window and the desk. */
export const channels = { call: 'desk:call', event: 'desk:event' } as const

/** Whether an address is one of our own pages or files. Compared by parts: a scheme of our own has no origin that can be compared. */
export function isOwnAddress(address: string): boolean {
  if (!URL.canParse(address)) return false
  const { protocol, host, username, password } = new URL(address)
  return protocol === `${appScheme}:` && host === 'app' && username === '' && password === ''
}

/** Who sends a message: the frame's address, null once it has gone, and whether it is a window's own page or something inside it. */
export interface Sender {
  readonly url: string | null
  readonly isMainFrame: boolean
}

/** The one gate for messages from a window: only our own page, never a frame inside it. */
export const mayCall = ({ url, isMainFrame }: Sender): boolean => isMainFrame && url !== null && isOwnAddress(url)

/** What a page asks leave for: the microphone's sound and nothing else, and only our own page. */
export interface Wish {
  readonly permission: string
  /** What kinds of media, where it asks for media. */
  readonly media: readonly (string | undefined)[]
  readonly url: string
}
export const mayHave = ({ permission, media, url }: Wish): boolean =>
  isOwnAddress(url) && permission === 'media' && media.length > 0 && media.every((kind) => kind === 'audio')
