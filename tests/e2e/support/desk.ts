/**
 * A test with a desk of its own: an empty library in a temporary folder, the loopback host in another process, and the page
 * signed in to it.
 *
 *     import { expect, test } from './support/desk.ts'
 *     test('...', async ({ page, desk }) => { const clips = await desk.call('clip.list', {}) })
 */
import { expect, test as base, type Page } from '@playwright/test'
import { decode, encode } from '@msgpack/msgpack'
import { spawn, type ChildProcess } from 'node:child_process'
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { fileURLToPath } from 'node:url'
import type { Input, OperationName, Output } from '../../../shared/contract/operations.ts'

const root = fileURLToPath(new URL('../../..', import.meta.url))
/** The Node that the project brings, wherever the test runner itself runs. */
const node = join(root, 'node_modules/node/bin', process.platform === 'win32' ? 'node.exe' : 'node')

export interface TestDesk {
  readonly library: string
  readonly url: string
  /** Asks the desk as the window would, past the window. */
  call<N extends OperationName>(name: N, input: Input<N>): Promise<Output<N>>
  /** Ends the desk's process at once, as a crash would. */
  kill(): Promise<void>
  /** Starts it again on the same library and signs the page in, or another page of the same browser. */
  restart(window?: Page): Promise<void>
}

async function startHost(library: string): Promise<{ process: ChildProcess; url: string }> {
  const renderer = process.env.CROSSBEARING_RENDERER ?? join(root, 'out/renderer')
  const child = spawn(node, [join(root, 'tests/e2e/support/host.ts'), library, renderer], { stdio: ['pipe', 'pipe', 'inherit'] })
  for await (const line of createInterface({ input: child.stdout! })) {
    const { url } = JSON.parse(line) as { url: string }
    return { process: child, url }
  }
  throw new Error('The desk ended before it gave an address.')
}

const ended = (child: ChildProcess): Promise<void> => new Promise((done) => (child.exitCode !== null || child.signalCode !== null ? done() : child.once('exit', () => done())))

/** Opens the page and waits until the library has been read. */
async function signIn(page: Page, url: string): Promise<void> {
  await page.goto(url)
  await page.getByRole('tab', { name: 'Arrivals' }).waitFor()
  await expect(page.getByText('Opening the library')).toHaveCount(0)
}

export const test = base.extend<{ desk: TestDesk }>({
  desk: async ({ page }, use) => {
    const library = await mkdtemp(join(tmpdir(), 'crossbearing-library-'))
    let host = await startHost(library)
    let asking = page
    await signIn(page, host.url)
    const desk: TestDesk = {
      library,
      get url() {
        return host.url
      },
      async call<N extends OperationName>(name: N, input: Input<N>): Promise<Output<N>> {
        const { origin } = new URL(host.url)
        const answer = await asking.request.post(`${origin}/call/${name}`, {
          headers: { 'content-type': 'application/msgpack', origin }, data: Buffer.from(encode(input, { ignoreUndefined: true })),
        })
        const value = decode(await answer.body())
        if (!answer.ok()) throw new Error(`${name}: ${JSON.stringify(value)}`)
        return value as Output<N>
      },
      async kill() {
        host.process.kill('SIGKILL')
        await ended(host.process)
      },
      async restart(window = page) {
        host = await startHost(library)
        asking = window
        await signIn(window, host.url)
      },
    }
    await use(desk)
    host.process.kill('SIGTERM')
    await ended(host.process)
    await rm(library, { recursive: true, force: true })
  },
})
export { expect }
