/**
 * `npm start`: builds the renderer where it is out of date, opens it in Electron where a binary can be had, else in a
 * Chromium app window through the loopback host, else prints the address.
 * Options: --library DIR, --port N, --no-window, --no-build (starts what was built before).
 */
import { spawn, spawnSync, type ChildProcess } from 'node:child_process'
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { parseArgs } from 'node:util'
import { DeskError } from '../shared/contract/errors.ts'
import { createDesk } from '../electron/desk/createDesk.ts'
import { libraryFolder } from '../electron/library/layout.ts'
import { startLoopback } from '../electron/loopback/host.ts'

const root = fileURLToPath(new URL('..', import.meta.url))
const at = (path: string): string => join(root, path)
const say = (line: string): void => console.log(line)

const { values } = parseArgs({
  options: { library: { type: 'string' }, port: { type: 'string' }, 'no-window': { type: 'boolean' }, 'no-build': { type: 'boolean' } },
})
const asked = values.library ?? null
const port = values.port === undefined ? 0 : Number(values.port)
if (!Number.isInteger(port) || port < 0 || port > 65535) {
  console.error(`--port needs a number from 0 to 65535, not ${values.port}.`)
  process.exit(2)
}
const hasDisplay = process.platform !== 'linux' || Boolean(process.env.DISPLAY || process.env.WAYLAND_DISPLAY)
const wantsWindow = !values['no-window'] && hasDisplay

const newest = (path: string): number => {
  if (!existsSync(path)) return 0
  const { mtimeMs } = statSync(path)
  if (!statSync(path).isDirectory()) return mtimeMs
  return Math.max(
    0,
    ...readdirSync(path, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map((entry) => statSync(join(entry.parentPath, entry.name)).mtimeMs),
  )
}

function build(config: string, out: string, sources: readonly string[]): void {
  if (values['no-build']) return
  if (existsSync(at(out)) && newest(at(out)) > Math.max(...sources.map((source) => newest(at(source))))) return
  const { status } = spawnSync(
    process.execPath,
    [at('node_modules/vite/bin/vite.js'), 'build', '--config', at(config), '--logLevel', 'warn'],
    { cwd: root, stdio: 'inherit' },
  )
  if (status !== 0) {
    console.error(`The build with ${config} failed.`)
    process.exit(1)
  }
}

/** Electron's executable, fetched once where it is missing; null where it cannot be had. */
function electronBinary(): string | null {
  const place = (): string | null => {
    const file = at('node_modules/electron/path.txt')
    if (!existsSync(file)) return null
    const path = at(join('node_modules/electron/dist', readFileSync(file, 'utf8').trim()))
    return existsSync(path) ? path : null
  }
  const found = place()
  if (process.env.CROSSBEARING_NO_ELECTRON) return null
  if (found) return found
  const note = at('node_modules/.cache/crossbearing/electron-failed')
  const day = 24 * 3600 * 1000
  if (existsSync(note) && Date.now() - statSync(note).mtimeMs < day) return null
  say('Fetching Electron, which is needed once; at most 20 s.')
  spawnSync(process.execPath, [at('node_modules/electron/install.js')], {
    cwd: root,
    stdio: 'ignore',
    timeout: 20_000,
    killSignal: 'SIGKILL',
  })
  const fetched = place()
  if (!fetched) {
    mkdirSync(at('node_modules/.cache/crossbearing'), { recursive: true })
    writeFileSync(note, new Date().toISOString())
  }
  return fetched
}

function giveUp(error: unknown): never {
  if (!(error instanceof DeskError)) throw error
  console.error([error.message, error.fault.where, error.fault.remedy].filter(Boolean).join(' '))
  process.exit(1)
}

/** Opens the window in Electron; where that ends at once with an error, in a browser after all. */
function startElectron(binary: string): void {
  build('build/vite.main.ts', 'out/desk', ['electron', 'shared', 'build/vite.main.ts'])
  build('build/vite.preload.ts', 'out/preload', ['electron/preload.ts', 'shared', 'build/vite.preload.ts'])
  const began = performance.now()
  const child = spawn(binary, [root, ...(asked ? ['--library', asked] : [])], { stdio: 'inherit' })
  const pass = (signal: NodeJS.Signals): void => void child.kill(signal)
  process.on('SIGINT', pass).on('SIGTERM', pass)
  let isOver = false
  const over = (code: number): void => {
    if (isOver) return
    isOver = true
    process.off('SIGINT', pass).off('SIGTERM', pass)
    if (code === 0 || performance.now() - began > 5000) process.exit(code)
    startInBrowser('Electron could not start').catch(giveUp)
  }
  child.once('error', () => over(1))
  child.once('close', (code) => over(code ?? 1))
}

async function openWindow(url: string): Promise<{ child: ChildProcess; profile: string } | null> {
  // The browser tests' own search, loaded only where it is wanted: it brings a test runner along.
  const { findChromium } = await import('./chromium.ts')
  const chromium = findChromium()
  if (!chromium) return null
  const profile = mkdtempSync(join(tmpdir(), 'crossbearing-window-'))
  const isRoot = process.platform === 'linux' && process.getuid?.() === 0
  const flags = [
    `--app=${url}`,
    `--user-data-dir=${profile}`,
    '--no-first-run',
    '--no-default-browser-check',
    '--window-size=1440,900',
    ...(isRoot ? ['--no-sandbox'] : []),
  ]
  return { child: spawn(chromium, flags, { stdio: 'ignore' }), profile }
}

async function startInBrowser(why: string): Promise<void> {
  const desk = createDesk({ folder: libraryFolder(asked) })
  const host = await startLoopback({ desk, renderer: at('out/renderer'), port })
  const window = wantsWindow ? await openWindow(host.url) : null
  say(
    window
      ? `${why}; Crossbearing opens in a Chromium window.`
      : `${why}; open Crossbearing in Chrome or Chromium at this address (it works once): ${host.url}`,
  )

  let isClosing = false
  const close = async (code: number): Promise<void> => {
    if (isClosing) process.exit(code)
    isClosing = true
    window?.child.kill()
    await host.close()
    await desk.close()
    if (window) rmSync(window.profile, { recursive: true, force: true, maxRetries: 5 })
    process.exit(code)
  }
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => void close(0))
  window?.child.once('close', () => void close(0))
}

try {
  build('build/vite.renderer.ts', 'out/renderer', ['renderer', 'shared', 'assets', 'build/vite.renderer.ts'])
  const binary = wantsWindow ? electronBinary() : null
  if (binary) startElectron(binary)
  else
    await startInBrowser(
      wantsWindow ? 'Electron cannot be had on this machine' : values['no-window'] ? 'No window was wanted' : 'There is no display here',
    )
} catch (error) {
  giveUp(error)
}
