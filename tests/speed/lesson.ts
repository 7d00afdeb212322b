/**
 * How soon a place in a lesson of twenty minutes is seen: clicks all over its sound in a real Chromium with software decoding,
 * from the click to the picture's own number on the canvas. With nothing else to do, and while the lesson is made into a video
 * in the background. Wanted: under 100 ms anywhere.
 *
 *     npm run speed -- lesson
 */
import { spawn, type ChildProcess } from 'node:child_process'
import { mkdtemp, rm } from 'node:fs/promises'
import { availableParallelism, loadavg, tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { fileURLToPath } from 'node:url'
import { chromium, type Browser, type Page } from '@playwright/test'
import { findChromium } from '../../build/chromium.ts'
import { createDesk } from '../../electron/desk/createDesk.ts'
import { frameAt } from '../../shared/walkthrough/motion.ts'
import buildRenderer from '../e2e/support/buildRenderer.ts'
import { openLesson } from '../fixtures/heardAndSeen.ts'
import { makeLongLesson, type LongLesson } from '../fixtures/longLesson.ts'

declare global {
  var placeSeen: Promise<number> | undefined
}

const executablePath = findChromium()
if (!executablePath) {
  console.log('no Chromium on this machine: npm test gets one')
  process.exit(1)
}
const minutes = Number(process.argv[2] ?? 20)
const seeks = Number(process.argv[3] ?? 120)
console.log(`${availableParallelism()} processors, load before ${loadavg()[0]!.toFixed(1)}: what else runs here costs time`)

const folder = await mkdtemp(join(tmpdir(), 'lesson-speed-'))
const library = join(folder, 'library')
const drop = await buildRenderer()
const part = (values: readonly number[], share: number): number => values.toSorted((a, b) => a - b)[Math.floor(share * (values.length - 1))] ?? NaN

async function made(): Promise<LongLesson> {
  const desk = createDesk({ folder: library, checkAnswers: false })
  try {
    return await makeLongLesson(desk, { folder, minutes, frames: 230, busy: true })
  } finally {
    await desk.close()
  }
}

/** Pixels of the waveform under which one frame stands for some time around, in no order, each another frame than the one before. */
function placesOf({ programme }: LongLesson, width: number, count: number): { x: number; frame: number }[] {
  const frameIn = (ms: number): number | null => {
    const instant = programme.at(ms)
    if (instant?.kind !== 'stage') return null
    const [pane] = instant.stage.panes
    return frameAt(instant.clips[pane.clipId!]!.frames, pane.tick)
  }
  const places: { x: number; frame: number }[] = []
  let state = 7
  while (places.length < count) {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0
    const x = 2 + Math.floor((state / 2 ** 32) * (width - 4))
    const ms = (x / width) * programme.lengthMs
    const frame = frameIn(ms)
    if (frame === null || frame === places.at(-1)?.frame || [-300, 300].some((off) => frameIn(ms + off) !== frame)) continue
    places.push({ x, frame })
  }
  return places
}

/** Milliseconds from each click to its picture; NaN where it did not come within five seconds. */
async function seek(page: Page, places: readonly { x: number; frame: number }[]): Promise<number[]> {
  const box = (await page.locator('.waves-sound').boundingBox())!
  const times: number[] = []
  for (const { x, frame } of places) {
    // The watch is set up before the click: a click overtakes what is asked of the page in the same moment.
    await page.evaluate((wanted) => {
      globalThis.placeSeen = new Promise((done) => {
        let began = 0
        window.addEventListener('click', (event) => { began = event.timeStamp }, { capture: true, once: true })
        const look = (): void => {
          if (began > 0 && lessonEars.left() === wanted) return done(performance.now() - began)
          if (began > 0 && performance.now() - began > 5000) return done(NaN)
          requestAnimationFrame(look)
        }
        look()
      })
    }, frame)
    await page.mouse.click(box.x + x, box.y + box.height / 2)
    times.push((await page.evaluate(() => globalThis.placeSeen))!)
    await page.waitForTimeout(250)
  }
  return times
}

/** Seconds that the browser's processes have worked so far. */
async function worked(browser: Browser): Promise<number> {
  const session = await browser.newBrowserCDPSession()
  const { processInfo } = await session.send('SystemInfo.getProcessInfo')
  await session.detach()
  return processInfo.reduce((sum, { cpuTime }) => sum + cpuTime, 0)
}

let host: ChildProcess | null = null
const browser = await chromium.launch({ executablePath, args: ['--no-sandbox', '--disable-gpu', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'] })
try {
  const long = await made()
  host = spawn(process.execPath, [fileURLToPath(new URL('../e2e/support/host.ts', import.meta.url)), library, process.env.CROSSBEARING_RENDERER!], { stdio: ['pipe', 'pipe', 'inherit'], env: { ...process.env, CROSSBEARING_UNCHECKED: '1' } })
  let url = ''
  for await (const line of createInterface({ input: host.stdout! })) {
    ;({ url } = JSON.parse(line) as { url: string })
    break
  }
  const page = await browser.newPage({ viewport: { width: 1440, height: 900 } })
  await openLesson(page, url)
  await page.waitForTimeout(2000)
  const { width } = (await page.locator('.waves-sound').boundingBox())!
  console.log(`a lesson of ${(long.programme.lengthMs / 60_000).toFixed(1)} minutes in ${long.lesson.edits.pieces.length} pieces, two clips of 1080 x 1920`)
  const tell = async (name: string, places: readonly { x: number; frame: number }[]): Promise<void> => {
    const before = await worked(browser)
    const times = await seek(page, places)
    const cost = (1000 * ((await worked(browser)) - before)) / places.length
    const there = times.filter(Number.isFinite)
    console.log(`${name.padEnd(36)} median ${part(there, 0.5).toFixed(0)} ms   p95 ${part(there, 0.95).toFixed(0)} ms   most ${part(there, 1).toFixed(0)} ms   (${there.length} of ${times.length} came); `
      + `${cost.toFixed(0)} ms of work each, load ${loadavg()[0]!.toFixed(1)}`)
  }
  const places = placesOf(long, width, seeks * 2)
  await tell('nothing else to do', places.slice(0, seeks))

  await page.evaluate(() => document.querySelector<HTMLButtonElement>('.lesson-handoffs .button-primary')!.click())
  await page.getByRole('dialog').getByRole('button', { name: 'Make it' }).click()
  await page.locator('.handoff-row').getByText('Drawing and encoding').waitFor({ timeout: 300_000 })
  await page.waitForTimeout(1000)
  await tell('while a video is made', places.slice(seeks))
  console.log(`the video meanwhile: ${(await page.locator('.handoff-row').first().innerText()).replaceAll('\n', ', ')}`)
} finally {
  await browser.close()
  host?.kill('SIGTERM')
  drop()
  await rm(folder, { recursive: true, force: true })
}
process.exit(0)
