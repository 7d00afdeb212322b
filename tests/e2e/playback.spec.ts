/**
 * The player in a real browser, on clips whose frames carry their number: what is on the canvas is the frame the index
 * says, read back from the canvas's own pixels.
 */
import { expect, test, type Page } from '@playwright/test'
import { unevenTimes } from '../fixtures/numberedClip.ts'
import { draws } from '../fixtures/playback-page/together.ts'
import { openPlayer, servePlayer, type PlayerClips } from './support/playerPage.ts'

test.describe.configure({ mode: 'serial', timeout: 60_000 })

let clips: PlayerClips
/** What Chromium itself says of pictures left to the garbage collector, in any of the tests. */
const leakWarnings: string[] = []
test.beforeAll(async () => {
  clips = await servePlayer()
})
test.afterAll(() => clips.served.close())
const openPage = (page: Page, query = '') => openPlayer(page, clips, leakWarnings, query)

for (const which of ['constant', 'uneven'] as const) {
  test(`${which} rate: random seeks and steps either way show the frame asked for`, async ({ page }) => {
    await openPage(page)
    const clip = which === 'constant' ? clips.constant : clips.uneven
    const copy = await page.evaluate((one) => window.bench.open(0, one), clip)
    expect(copy).toMatchObject({ frames: 150, allKeys: which === 'constant' })
    const seeks = await page.evaluate((frames) => window.bench.visit(0, frames), draws(150, 150, 3))
    expect(seeks.times.length).toBe(150)
    expect(seeks.wrong).toEqual([])
    const forward = await page.evaluate((frames) => window.bench.visit(0, frames), Array.from({ length: 60 }, (_, i) => 40 + i))
    const back = await page.evaluate((frames) => window.bench.visit(0, frames), Array.from({ length: 60 }, (_, i) => 99 - i))
    expect([...forward.wrong, ...back.wrong]).toEqual([])
    expect(await page.evaluate(() => window.bench.problems)).toEqual([])
  })
}

test('the review copy that take-in makes of a phone\'s clip (turned, B-frames, uneven rate) shows the original\'s frames', async ({ page }) => {
  const clip = await clips.served.addReviewCopy('review.mp4', {
    width: 540, height: 960, frames: 90, times: unevenTimes(90), gop: 30, bframes: 2, rotate: 90, sound: 'beep', preset: 'ultrafast',
  })
  await openPage(page)
  await page.evaluate((one) => window.bench.open(0, one), clip)
  const went = await page.evaluate((frames) => window.bench.visit(0, frames), [...draws(40, 90, 4), 0, 89])
  expect(went.wrong).toEqual([])
})

test('a drag faster than the decoder keeps moving, and ends on the last frame asked for', async ({ page }) => {
  await openPage(page)
  await page.evaluate((one) => window.bench.open(0, one), clips.uneven)
  const targets = Array.from({ length: 240 }, (_, i) => Math.round(75 + 70 * Math.sin(i / 9)))
  const went = await page.evaluate((frames) => window.bench.scrub(0, frames, 3), targets)
  expect(went.wrong).toEqual([])
  expect(went.paints).toBeGreaterThan(5)
})

test('tied panes of other rates show the same instant; one that runs out holds its last frame', async ({ page }) => {
  await openPage(page)
  await page.evaluate(([left, right]) => Promise.all([window.bench.open(0, left!), window.bench.open(1, right!)]), [clips.constant, clips.uneven])
  const read = await page.evaluate(async () => {
    const { transport } = window.bench.player
    transport.seekFrame(0, 30)
    transport.seekFrame(1, 50)
    transport.tie()
    const seen: [number | null, number | null, number | null][] = []
    for (const step of [1, 1, 10, -25, 7, 100]) {
      transport.step(0, step)
      await Promise.all([window.bench.painted(0, transport.head(0)!.frame), window.bench.painted(1, transport.head(1)!.frame)])
      seen.push([window.bench.readCanvas(0), window.bench.readCanvas(1), window.bench.player.panes[1].shown])
    }
    return seen
  })
  // Worked out here from the clips' own ticks: the frame of the right nearest in time to the left's distance from the tie.
  let at = 30
  const expected = [1, 1, 10, -25, 7, 100].map((step) => {
    at += step
    const wanted = clips.uneven.frames.ticks[50]! + (clips.constant.frames.ticks[at]! - clips.constant.frames.ticks[30]!)
    const distances = clips.uneven.frames.ticks.map((tick) => Math.abs(tick - wanted))
    const nearest = distances.indexOf(Math.min(...distances))
    return [at, nearest, nearest]
  })
  expect(read).toEqual(expected)
})

test('swapped panes show each other\'s frames at once, and go on', async ({ page }) => {
  await openPage(page)
  await page.evaluate(([left, right]) => Promise.all([window.bench.open(0, left!), window.bench.open(1, right!)]), [clips.constant, clips.leftHalf])
  const read = await page.evaluate(async () => {
    const { bench } = window
    const { player } = bench
    player.transport.seekFrame(0, 120)
    player.transport.seekFrame(1, 33)
    await Promise.all([bench.painted(0, 120), bench.painted(1, 33)])
    player.transport.swap()
    await Promise.all([bench.painted(0, 33), bench.painted(1, 120)])
    const seen = [bench.readCanvas(0), bench.readCanvas(1)]
    player.transport.step(1, -1)
    await bench.painted(1, 119)
    return [...seen, bench.readCanvas(1)]
  })
  expect(read).toEqual([33, 120, 119])
})

test('both panes play, every picture painted is the one said, and the shorter holds its last frame', async ({ page }) => {
  await openPage(page)
  await page.evaluate(([left, right]) => Promise.all([window.bench.open(0, left!), window.bench.open(1, right!)]), [clips.leftHalf, clips.rightHalf])
  const went = await page.evaluate(async () => {
    const { player } = window.bench
    await Promise.all([window.bench.painted(0, 0), window.bench.painted(1, 0)])
    player.transport.tie()
    player.transport.setRate(1)
    const played = await window.bench.play('both', 2, true)
    const heads = [player.transport.head(0)!, player.transport.head(1)!]
    await Promise.all([window.bench.painted(0, heads[0]!.frame), window.bench.painted(1, heads[1]!.frame)])
    return {
      ...played, heads, read: [window.bench.readCanvas(0), window.bench.readCanvas(1)],
      left: (await player.panes[0].stats()).played, coarsest: (await player.panes[0].stats()).coarsest, right: (await player.panes[1].stats()).played,
    }
  })
  expect(went.wrong).toEqual([])
  // 30 a second for as long as it really played: the playhead goes by the clock, however busy the machine is.
  expect(Math.abs(went.heads[0]!.frame - went.seconds * 30)).toBeLessThanOrEqual(1.5)
  expect(went.seconds).toBeGreaterThanOrEqual(1.95)
  expect(went.read).toEqual([went.heads[0]!.frame, 44])
  // Every frame counts, but where the machine fell behind: then one of two, or of four.
  expect(went.left.shown + went.left.dropped).toBeGreaterThanOrEqual(Math.floor(58 / went.coarsest))
  console.log(`    played left ${JSON.stringify(went.left)}, right ${JSON.stringify(went.right)}, longest gap ${went.longestGapMs.toFixed(1)} ms`)
})

test('at rest the original settles over the same frame; moving puts it off and takes it away', async ({ page }) => {
  await openPage(page)
  await page.evaluate((one) => window.bench.open(0, one, true), clips.constant)
  const went = await page.evaluate(async () => {
    const { bench } = window
    const { player } = bench
    const settled = () => new Promise<number>((resolve) => {
      const off = player.panes[0].onShown((shown) => {
        if (!shown.settled) return
        off()
        resolve(shown.frame!)
      })
    })
    // The first frame settles too; what counts begins after it.
    if (!player.panes[0].layer.settled) await settled()
    bench.stills.asked.length = 0
    bench.stills.aborted.length = 0
    const before = player.panes[0].layer.settleTimes.length
    for (const frame of [20, 40, 60, 77]) {
      player.transport.seekFrame(0, frame)
      await bench.painted(0, frame)
    }
    const asked = [...bench.stills.asked]
    const frame = await settled()
    const grey = bench.centrePixel(0)
    const paints = player.panes[0].layer.paints
    await bench.sleep(300)
    const idlePaints = player.panes[0].layer.paints - paints
    // A move while a still is on its way calls it off.
    player.transport.step(0, 1)
    await bench.sleep(140)
    const onItsWay = [...bench.stills.asked]
    player.transport.step(0, 1)
    await bench.painted(0, 79)
    const read = bench.readCanvas(0)
    const stillSettled = player.panes[0].layer.settled
    return { asked, frame, grey, idlePaints, onItsWay, aborted: bench.stills.aborted, read, stillSettled, times: player.panes[0].layer.settleTimes.slice(before) }
  })
  expect(went.asked).toEqual([])
  expect(went.frame).toBe(77)
  expect(went.grey).toEqual([77, 77, 77, 255])
  expect(went.idlePaints).toBe(0)
  expect(went.onItsWay).toEqual([77, 78])
  expect(went.aborted).toEqual([78])
  expect(went.read).toBe(79)
  expect(went.stillSettled).toBe(false)
  expect(went.times.length).toBe(1)
  expect(went.times[0]!).toBeGreaterThan(170)
})

test('a walkthrough\'s log shows its frames at any time, to and fro, and while its clock runs', async ({ page }) => {
  await openPage(page)
  const { ticks, timescale } = clips.constant.frames
  const went = await page.evaluate(([clip, fifth]) => window.bench.replay(clip, [
    [1000, { type: 'play', motion: { rate: 1, moving: 0, loop: null } }],
    [2000, { type: 'stop' }],
    [3000, { type: 'seek', ticks: [fifth, 0] }],
  ], [500, 1508, 2500, 3500, 1508, 0, 2999], 900, 2600), [clips.constant, ticks[5]!] as const)
  // From frame 10, a second at 60 a second; 508 ms after its start the 30th frame since is on screen.
  expect(timescale).toBe(90_000)
  expect(went.seen).toEqual([10, 40, 70, 5, 40, 10, 70])
  expect(went.wrong).toEqual([])
  expect(went.painted).toBeGreaterThan(10)
  expect(went.last).toBe(70)
})

test('zoom, pan, mirror and a dense screen move the same frame, not another', async ({ browser }) => {
  const context = await browser.newContext({ deviceScaleFactor: 2 })
  const page = await context.newPage()
  await openPage(page)
  await page.evaluate((one) => window.bench.open(0, one), clips.constant)
  const read = await page.evaluate(async () => {
    const { bench } = window
    const { player } = bench
    player.transport.seekFrame(0, 101)
    await bench.painted(0, 101)
    const seen = [bench.readCanvas(0)]
    for (const [scale, e, f] of [[0.25, 30, 50], [0.4, 100, 20], [0.3, 200, -40]] as const) {
      player.panes[0].layer.setTransform({ a: scale, b: 0, c: 0, d: scale, e, f })
      await bench.nextFrame()
      await bench.nextFrame()
      seen.push(bench.readCanvas(0))
    }
    // Mirrored, the row of cells reads backwards and so is no number.
    player.panes[0].layer.setTransform({ a: -0.5, b: 0, c: 0, d: 0.5, e: 400, f: 0 })
    await bench.nextFrame()
    await bench.nextFrame()
    const canvas = document.querySelector<HTMLCanvasElement>('#left')!
    const corner = [...canvas.getContext('2d')!.getImageData((400 - 10) * 2, 20, 1, 1).data]
    return { seen, corner, size: [canvas.width, canvas.height] }
  })
  expect(read.size).toEqual([900, 1280])
  expect(read.seen).toEqual([101, 101, 101, 101])
  // The red corner of the top left now stands at the top right.
  expect(read.corner[0]!).toBeGreaterThan(200)
  expect(read.corner[1]!).toBeLessThan(60)
  await context.close()
})

test('no picture was left to the garbage collector', () => {
  expect(leakWarnings).toEqual([])
})
