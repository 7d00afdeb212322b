/**
 * How fast a comparison is, in a real Chromium with software decoding on the real Bench: from Enter in the list to the first
 * frames of both references, and how often each of four pictures changes while the panes are scrubbed, tied to one another and
 * to their references. The baseline in the same run is the same scrub of the two panes alone.
 *
 *     npm run speed -- compare
 */
import { mkdtemp, rm } from 'node:fs/promises'
import { spawn } from 'node:child_process'
import { availableParallelism, loadavg, tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { fileURLToPath } from 'node:url'
import { chromium, type Browser, type Page } from '@playwright/test'
import { findChromium } from '../../build/chromium.ts'
import { createDesk } from '../../electron/desk/createDesk.ts'
import type { Bench } from '../../renderer/bench/bench.ts'
import { positionId, type Digitised } from '../../shared/contract/digitising.ts'
import buildRenderer from '../e2e/support/buildRenderer.ts'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'

declare global {
  var crossbearingTest: { bench?: Bench; renders?: number }
  var comparisonOpened: Promise<number>
}

const executablePath = findChromium()
if (!executablePath) {
  console.log('no Chromium on this machine: npm test gets one')
  process.exit(1)
}
console.log(`${availableParallelism()} processors, load before ${loadavg()[0]!.toFixed(1)}: what else runs here costs pictures`)

const folder = await mkdtemp(join(tmpdir(), 'compare-speed-'))
const drop = await buildRenderer()

/** Two swings of two views, 1080 x 1920 with grain, tied at three positions each. */
async function fill(library: string): Promise<void> {
  const desk = createDesk({ folder: library, checkAnswers: false })
  const consent = { student: { given: true, on: '2026-03-02' }, guardian: { given: false, name: '', on: null }, purpose: '', until: null }
  for (const [name, frames] of [['Ines', 180], ['Noa', 240]] as const) {
    const student = await desk.call('student.save', { id: null, name, handedness: 'right', statureM: null, clubs: [], goals: '', ballFlight: '', injuries: '', minor: false, consent })
    const views = ['face-on', 'down-the-line'] as const
    const paths = views.map((view) => join(folder, `${name} ${view}.mp4`))
    // Of different lengths: the same bytes again would be the same clip.
    for (const [i, path] of paths.entries()) await makeNumberedClip(path, { width: 1080, height: 1920, frames: frames + i, fps: 60, gop: 30, preset: 'ultrafast', texture: true, crf: 26 })
    await desk.call('takeIn.start', { studentId: student.id, club: '7-iron', handedness: 'right', question: '', feel: '', pair: 'one-swing', items: views.map((view, i) => ({ source: { path: paths[i]! }, view, captureRate: 60 })) })
    while (!(await desk.call('job.list', {})).every((job) => !['waiting', 'running'].includes(job.state))) await new Promise((done) => setTimeout(done, 200))
    const swing = (await desk.call('swing.list', {})).find((one) => one.studentId === student.id)
    if (!swing) throw new Error(`${name}'s clips could not be taken in as a swing`)
    const added: Record<string, Digitised> = {}
    for (const id of [swing.leftClipId!, swing.rightClipId!]) {
      const { frames: { ticks } } = await desk.call('clip.get', { id })
      for (const [position, at] of [['address', 0.1], ['top', 0.55], ['impact', 0.7]] as const) {
        const record: Digitised = { kind: 'position', id: positionId(id, position), clipId: id, name: position, tick: ticks[Math.round(at * frames)]!, falls: 'on', sigmaS: null, by: 'coach' }
        added[record.id] = record
      }
    }
    await desk.call('digitising.apply', { diff: { added, updated: {}, removed: {} } })
    const { createdAt: _, ...rest } = swing
    await desk.call('swing.save', { ...rest, tie: { left: 0, right: 0 } })
    if (name === 'Noa') await desk.call('shelf.note', { keys: [swing.id], patch: { reference: true } })
  }
  await desk.close()
}

/** Scrubs to and fro for some seconds, a new frame at each refresh; how often each picture changed, a second. */
const scrub = (page: Page, seconds: number) => page.evaluate(async (length) => {
  const bench = crossbearingTest.bench!
  const view = bench.view!
  const changes = [0, 0, 0, 0]
  const last: (number | null)[] = [null, null, null, null]
  const look = (): void => {
    const now = [...view.shown(), view.reference(0)?.frame ?? null, view.reference(1)?.frame ?? null]
    now.forEach((frame, i) => { if (frame !== last[i]) changes[i]!++ })
    last.splice(0, 4, ...now)
  }
  const off = view.onFrame(look)
  const began = performance.now()
  let refreshes = 0
  while (performance.now() - began < length * 1000) {
    await new Promise(requestAnimationFrame)
    refreshes++
    bench.transport.seekFrame(0, Math.round(90 + 70 * Math.sin(refreshes / 28)))
  }
  off()
  const took = (performance.now() - began) / 1000
  return { perSecond: changes.map((count) => count / took), refreshes: refreshes / took }
}, seconds)

/** Seconds that the browser's processes have worked so far: unlike pictures a second, what a picture costs hardly depends on what else runs here. */
async function worked(browser: Browser): Promise<number> {
  const session = await browser.newBrowserCDPSession()
  const { processInfo } = await session.send('SystemInfo.getProcessInfo')
  await session.detach()
  return processInfo.reduce((sum, { cpuTime }) => sum + cpuTime, 0)
}

async function tell(name: string, page: Page, seconds = 4): Promise<void> {
  const before = await worked(browser)
  const { perSecond, refreshes } = await scrub(page, seconds)
  const cost = (await worked(browser)) - before
  const pictures = perSecond.reduce((sum, rate) => sum + rate, 0) * seconds
  console.log(`${name.padEnd(34)} ${perSecond.map((rate, i) => `${['left', 'right', 'beside left', 'beside right'][i]} ${rate.toFixed(1)}`).join('   ')}   a second, of ${refreshes.toFixed(1)} refreshes; `
    + `${((1000 * cost) / pictures).toFixed(1)} ms of work a picture, ${(cost / seconds).toFixed(2)} of the processors, load ${loadavg()[0]!.toFixed(1)}`)
}

let host: ReturnType<typeof spawn> | null = null
const browser = await chromium.launch({ executablePath, args: ['--no-sandbox', '--disable-gpu', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'] })
try {
  const library = join(folder, 'library')
  await fill(library)
  host = spawn(process.execPath, [fileURLToPath(new URL('../e2e/support/host.ts', import.meta.url)), library, process.env.CROSSBEARING_RENDERER!], { stdio: ['pipe', 'pipe', 'inherit'] })
  let url = ''
  for await (const line of createInterface({ input: host.stdout! })) {
    ;({ url } = JSON.parse(line) as { url: string })
    break
  }
  const page = await browser.newPage({ viewport: { width: 1440, height: 900 } })
  await page.addInitScript(() => { globalThis.crossbearingTest = {} })
  await page.goto(url)
  await page.getByRole('tab', { name: 'Arrivals' }).waitFor()
  await page.getByRole('button', { name: /Open both on the Bench/ }).first().click()
  await page.waitForFunction(() => crossbearingTest.bench?.view?.shown().every((frame) => frame !== null) ?? false)
  await page.waitForTimeout(1000)
  if ((await page.getByRole('complementary', { name: 'Evidence' }).count()) > 0) await page.keyboard.press('v')

  console.log('\nscrubbing, review copies of 1080 x 1920 at 60 a second')
  await scrub(page, 1)
  await tell('two panes alone (baseline)', page)

  // Cold: Enter as soon as the list is there, in a window that has opened no reference yet. Then again and again; then after a look at the list.
  const opened: { readonly rested: number; readonly ms: number }[] = []
  for (const [turn, rested] of [0, 0, 0, 200, 200, 200].entries()) {
    await page.keyboard.press('q')
    await page.getByRole('listbox', { name: 'Swings' }).getByRole('option').first().waitFor()
    if (rested > 0) await page.waitForTimeout(rested)
    // The key is heard before what is asked of the page in the same moment: the watch is set up first.
    await page.evaluate(() => {
      let began = 0
      const view = crossbearingTest.bench!.view!
      window.addEventListener('keydown', () => { began = performance.now() }, { capture: true, once: true })
      globalThis.comparisonOpened = new Promise((done) => {
        const off = view.onFrame(() => {
          const places = [view.reference(0), view.reference(1)]
          if (began === 0 || places.some((place) => place === null || place.frame === null)) return
          off()
          done(performance.now() - began)
        })
      })
    })
    await page.keyboard.press('Enter')
    opened.push({ rested, ms: (await page.evaluate(() => globalThis.comparisonOpened))! })
    await page.waitForTimeout(1500)
    if (turn < 5) await page.keyboard.press('Shift+Backspace')
    await page.waitForTimeout(300)
  }
  const times = (which: number): string => opened.filter(({ rested }) => rested === which).map(({ ms }) => ms.toFixed(0)).join(', ')
  console.log(`Enter to both references' first frames: at once ${times(0)} ms (the first in a window that never showed one), after a look at the list ${times(200)} ms (wanted: under 300); load ${loadavg()[0]!.toFixed(1)}`)
  for (const look of ['four pictures beside', 'ghost', 'wipe']) {
    await page.waitForTimeout(500)
    await tell(look, page)
    await page.keyboard.press('Shift+Q')
  }
} finally {
  await browser.close()
  host?.kill('SIGTERM')
  drop()
  await rm(folder, { recursive: true, force: true })
}
