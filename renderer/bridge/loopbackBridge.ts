import { decode, encode } from '@msgpack/msgpack'
import { DeskError, faultSchema } from '../../shared/contract/errors.ts'
import { deskEventSchema, type DeskEvent, type Input, type OperationName, type Output } from '../../shared/contract/operations.ts'
import { asDeskError, type Bridge } from './bridge.ts'
import { upload } from './upload.ts'

/** Every kind of thing that the desk may say has changed. */
const everything = deskEventSchema.options[1].shape.what.options

/** The desk behind the loopback host that served this page. */
export function loopbackBridge(origin = globalThis.location.origin): Bridge {
  const events = new EventSocket(`${origin.replace(/^http/, 'ws')}/events`)
  return {
    get connected() {
      return events.connected
    },
    onConnection: (heard) => events.onConnection(heard),
    listen: (heard) => events.listen(heard),
    async call<N extends OperationName>(name: N, input: Input<N>): Promise<Output<N>> {
      try {
        const body = encode(input, { ignoreUndefined: true })
        const response = await fetch(`${origin}/call/${name}`, { method: 'POST', headers: { 'content-type': 'application/msgpack' }, body })
        return (await answerOf(response)) as Output<N>
      } catch (error) {
        throw asDeskError(error)
      }
    },
    mediaUrl: (path) => `${origin}/media/${path}`,
    async stage(file, options = {}) {
      const answer = await upload(`${origin}/stage`, file, options)
      return { staged: answer, fileName: file.name }
    },
  }
}

async function answerOf(response: Response): Promise<unknown> {
  if (response.headers.get('content-type') !== 'application/msgpack') {
    const text = (await response.text()).trim()
    throw new DeskError(
      response.status === 401 || response.status === 403 ? 'not-allowed' : 'internal',
      text || `The desk answered ${response.status}.`,
    )
  }
  const value = decode(new Uint8Array(await response.arrayBuffer()))
  if (response.ok) return value
  throw DeskError.from(faultSchema.parse(value))
}

const waitsMs = [250, 500, 1000, 2000, 5000]

/** The stream of events; it opens again by itself, and then says that anything may have changed. */
class EventSocket {
  readonly #url: string
  readonly #listeners = new Set<(event: DeskEvent) => void>()
  readonly #watchers = new Set<(connected: boolean) => void>()
  #socket: WebSocket | null = null
  #tries = 0
  #wasOpen = false
  connected = false

  constructor(url: string) {
    this.#url = url
    this.#open()
  }

  listen(heard: (event: DeskEvent) => void): () => void {
    this.#listeners.add(heard)
    return () => void this.#listeners.delete(heard)
  }

  onConnection(heard: (connected: boolean) => void): () => void {
    this.#watchers.add(heard)
    return () => void this.#watchers.delete(heard)
  }

  #open(): void {
    const socket = new WebSocket(this.#url)
    this.#socket = socket
    socket.addEventListener('open', () => {
      this.#tries = 0
      this.#say(true)
      if (this.#wasOpen) for (const what of everything) this.#tell({ type: 'changed', what })
      this.#wasOpen = true
    })
    socket.addEventListener('message', ({ data }) => {
      const event = deskEventSchema.safeParse(JSON.parse(String(data)))
      if (event.success) this.#tell(event.data)
    })
    socket.addEventListener('close', () => {
      if (this.#socket !== socket) return
      this.#say(false)
      setTimeout(() => this.#open(), waitsMs[Math.min(this.#tries++, waitsMs.length - 1)])
    })
  }

  #tell(event: DeskEvent): void {
    for (const heard of this.#listeners) heard(event)
  }

  #say(connected: boolean): void {
    if (this.connected === connected) return
    this.connected = connected
    for (const heard of this.#watchers) heard(connected)
  }
}
