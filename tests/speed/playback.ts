/**
 * How fast the player is, in a real Chromium with software decoding, on clips that carry their frame number: 1,000 random
 * seeks and as many steps with the number read back from the canvas, both panes playing, memory held. The plain baseline
 * in the same run is a <video> element seeking in the same file.
 *
 *     npm run speed -- playback
 */
import { readFile } from 'node:fs/promises'
import { availableParallelism, loadavg } from 'node:os'
import { chromium, type Page } from '@playwright/test'
import { findChromium } from '../../build/chromium.ts'
import { servePlaybackPage, type ServedClip } from '../fixtures/playback-page/serve.ts'
import { openTogether } from '../fixtures/playback-page/together.ts'
import { unevenTimes } from '../fixtures/numberedClip.ts'

const executablePath = findChromium()
if (!executablePath) {
  console.log('no Chromium on this machine: npm test gets one')
  process.exit(1)
}

console.log(`${availableParallelism()} processors, load before ${loadavg()[0]!.toFixed(1)}: what else runs here costs dropped frames`)

const at = (values: readonly number[], part: number) => values.toSorted((a, b) => a - b)[Math.floor(part * (values.length - 1))] ?? NaN
const line = (name: string, values: readonly number[]) => console.log(
  `${name.padEnd(44)} median ${at(values, 0.5).toFixed(1).padStart(6)} ms   p95 ${at(values, 0.95).toFixed(1).padStart(6)} ms   most ${at(values, 1).toFixed(1).padStart(6)} ms   (${values.length})`)

let state = 11
const draw = (below: number) => {
  state = (Math.imul(state, 1664525) + 1013904223) >>> 0
  return Math.floor(state / 2 ** 32 * below)
}

/** Plain seeks: set currentTime to the frame's midpoint, wait until the element has painted a frame. */
async function plainSeeks(page: Page, clip: ServedClip, frames: readonly number[]): Promise<number[]> {
  return page.evaluate(async ([{ url, frames: { ticks, endTick, timescale } }, list]) => {
    const video = document.createElement('video')
    video.muted = true
    video.src = url
    video.style.width = '360px'
    document.body.append(video)
    await new Promise((resolve) => { video.onloadeddata = resolve })
    const times: number[] = []
    for (const frame of list) {
      const middle = (ticks[frame]! + (ticks[frame + 1] ?? endTick)) / 2 / timescale
      const began = performance.now()
      const painted = new Promise((resolve) => { video.requestVideoFrameCallback(resolve) })
      video.currentTime = middle
      await Promise.race([painted, new Promise((resolve) => setTimeout(resolve, 1000))])
      times.push(performance.now() - began)
    }
    video.remove()
    return times
  }, [clip, frames] as const)
}

const served = await servePlaybackPage()
const browser = await chromium.launch({
  executablePath, args: ['--no-sandbox', '--disable-gpu', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
})
const leaks: string[] = []
let wrong = 0
try {
  const seekClips: [string, ServedClip][] = [
    ['review copy of 1080 x 1920, 60 a second, B-frames', await served.addReviewCopy('review.mp4', { width: 1080, height: 1920, frames: 360, fps: 60, gop: 30, bframes: 2, preset: 'ultrafast', texture: true, crf: 23 })],
    ['720 x 1280, uneven rate, groups of 12', await served.addClip('groups.mp4', { width: 720, height: 1280, frames: 360, times: unevenTimes(360), gop: 12, preset: 'ultrafast', texture: true, crf: 23 })],
  ]
  const left = await served.addReviewCopy('left.mp4', { width: 1920, height: 1080, frames: 240, fps: 30, gop: 30, preset: 'ultrafast', texture: true, crf: 23 })
  const right = await served.addReviewCopy('right.mp4', { width: 1080, height: 1920, frames: 240, fps: 30, gop: 30, preset: 'ultrafast', texture: true, crf: 23 })
  const fast = await served.addClip('fast.mp4', { width: 720, height: 1280, frames: 720, fps: 240, gop: 1, preset: 'ultrafast', texture: true, crf: 23 })
  const fresh = async (query = '') => {
    const page = await browser.newPage({ viewport: { width: 920, height: 660 } })
    page.on('console', (message) => { if (/VideoFrame/.test(message.text())) leaks.push(message.text()) })
    await page.goto(served.address + query)
    return page
  }

  for (const [name, clip] of seekClips) {
    const page = await fresh()
    const copy = await page.evaluate((one) => window.bench.open(0, one), clip)
    console.log(`\n${name}: index of ${copy.frames} packets in ${copy.indexMs.toFixed(0)} ms`)
    const frames = Array.from({ length: 1000 }, () => draw(360))
    const seeks = await page.evaluate((list) => window.bench.visit(0, list), frames)
    line('random seek, call to canvas', seeks.times)
    const forward = await page.evaluate((list) => window.bench.visit(0, list, 30), Array.from({ length: 300 }, (_, i) => 10 + i))
    line('step forward', forward.times)
    const back = await page.evaluate((list) => window.bench.visit(0, list, 30), Array.from({ length: 300 }, (_, i) => 308 - i))
    line('step back', back.times)
    const unpaused = await page.evaluate((list) => window.bench.visit(0, list), Array.from({ length: 300 }, (_, i) => 308 - i))
    line('step back, one on the heels of the other', unpaused.times)
    const drag = await page.evaluate((list) => window.bench.scrub(0, list, 2), Array.from({ length: 600 }, (_, i) => Math.round(180 + 170 * Math.sin(i / 20))))
    console.log(`drag: ${drag.paints} pictures painted in 300 refreshes`)
    const all = [seeks, forward, back, unpaused, drag].flatMap((went) => went.wrong)
    wrong += all.length
    console.log(`wrong frames: ${all.length}`)
    const stats = (await page.evaluate(() => window.bench.player.panes[0].stats())).decoder!
    console.log(`decoded pictures held: at most ${(stats.peakBytes / 2 ** 20).toFixed(1)} MB of a budget of ${(stats.budgetBytes / 2 ** 20).toFixed(0)} MB; ${stats.restarts} restarts`)
    const plain = await plainSeeks(page, clip, frames.slice(0, 120))
    line('baseline: plain <video> seek', plain)
    console.log(`ratio of medians, player to plain: ${(at(seeks.times, 0.5) / at(plain, 0.5)).toFixed(2)}`)
    await page.close()
  }

  // Memory of the page's own process, where the system tells it.
  const session = await browser.newBrowserCDPSession()
  const resident = async (): Promise<number> => {
    const { processInfo } = await session.send('SystemInfo.getProcessInfo')
    const sizes = await Promise.all(processInfo.filter(({ type }) => type === 'renderer').map(({ id }) => readFile(`/proc/${id}/smaps_rollup`, 'utf8').catch(() => '')))
    return sizes.reduce((sum, text) => sum + Number(/^Pss:\s+(\d+)/m.exec(text)?.[1] ?? 0), 0) / 1024
  }
  const together = [
    await served.addReviewCopy('together.mp4', { width: 1080, height: 1920, frames: 180, fps: 60, gop: 30, preset: 'ultrafast', texture: true, crf: 23 }),
    await served.addReviewCopy('uneven.mp4', { width: 1080, height: 1920, frames: 180, times: unevenTimes(180), gop: 30, preset: 'ultrafast', texture: true, crf: 23 }),
  ] as const
  for (const pictures of [2, 3, 4] as const) {
    const page = await fresh('?beside')
    const { moves, expected } = await openTogether(page, ...together, pictures, 1000)
    const held: number[] = []
    const times: number[] = []
    let off = 0
    for (let from = 0; from < 1000; from += 250) {
      const went = await page.evaluate((list) => window.bench.visitAll(list), moves.slice(from, from + 250))
      off += went.wrong.length + went.seen.filter((seen, i) => seen.join() !== expected[from + i]!.join()).length
      times.push(...went.times)
      await page.requestGC()
      held.push(await resident())
    }
    wrong += off
    console.log(`\n${pictures} pictures at once, constant and uneven rate: ${off} wrong in 1000 seeks and steps; memory after each 250: ${held.map((mb) => mb.toFixed(0)).join(', ')} MB`)
    line('call to all of them on their canvases', times)
    await page.evaluate(() => window.bench.clear())
    await page.requestGC()
    await page.waitForTimeout(3000)
    await page.close()
  }

  const page = await fresh()
  await page.evaluate(([one, two]) => Promise.all([window.bench.open(0, one!), window.bench.open(1, two!)]), [left, right])
  await page.evaluate(async () => {
    await Promise.all([window.bench.painted(0, 0), window.bench.painted(1, 0)])
    window.bench.player.transport.tie()
    window.bench.player.transport.setRate(1)
    await window.bench.sleep(300)
  })
  const memory = () => page.evaluate(() => Promise.all([window.bench.player.panes[0].stats(), window.bench.player.panes[1].stats()]))
  console.log('\nboth panes, review copies of 1080p at 30 a second, real time')
  for (let turn = 1; turn <= 3; turn++) {
    await page.evaluate(() => window.bench.player.transport.seekFrame(0, 0))
    await page.waitForTimeout(300)
    const went = await page.evaluate(() => window.bench.play('both', 7, false))
    const [one, two] = await memory()
    console.log(`run ${turn}: left ${one!.played.shown} drawn, ${one!.played.dropped} dropped; right ${two!.played.shown} drawn, ${two!.played.dropped} dropped; ` +
      `${went.refreshes} refreshes, longest gap ${went.longestGapMs.toFixed(1)} ms`)
  }
  const checked = await page.evaluate(async () => {
    window.bench.player.transport.seekFrame(0, 0)
    await window.bench.sleep(300)
    return window.bench.play('both', 7, true)
  })
  wrong += checked.wrong.length
  console.log(`the same with every canvas read back: ${checked.wrong.length} wrong frames`)

  console.log('\none pane, 240 a second at real time on a 60 Hz screen')
  await page.evaluate((one) => window.bench.open(0, one), fast)
  const quick = await page.evaluate(async () => {
    await window.bench.painted(0, 0)
    await window.bench.sleep(300)
    const went = await window.bench.play(0, 2.8, true)
    return { ...went, played: (await window.bench.player.panes[0].stats()).played }
  })
  wrong += quick.wrong.length
  console.log(`${quick.played.shown} drawn, ${quick.played.dropped} dropped of those this screen can show; ${quick.wrong.length} wrong frames`)
  await page.requestGC()
  await page.waitForTimeout(11_000)
  console.log(`\nin all: ${wrong} wrong frames, ${leaks.length} pictures left to the garbage collector`)
} finally {
  await browser.close()
  await served.close()
}
process.exit(wrong + leaks.length > 0 ? 1 : 0)
