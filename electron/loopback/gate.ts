import { timingSafeEqual } from 'node:crypto'

/** What a request says of itself that the gate looks at; header values as Node gives them. */
export interface Knock {
  readonly method: string
  readonly host: string | undefined
  readonly origin: string | undefined
  readonly fetchSite: string | undefined
  readonly cookie: string | undefined
}

export interface Gate {
  /** `127.0.0.1:PORT`: the only Host there is. */
  readonly host: string
  readonly cookieName: string
  readonly secret: string
}

export type Verdict = { readonly ok: true } | { readonly ok: false; readonly status: 401 | 403; readonly reason: string }

const refuse = (status: 401 | 403, reason: string): Verdict => ({ ok: false, status, reason })

/** Compares in a time that does not tell how much of it was right. */
export function sameSecret(given: string | null | undefined, secret: string): boolean {
  const a = Buffer.from(given ?? '')
  const b = Buffer.from(secret)
  return a.length === b.length && timingSafeEqual(a, b)
}

export function cookieValue(header: string | undefined, name: string): string | null {
  for (const pair of header?.split(';') ?? []) {
    const [key, ...value] = pair.split('=')
    if (key?.trim() === name) return value.join('=').trim()
  }
  return null
}

/**
 * Whether a request comes from our own window: addressed to the number 127.0.0.1 (a name that was bent to it would say its own),
 * not sent by another site's page, and with the cookie that only the window that had the token was given.
 */
export function judge(gate: Gate, knock: Knock): Verdict {
  const addressed = judgeAddress(gate, knock)
  if (!addressed.ok) return addressed
  return sameSecret(cookieValue(knock.cookie, gate.cookieName), gate.secret)
    ? { ok: true }
    : refuse(401, 'This window was not opened by Crossbearing. Start Crossbearing and use the address that it prints.')
}

/** The part of the judgement that comes before the cookie. */
export function judgeAddress(gate: Gate, { method, host, origin, fetchSite }: Knock): Verdict {
  if (host !== gate.host) return refuse(403, 'This address is not the one Crossbearing listens at.')
  const own = `http://${gate.host}`
  if (origin !== undefined && origin !== own) return refuse(403, 'Another page may not ask this.')
  const isReading = method === 'GET' || method === 'HEAD'
  if (!isReading && origin === undefined) return refuse(403, 'A change needs to say where it comes from.')
  if (fetchSite !== undefined && fetchSite !== 'same-origin' && !(fetchSite === 'none' && isReading))
    return refuse(403, 'Another page may not ask this.')
  return { ok: true }
}

/** As judge, for the socket of events: a browser always says where that comes from. */
export function judgeSocket(gate: Gate, knock: Knock): Verdict {
  return knock.origin === undefined
    ? refuse(403, 'A socket needs to say where it comes from.')
    : judge(gate, { ...knock, fetchSite: knock.fetchSite === 'none' ? 'cross-site' : knock.fetchSite })
}
