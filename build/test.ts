/**
 * `npm test`: type check, lint, arrows, unit tests and checks against outside values, then the browser tests.
 * Stops at the first that fails; ends with one line that adds up what the two test runners counted.
 */
import { spawn } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { getChromium } from './chromium.ts'

const root = fileURLToPath(new URL('..', import.meta.url))
const reports = mkdtempSync(join(tmpdir(), 'crossbearing-test-'))
const unitReport = join(reports, 'unit.json')
const browserReport = join(reports, 'browser.json')
const bin = (path: string) => [process.execPath, join(root, 'node_modules', path)]

interface Step {
  readonly name: string
  readonly command: string[]
  readonly env?: Record<string, string>
}

function run({ name, command, env }: Step): Promise<number> {
  const [file, ...args] = command
  return new Promise((done) => {
    const child = spawn(file!, args, { cwd: root, stdio: ['ignore', 'inherit', 'inherit'], env: { ...process.env, ...env } })
    child.once('error', (error) => {
      console.error(`${name}: ${error.message}`)
      done(1)
    })
    child.once('close', (code) => done(code ?? 1))
  })
}

interface UnitReport { numPassedTests: number; numFailedTests: number; numPendingTests: number }
interface BrowserReport { stats: { expected: number; unexpected: number; flaky: number; skipped: number } }

const read = <T>(path: string): T | null => {
  try {
    return JSON.parse(readFileSync(path, 'utf8')) as T
  } catch {
    return null
  }
}

const chromium = getChromium((line) => console.log(line))
const steps: Step[] = [
  { name: 'types', command: [...bin('typescript/bin/tsc'), '--noEmit'] },
  { name: 'types of shared, without DOM and Node', command: [...bin('typescript/bin/tsc'), '--noEmit', '-p', 'shared'] },
  { name: 'lint', command: [...bin('oxlint/bin/oxlint'), '--deny-warnings'] },
  { name: 'arrows', command: [process.execPath, join(root, 'build/arrows.ts')] },
  { name: 'renderer build', command: [...bin('vite/bin/vite.js'), 'build', '--config', 'build/vite.renderer.ts', '--logLevel', 'warn'] },
  {
    name: 'unit tests and outside checks',
    command: [...bin('vitest/vitest.mjs'), 'run', '--config', 'build/vitest.config.ts', '--reporter=default', '--reporter=json', `--outputFile.json=${unitReport}`],
    env: { PROPERTY_SEED: process.env['PROPERTY_SEED'] ?? '1' },
  },
  {
    name: 'browser tests',
    command: [...bin('@playwright/test/cli.js'), 'test', '--config', 'build/playwright.config.ts', '--reporter=list,json'],
    env: { CROSSBEARING_CHROMIUM: chromium, PLAYWRIGHT_JSON_OUTPUT_NAME: browserReport },
  },
]

let failed: string | null = null
for (const step of steps) {
  const began = performance.now()
  console.log(`\n== ${step.name}`)
  const code = await run(step)
  console.log(`== ${step.name}: ${code === 0 ? 'good' : `failed (${code})`}, ${((performance.now() - began) / 1000).toFixed(1)} s`)
  if (code !== 0) {
    failed = step.name
    break
  }
}

const unit = read<UnitReport>(unitReport)
const browser = read<BrowserReport>(browserReport)
const passed = (unit?.numPassedTests ?? 0) + (browser?.stats.expected ?? 0)
const broken = (unit?.numFailedTests ?? 0) + (browser ? browser.stats.unexpected + browser.stats.flaky : 0)
const skipped = (unit?.numPendingTests ?? 0) + (browser?.stats.skipped ?? 0)
rmSync(reports, { recursive: true, force: true })
if (failed) console.error(`\nStopped at: ${failed}`)
console.log(`\n${passed} passed, ${broken} failed, ${skipped} skipped`)
process.exit(failed ? 1 : 0)
