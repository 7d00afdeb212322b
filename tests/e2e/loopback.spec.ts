/** The loopback host as a real browser sees it: isolated, fenced in, closed to other pages. */
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { studentOf } from '../fixtures/desk.ts'
import { expect, test } from './support/desk.ts'

test('the page is isolated, breaks no rule of its own fence, and reaches nothing else', async ({ page, desk }) => {
  const complaints: string[] = []
  page.on('console', (message) => {
    if (message.type() === 'error') complaints.push(message.text())
  })
  await page.reload()
  await page.getByRole('tab', { name: 'Arrivals' }).waitFor()
  const { origin } = new URL(desk.url)
  expect(complaints).toEqual([])
  expect(page.url()).toBe(`${origin}/`)
  expect(await page.evaluate(() => ({ isolated: crossOriginIsolated, cookie: document.cookie, shared: typeof SharedArrayBuffer }))).toEqual(
    { isolated: true, cookie: '', shared: 'function' },
  )
  expect(
    await page.evaluate(() =>
      fetch('http://127.0.0.1:9/').then(
        () => 'reached',
        () => 'refused',
      ),
    ),
  ).toBe('refused')
  expect(
    await page.evaluate(() => {
      const script = document.createElement('script')
      script.textContent = 'globalThis.wasRun = true'
      document.body.append(script)
      return 'wasRun' in globalThis
    }),
  ).toBe(false)
})

test('what changes at the desk is heard in the window', async ({ page, desk }) => {
  await expect(page.getByText('Ada Lind')).toHaveCount(0)
  await desk.call('student.save', studentOf('Ada Lind'))
  await expect(page.getByText('Ada Lind').first()).toBeAttached()
})

test('another page in the same browser gets nothing, though the browser holds the cookie', async ({ page, desk }) => {
  const { origin, port } = new URL(desk.url)
  const other = createServer((_request, response) =>
    response.writeHead(200, { 'content-type': 'text/html' }).end('<!doctype html><title>other</title>'),
  )
  await new Promise<void>((done) => other.listen(0, '127.0.0.1', done))
  const elsewhere = (other.address() as AddressInfo).port
  try {
    // The same site by the cookie's rules (ports do not count), another origin by ours.
    await page.goto(`http://127.0.0.1:${elsewhere}/`)
    const got = await page.evaluate(
      async ({ origin: target, port: at }) => {
        const tried = (run: Promise<Response>) =>
          run.then(
            (response) => response.status,
            () => 'refused',
          )
        const socket = await new Promise((done) => {
          const opened = new WebSocket(`ws://127.0.0.1:${at}/events`)
          opened.onopen = () => done('open')
          opened.onerror = () => done('refused')
        })
        const image = await new Promise((done) => {
          const shown = new Image()
          shown.onload = () => done('shown')
          shown.onerror = () => done('refused')
          shown.src = `${target}/media/poster/x.jpg`
        })
        return {
          socket,
          image,
          call: await tried(fetch(`${target}/call/library.info`, { method: 'POST', credentials: 'include', body: new Uint8Array([0x80]) })),
          blind: await tried(
            fetch(`${target}/call/settings.set`, {
              method: 'POST',
              mode: 'no-cors',
              credentials: 'include',
              body: new Uint8Array([0x81, 0xa5, 0x74, 0x68, 0x65, 0x6d, 0x65, 0xa5, 0x6c, 0x69, 0x67, 0x68, 0x74]),
            }),
          ),
          page: await tried(fetch(`${target}/`, { credentials: 'include' })),
        }
      },
      { origin, port },
    )
    // A blind call's answer is opaque (status 0): what counts is that it did nothing.
    expect(got).toEqual({ socket: 'refused', image: 'refused', call: 'refused', blind: 'refused', page: 'refused' })
    expect((await desk.call('settings.get', {})).theme).toBe('dark')
  } finally {
    other.close()
  }
})
