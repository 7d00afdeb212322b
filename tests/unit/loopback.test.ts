import { decode, encode } from '@msgpack/msgpack'
import { mkdirSync, symlinkSync, writeFileSync } from 'node:fs'
import { request as httpRequest } from 'node:http'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { WebSocket } from 'ws'
import { deskEventSchema } from '../../shared/contract/operations.ts'
import { staticPath } from '../../electron/desk/staticFiles.ts'
import { startLoopback, type LoopbackHost } from '../../electron/loopback/host.ts'
import { judge, judgeSocket, type Gate, type Knock } from '../../electron/loopback/gate.ts'
import type { OpenDesk } from '../../electron/desk/createDesk.ts'
import { batchOf, openFakeDesk, settled, studentOf, temporaryFolder } from '../fixtures/desk.ts'

interface Answer {
  readonly status: number
  readonly headers: Record<string, string | string[] | undefined>
  readonly body: Buffer
}

let folder: ReturnType<typeof temporaryFolder>
let desk: OpenDesk
let host: LoopbackHost
let cookie: string

/** A request as raw as can be: no header that is not asked for. */
function ask(
  path: string,
  { method = 'GET', headers = {}, body }: { method?: string; headers?: Record<string, string>; body?: Uint8Array } = {},
): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const request = httpRequest({ host: '127.0.0.1', port: host.port, path, method, headers: { ...headers } }, (response) => {
      const pieces: Buffer[] = []
      response.on('data', (piece: Buffer) => pieces.push(piece))
      response.on('end', () => resolve({ status: response.statusCode!, headers: response.headers, body: Buffer.concat(pieces) }))
    })
    request.on('error', reject)
    request.end(body)
  })
}
const own = () => `http://127.0.0.1:${host.port}`
const inside = () => ({ cookie, origin: own() })
const call = (name: string, input: unknown, headers: Record<string, string> = inside()) =>
  ask(`/call/${name}`, { method: 'POST', headers, body: encode(input) })

beforeAll(async () => {
  folder = temporaryFolder()
  const renderer = join(folder.path, 'renderer')
  mkdirSync(join(renderer, 'assets'), { recursive: true })
  writeFileSync(join(renderer, 'index.html'), '<!doctype html><title>Crossbearing</title>')
  writeFileSync(join(renderer, 'assets', 'index-abcdefgh.js'), 'export {}')
  writeFileSync(join(folder.path, 'secret.txt'), 'secret')
  symlinkSync(join(folder.path, 'secret.txt'), join(renderer, 'link.txt'))
  desk = openFakeDesk(join(folder.path, 'library'))
  host = await startLoopback({ desk, renderer, log: () => {}, stageLimit: 1000 })
  const first = await ask(host.url.slice(own().length))
  cookie = String(first.headers['set-cookie']?.[0]).split(';')[0]!
})
afterAll(async () => {
  await host.close()
  await desk.close()
  folder[Symbol.dispose]()
})

describe('the way in', () => {
  test('the token is exchanged for a cookie that scripts cannot read, once', async () => {
    const url = host.invite().slice(own().length)
    const first = await ask(url)
    expect(first.status).toBe(303)
    expect(first.headers.location).toBe('/')
    expect(first.headers['set-cookie']?.[0]).toMatch(/^crossbearing-\d+=[\w-]{43}; HttpOnly; SameSite=Strict; Path=\/$/)
    const second = await ask(url)
    expect([second.status, second.headers['set-cookie']]).toEqual([401, undefined])
    // The window that is in already may reload the address.
    expect((await ask(url, { headers: { cookie } })).status).toBe(303)
    expect((await ask('/?token=wrong')).status).toBe(401)
    expect((await ask('/?token=')).status).toBe(401)
  })

  test('without the cookie, or with a wrong one, nothing is answered', async () => {
    for (const path of ['/', '/media/review/x.mp4', '/assets/index-abcdefgh.js']) {
      expect((await ask(path)).status).toBe(401)
      expect((await ask(path, { headers: { cookie: `${cookie}x` } })).status).toBe(401)
      expect((await ask(path, { headers: { cookie: cookie.replace(/=.*/, '=') } })).status).toBe(401)
    }
    expect((await call('student.list', {}, { origin: own() })).status).toBe(401)
  })

  test('a name bent to this machine is refused', async () => {
    for (const name of [
      'evil.example',
      'localhost',
      `localhost:${host.port}`,
      `evil.example:${host.port}`,
      '127.0.0.1',
      '127.0.0.1:1',
      `[::1]:${host.port}`,
    ])
      expect((await ask('/', { headers: { cookie, host: name } })).status).toBe(403)
    expect((await ask(host.invite().slice(own().length), { headers: { host: `evil.example:${host.port}` } })).status).toBe(403)
  })

  test('another page may not ask, whether it says so by Origin or by Sec-Fetch-Site', async () => {
    expect((await call('student.list', {}, { cookie, origin: 'http://evil.example' })).status).toBe(403)
    expect((await call('student.list', {}, { cookie, origin: 'null' })).status).toBe(403)
    expect((await call('student.list', {}, { cookie, origin: `http://127.0.0.1:${host.port + 1}` })).status).toBe(403)
    expect((await call('student.list', {}, { cookie })).status).toBe(403)
    expect((await call('student.list', {}, { ...inside(), 'sec-fetch-site': 'same-site' })).status).toBe(403)
    expect((await ask('/', { headers: { cookie, 'sec-fetch-site': 'cross-site' } })).status).toBe(403)
    expect((await ask('/', { headers: { cookie, 'sec-fetch-site': 'none' } })).status).toBe(200)
    expect((await ask('/media/review/x.mp4', { headers: { cookie, origin: 'http://evil.example' } })).status).toBe(403)
    expect(
      (await ask('/stage', { method: 'PUT', headers: { cookie, origin: 'http://evil.example' }, body: Buffer.from('x') })).status,
    ).toBe(403)
  })

  test('listens on 127.0.0.1 and nowhere else', async () => {
    const { networkInterfaces } = await import('node:os')
    const others = Object.values(networkInterfaces())
      .flat()
      .filter((each) => each?.family === 'IPv4' && !each.internal)
      .map((each) => each!.address)
    for (const address of ['127.0.0.2', ...others])
      await expect(fetch(`http://${address}:${host.port}/`, { signal: AbortSignal.timeout(2000) })).rejects.toThrow()
  })
})

describe('the gate', () => {
  const gate: Gate = { host: '127.0.0.1:5000', cookieName: 'c', secret: 's3cret' }
  const good: Knock = {
    method: 'POST',
    host: '127.0.0.1:5000',
    origin: 'http://127.0.0.1:5000',
    fetchSite: 'same-origin',
    cookie: 'a=b; c=s3cret',
  }
  test.each([
    [{}, true],
    [{ method: 'GET', origin: undefined, fetchSite: undefined }, true],
    [{ origin: undefined }, false],
    [{ cookie: undefined }, false],
    [{ cookie: 'c=s3cre' }, false],
    [{ cookie: 'cc=s3cret' }, false],
    [{ host: undefined }, false],
    [{ fetchSite: 'none' }, false],
    [{ method: 'GET', origin: undefined, fetchSite: 'none' }, true],
    [{ method: 'DELETE', origin: undefined }, false],
  ])('%o: %s', (change, ok) => expect(judge(gate, { ...good, ...change }).ok).toBe(ok))
  test('a socket must say where it comes from', () => {
    expect(judgeSocket(gate, { ...good, method: 'GET' }).ok).toBe(true)
    expect(judgeSocket(gate, { ...good, method: 'GET', origin: undefined }).ok).toBe(false)
    expect(judgeSocket(gate, { ...good, method: 'GET', fetchSite: 'none' }).ok).toBe(false)
  })
})

describe('pages', () => {
  test('come with the headers that fence them in', async () => {
    const { status, headers, body } = await ask('/', { headers: { cookie } })
    expect([status, headers['content-type'], body.toString()]).toEqual([
      200,
      'text/html; charset=utf-8',
      '<!doctype html><title>Crossbearing</title>',
    ])
    expect(headers['cross-origin-opener-policy']).toBe('same-origin')
    expect(headers['cross-origin-embedder-policy']).toBe('require-corp')
    expect(headers['x-content-type-options']).toBe('nosniff')
    const policy = String(headers['content-security-policy'])
    for (const part of [
      `default-src 'none'`,
      `script-src 'self' 'wasm-unsafe-eval'`,
      `object-src 'none'`,
      `base-uri 'none'`,
      `frame-ancestors 'none'`,
      `connect-src 'self' ws://127.0.0.1:${host.port};`,
    ])
      expect(policy).toContain(part)
    expect(policy).not.toContain(`'unsafe-inline'`)
    expect(policy).not.toContain(`'unsafe-eval'`)
    expect((await ask('/assets/index-abcdefgh.js', { headers: { cookie } })).headers['cache-control']).toContain('immutable')
  })

  test.each([
    '/../secret.txt',
    '/%2e%2e/secret.txt',
    '/..%2fsecret.txt',
    '/assets/..%5c..%5csecret.txt',
    '/link.txt',
    '/assets',
    '/nothing.js',
    '/%00',
    '/%E0%A4%A',
  ])('nothing outside the folder: %s', async (path) => {
    expect((await ask(path, { headers: { cookie } })).status).toBe(404)
    expect(staticPath(join(folder.path, 'renderer'), path)).toBe(null)
  })
})

describe('calls', () => {
  test('go by msgpack both ways; faults keep their shape', async () => {
    const saved = await call('student.save', studentOf('Ada'))
    expect([saved.status, saved.headers['content-type']]).toEqual([200, 'application/msgpack'])
    const student = decode(saved.body) as { id: string; name: string; createdAt: number }
    expect(student).toMatchObject({ name: 'Ada', statureM: 1.8 })
    expect(student.createdAt).toBeGreaterThan(1.7e12)
    const bad = await call('student.remove', { id: 'nobody' })
    expect([bad.status, decode(bad.body)]).toEqual([
      422,
      { kind: 'not-found', message: 'This student is not in the library any more.', where: 'nobody', remedy: null },
    ])
    expect(decode((await call('no.such', {})).body)).toMatchObject({ kind: 'bad-input' })
    expect(decode((await ask('/call/student.list', { method: 'POST', headers: inside(), body: Buffer.from([0xc1]) })).body)).toMatchObject({
      kind: 'bad-input',
      message: 'The request is not msgpack.',
    })
    expect((await ask('/call/student.list', { headers: inside() })).status).toBe(404)
    await call('student.remove', { id: student.id })
  })

  test('events come by socket, to our own page only', async () => {
    const open = (headers: Record<string, string>, path = '/events') => new WebSocket(`ws://127.0.0.1:${host.port}${path}`, { headers })
    const refusals = [
      open({ cookie }),
      open({ cookie, origin: 'http://evil.example' }),
      open({ origin: own() }),
      open({ ...inside(), host: 'evil.example' }),
      open(inside(), '/other'),
    ]
    for (const socket of refusals)
      await expect(
        new Promise((resolve, reject) => {
          socket.on('open', resolve)
          socket.on('error', reject)
        }),
      ).rejects.toThrow(/40[13]/)
    const socket = open(inside())
    const heard: unknown[] = []
    socket.on('message', (data: Buffer) => heard.push(deskEventSchema.parse(JSON.parse(data.toString()))))
    await new Promise((resolve) => socket.once('open', resolve))
    await call('settings.set', { theme: 'light' })
    await expect.poll(() => heard).toEqual([{ type: 'changed', what: 'settings' }])
    socket.close()
  })

  test('a file is staged, taken in and served by range', async () => {
    const staged = await ask('/stage', { method: 'PUT', headers: inside(), body: Buffer.from('bytes of a clip') })
    expect(staged.status).toBe(200)
    const { staged: name } = decode(staged.body) as { staged: string }
    await call('takeIn.start', {
      ...batchOf([]),
      items: [{ source: { staged: name, fileName: 'front.mp4' }, view: null, captureRate: null }],
    })
    await settled(desk)
    const [clip] = decode((await call('clip.list', {})).body) as { id: string; fileName: string }[]
    expect(clip!.fileName).toBe('front.mp4')
    const part = await ask(`/media/review/${clip!.id}.mp4`, { headers: { cookie, range: 'bytes=0-5' } })
    expect([part.status, part.headers['content-range'], part.body.toString()]).toEqual([206, 'bytes 0-5/16', 'review'])
    expect(part.headers['cross-origin-resource-policy']).toBe('same-origin')
    const whole = await ask(`/media/review/${clip!.id}.mp4`, { headers: { cookie } })
    expect((await ask(`/media/review/${clip!.id}.mp4`, { headers: { cookie, 'if-none-match': String(whole.headers.etag) } })).status).toBe(
      304,
    )
    expect((await ask(`/media/review/${clip!.id}.mp4`, { headers: { cookie, range: 'bytes=99-' } })).status).toBe(416)
    expect((await ask('/media/../library/library.sqlite', { headers: { cookie } })).status).toBe(404)
  })

  test('a file that is too large is refused with a sentence', async () => {
    const refused = await ask('/stage', { method: 'PUT', headers: inside(), body: Buffer.alloc(2000) })
    expect(refused.status).toBe(413)
    expect(decode(refused.body)).toMatchObject({ kind: 'bad-input', message: expect.stringContaining('larger than') as string })
  })
})
