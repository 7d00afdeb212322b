import { decode, encode } from '@msgpack/msgpack'
import { randomBytes } from 'node:crypto'
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http'
import type { AddressInfo } from 'node:net'
import { Readable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import { WebSocketServer, type WebSocket } from 'ws'
import { DeskError, type Fault } from '../../shared/contract/errors.ts'
import type { OpenDesk } from '../desk/createDesk.ts'
import { faultOf } from '../desk/faultOf.ts'
import { pageHeaders } from '../desk/pageHeaders.ts'
import { serveStatic } from '../desk/staticFiles.ts'
import { cookieValue, judge, judgeAddress, judgeSocket, sameSecret, type Gate, type Knock, type Verdict } from './gate.ts'

export interface LoopbackOptions {
  readonly desk: OpenDesk
  /** Folder of the built renderer. */
  readonly renderer: string
  /** 0 for any that is free. */
  readonly port?: number
  readonly log?: (line: string) => void
  /** Largest file that may be staged, in bytes. */
  readonly stageLimit?: number
}

export interface LoopbackHost {
  /** The address with its one-time token: open it once. */
  readonly url: string
  readonly port: number
  /** A fresh address with a token of its own. The one before it dies. */
  invite(): string
  close(): Promise<void>
}

const maxCallBytes = 64 * 2 ** 20
const address = '127.0.0.1'

/** Serves the desk to a browser window on this machine and to nobody else. */
export async function startLoopback(options: LoopbackOptions): Promise<LoopbackHost> {
  const { desk, renderer } = options
  const log = options.log ?? ((line: string) => console.error(line))
  const sockets = new WebSocketServer({ noServer: true, maxPayload: 1024 })
  const server = createServer({ requestTimeout: 0, headersTimeout: 20_000 })
  await new Promise<void>((resolve, reject) => {
    server.once('error', reject)
    server.listen(options.port ?? 0, address, resolve)
  })
  const { port } = server.address() as AddressInfo
  // Cookies know hosts but not ports: the name keeps two libraries apart.
  const gate: Gate = { host: `${address}:${port}`, cookieName: `crossbearing-${port}`, secret: randomBytes(32).toString('base64url') }
  const headers = pageHeaders([`ws://${gate.host}`])
  let token: string | null = null

  const invite = (): string => {
    token = randomBytes(24).toString('base64url')
    return `http://${gate.host}/?token=${token}`
  }

  const knockOf = ({ method = 'GET', headers: { host, origin, cookie, 'sec-fetch-site': fetchSite } }: IncomingMessage): Knock => ({
    method,
    host,
    origin,
    cookie,
    fetchSite: typeof fetchSite === 'string' ? fetchSite : undefined,
  })

  const handle = async (request: IncomingMessage, response: ServerResponse): Promise<void> => {
    for (const [name, value] of Object.entries(headers)) response.setHeader(name, value)
    const knock = knockOf(request)
    const url = new URL(request.url ?? '/', `http://${gate.host}`)
    const offered = url.searchParams.get('token')
    if (offered !== null && url.pathname === '/') return exchange(knock, offered, response)
    const verdict = judge(gate, knock)
    if (!verdict.ok) return refuse(response, verdict)
    const [, first, ...rest] = url.pathname.split('/')
    if (first === 'call' && request.method === 'POST') return answerCall(desk, rest.join('/'), request, response, log)
    if (first === 'stage' && request.method === 'PUT') return stage(desk, request, response, log, options.stageLimit)
    const asked = {
      method: request.method ?? 'GET',
      headers: new Headers(
        Object.entries(request.headers).flatMap(([name, value]) => (typeof value === 'string' ? [[name, value] as [string, string]] : [])),
      ),
      signal: signalOf(response),
    }
    if (first === 'media') return send(response, await desk.media(rest.join('/'), asked))
    const file = asked.method === 'GET' || asked.method === 'HEAD' ? serveStatic(renderer, url.pathname, asked) : null
    return file ? send(response, file) : plain(response, 404, 'There is nothing of that name.')
  }

  /** The token for the cookie, once. A token that has been used, or was never given, opens nothing, unless the window is in already. */
  const exchange = (knock: Knock, offered: string, response: ServerResponse): void => {
    const addressed = judgeAddress(gate, knock)
    if (!addressed.ok) return refuse(response, addressed)
    const isFirst = token !== null && sameSecret(offered, token)
    if (isFirst) token = null
    else if (!sameSecret(cookieValue(knock.cookie, gate.cookieName), gate.secret))
      return refuse(response, {
        ok: false,
        status: 401,
        reason: 'This address has been used. Start Crossbearing again and use the address that it prints.',
      })
    if (isFirst) response.setHeader('set-cookie', `${gate.cookieName}=${gate.secret}; HttpOnly; SameSite=Strict; Path=/`)
    response.writeHead(303, { location: '/', 'cache-control': 'no-store' }).end()
  }

  server.on('request', (request, response) => {
    handle(request, response).catch((error: unknown) => {
      if (response.destroyed || response.writableEnded) return
      const { fault } = faultOf(error, log)
      if (response.headersSent) response.destroy()
      else plain(response, 500, fault.message)
    })
  })
  server.on('upgrade', (request, socket, head) => {
    const verdict =
      new URL(request.url ?? '/', `http://${gate.host}`).pathname === '/events'
        ? judgeSocket(gate, knockOf(request))
        : { ok: false as const, status: 403 as const, reason: 'There is no such socket.' }
    if (!verdict.ok) {
      socket.end(`HTTP/1.1 ${verdict.status} Refused\r\nconnection: close\r\ncontent-type: text/plain\r\n\r\n${verdict.reason}`)
      return
    }
    sockets.handleUpgrade(request, socket, head, (opened) => follow(desk, opened))
  })

  return {
    url: invite(),
    port,
    invite,
    async close() {
      for (const socket of sockets.clients) socket.terminate()
      const closed = new Promise<void>((resolve) => server.close(() => resolve()))
      server.closeAllConnections()
      await closed
    },
  }
}

const plain = (response: ServerResponse, status: number, text: string): void =>
  void response.writeHead(status, { 'content-type': 'text/plain; charset=utf-8', 'cache-control': 'no-store' }).end(text)

const refuse = (response: ServerResponse, verdict: Exclude<Verdict, { ok: true }>): void => plain(response, verdict.status, verdict.reason)

/** Given when the other side has gone before its answer was whole. */
function signalOf(response: ServerResponse): AbortSignal {
  const gone = new AbortController()
  response.once('close', () => {
    if (!response.writableFinished) gone.abort()
  })
  return gone.signal
}

async function send(response: ServerResponse, answer: Response): Promise<void> {
  response.writeHead(answer.status, Object.fromEntries(answer.headers))
  if (!answer.body) return void response.end()
  // A window that seeks breaks off what it asked for before; that is no error.
  await pipeline(Readable.fromWeb(answer.body as Parameters<typeof Readable.fromWeb>[0]), response).catch(() => response.destroy())
}

function packed(response: ServerResponse, status: number, value: unknown): void {
  const body = encode(value, { ignoreUndefined: true })
  response
    .writeHead(status, { 'content-type': 'application/msgpack', 'content-length': body.length, 'cache-control': 'no-store' })
    .end(body)
}

const fail = (response: ServerResponse, fault: Fault, status = 422): void => packed(response, status, fault)

async function answerCall(
  desk: OpenDesk,
  name: string,
  request: IncomingMessage,
  response: ServerResponse,
  log: (line: string) => void,
): Promise<void> {
  try {
    const body = await readBody(request)
    let input: unknown
    try {
      input = decode(body)
    } catch (error) {
      throw new DeskError('bad-input', 'The request is not msgpack.', { where: name, cause: error })
    }
    packed(response, 200, (await desk.callByName(name, input)) ?? null)
  } catch (error) {
    fail(response, faultOf(error, log).fault)
  }
}

async function readBody(request: IncomingMessage): Promise<Uint8Array> {
  const pieces: Buffer[] = []
  let length = 0
  for await (const piece of request) {
    length += (piece as Buffer).length
    if (length > maxCallBytes) throw new DeskError('bad-input', `A request may hold ${maxCallBytes / 2 ** 20} MB at most.`)
    pieces.push(piece as Buffer)
  }
  return Buffer.concat(pieces)
}

async function stage(
  desk: OpenDesk,
  request: IncomingMessage,
  response: ServerResponse,
  log: (line: string) => void,
  limit: number | undefined,
): Promise<void> {
  const told = request.headers['content-length']
  try {
    const staged = await desk.stage(request, { bytes: told === undefined ? null : Number(told), ...(limit === undefined ? {} : { limit }) })
    packed(response, 200, { staged })
  } catch (error) {
    fail(response, faultOf(error, log).fault, 413)
    // A browser that is cut off while it sends never reads why.
    request.resume()
  }
}

/** Sends every event of the desk to a window until it goes. */
function follow(desk: OpenDesk, socket: WebSocket): void {
  const stop = desk.listen((event) => {
    if (socket.readyState === socket.OPEN) socket.send(JSON.stringify(event))
  })
  socket.on('close', stop)
  socket.on('error', () => socket.terminate())
}
