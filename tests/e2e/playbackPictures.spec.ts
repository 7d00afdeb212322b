/** The decoders' pictures in a real browser: how many are held, how large they are made, and that each is given back. */
import { expect, test, type Page } from '@playwright/test'
import { open, truncate } from 'node:fs/promises'
import { join } from 'node:path'
import { countPictures, picturesOf } from '../fixtures/playback-page/countPictures.ts'
import type { ServedClip } from '../fixtures/playback-page/serve.ts'
import { draws, openTogether } from '../fixtures/playback-page/together.ts'
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

test('pictures made small in the decoder\'s thread are the frames asked for: seeks, drags, play, and whole again when zoomed into', async ({ page }) => {
  await openPage(page, '?crowded')
  // Drawn at half its size, and at four fifths: halved first, and not.
  await page.evaluate(([one, two]) => Promise.all([window.bench.open(0, one!), window.bench.open(1, two!)]), [clips.constant, clips.uneven])
  for (const side of [0, 1] as const) {
    const seeks = await page.evaluate(([pane, frames]) => window.bench.visit(pane, frames), [side, draws(150, 150, 11 + side)] as const)
    expect(seeks.wrong).toEqual([])
    const drag = await page.evaluate(([pane, frames]) => window.bench.scrub(pane, frames, 2), [side, draws(120, 150, 21 + side)] as const)
    expect(drag.wrong).toEqual([])
    expect(drag.paints).toBeGreaterThan(10)
  }
  expect((await page.evaluate(() => window.bench.play('both', 0.6, true))).wrong).toEqual([])
  const pixels = () => page.evaluate(() => window.bench.player.panes[0].layer.heldWidth)
  await page.evaluate(() => window.bench.visit(0, [20]))
  await expect.poll(pixels).toBeLessThan(720)
  await page.evaluate(() => window.bench.player.panes[0].layer.setTransform({ a: 1, b: 0, c: 0, d: 1, e: -100, f: -300 }))
  await expect.poll(pixels).toBe(720)
  await page.evaluate(() => window.bench.player.panes[0].layer.setTransform(null))
  expect((await page.evaluate((frames) => window.bench.visit(0, frames), draws(20, 150, 31))).wrong).toEqual([])
  expect(await page.evaluate(() => window.bench.problems)).toEqual([])
})

for (const count of [2, 3, 4] as const) {
  test(`${count} pictures at once, of constant and of uneven rate: each shows its frame at every seek and step, and no picture is left open`, async ({ page }) => {
    await countPictures(page)
    await openPage(page, '?beside')
    const { moves, expected } = await openTogether(page, clips.constant, clips.uneven, count, 160)
    const went = await page.evaluate((list) => window.bench.visitAll(list), moves)
    expect(went.wrong).toEqual([])
    expect(went.seen).toEqual(expected)
    expect(await page.evaluate(() => window.bench.player.panes.map(({ crowded }) => crowded))).toEqual([count > 2, count > 2])
    expect(await page.evaluate(() => window.bench.problems)).toEqual([])

    await page.evaluate(() => window.bench.clear())
    await expect.poll(async () => (await picturesOf(page)).workers.length).toBe(count)
    const { arrived, closed, bitmaps, bitmapsClosed, workers } = await picturesOf(page)
    for (const worker of workers) {
      expect(worker.opened).toBeGreaterThan(50)
      expect(worker.closed + worker.sent).toBe(worker.opened)
    }
    expect(closed).toBe(arrived)
    expect(bitmapsClosed).toBe(bitmaps)
    expect(bitmaps).toBeGreaterThan(100)
  })
}

test('the cache keeps its budget', async ({ page }) => {
  await openPage(page, '?budget=12')
  await page.evaluate((one) => window.bench.open(0, one), clips.constant)
  const went = await page.evaluate((frames) => window.bench.visit(0, frames), draws(60, 150, 9))
  expect(went.wrong).toEqual([])
  const stats = (await page.evaluate(() => window.bench.player.panes[0].stats())).decoder!
  expect(stats.peakBytes).toBeGreaterThan(4_000_000)
  expect(stats.peakBytes).toBeLessThanOrEqual(12 * 1024 * 1024)
})

test('at rest nothing is decoded', async ({ page }) => {
  await openPage(page)
  await page.evaluate((one) => window.bench.open(0, one), clips.uneven)
  await page.evaluate((frames) => window.bench.visit(0, frames), draws(6, 150, 9))
  const decoded = async () => (await page.evaluate(() => window.bench.player.panes[0].stats())).decoder!.decoded
  let before = -1
  await expect.poll(async () => before === (before = await decoded()), { intervals: [300] }).toBe(true)
  await page.waitForTimeout(600)
  expect(await decoded()).toBe(before)
})

test('a copy that is missing, cut short or of another clip says so in a sentence', async ({ page }) => {
  await openPage(page)
  const attempt = (clip: ServedClip) => page.evaluate((one) => window.bench.open(0, one).then(() => 'opened', (error: Error & { kind?: string }) => `${error.kind}: ${error.message}`), clip)
  expect(await attempt({ ...clips.constant, url: '/clips/none.mp4' })).toMatch(/^cannot-read: .*Have it made again/)
  expect(await attempt(({ ...clips.constant, frames: { ...clips.constant.frames, ticks: clips.constant.frames.ticks.slice(1) } }))).toMatch(/^index-mismatch: .*150 frames where the clip has 149/)
  const cut = await clips.served.addClip('cut.mp4', { width: 320, height: 180, frames: 40, fps: 30, gop: 1 })
  await truncate(join(clips.served.folder, 'cut.mp4'), 3000)
  expect(await attempt(cut)).toMatch(/^cannot-read: /)
  // After a failure the pane opens the next clip as if nothing had been.
  expect(await attempt(clips.constant)).toBe('opened')
  expect((await page.evaluate(() => window.bench.visit(0, [7, 99]))).wrong).toEqual([])
})

test('damaged bytes in one frame leave the others right', async ({ page }) => {
  const clip = await clips.served.addClip('damaged.mp4', { width: 480, height: 854, frames: 60, fps: 30, gop: 1, preset: 'ultrafast' })
  const file = await open(join(clips.served.folder, 'damaged.mp4'), 'r+')
  const { size } = await file.stat()
  // Somewhere in the middle of the pictures; whatever frames it hits are not asked for.
  await file.write(new Uint8Array(2000), 0, 2000, Math.floor(size / 2))
  await file.close()
  await openPage(page)
  await page.evaluate((one) => window.bench.open(0, one), clip)
  const frames = [0, 5, 20, 58, 3, 59, 10, 50]
  const went = await page.evaluate((list) => window.bench.visit(0, list), frames)
  expect(went.wrong).toEqual([])
})

test('every picture is closed, in the worker and in the page', async ({ page }) => {
  // Each side keeps a list of the pictures it holds open: those that came, those cloned, less those closed or handed on.
  await page.addInitScript(() => {
    const open = new Set<VideoFrame>()
    const { clone, close } = VideoFrame.prototype
    VideoFrame.prototype.clone = function () {
      const made = clone.call(this)
      open.add(made)
      return made
    }
    VideoFrame.prototype.close = function () {
      open.delete(this)
      close.call(this)
    }
    const plain = Worker
    class Watched extends plain {
      constructor(url: string | URL, options?: WorkerOptions) {
        super(url, options)
        this.addEventListener('message', ({ data }) => { if (data.frame) open.add(data.frame) })
      }
    }
    window.Worker = Watched
    Object.assign(window, { openPictures: () => open.size })
  })
  await openPage(page)
  const openInPage = () => page.evaluate(() => (window as unknown as { openPictures: () => number }).openPictures())
  await page.evaluate(([left]) => window.bench.open(0, left!), [clips.constant])
  const worker = page.workers()[0]!
  await worker.evaluate(() => {
    const open = new Set<VideoFrame>()
    const { clone, close } = VideoFrame.prototype
    const stamp = Object.getOwnPropertyDescriptor(VideoFrame.prototype, 'timestamp')!
    // Every decoded picture is asked for its stamp as it comes out.
    Object.defineProperty(VideoFrame.prototype, 'timestamp', { ...stamp, get() {
      open.add(this)
      return stamp.get!.call(this)
    } })
    VideoFrame.prototype.clone = function () {
      const made = clone.call(this)
      open.add(made)
      return made
    }
    VideoFrame.prototype.close = function () {
      open.delete(this)
      close.call(this)
    }
    const post = self.postMessage.bind(self) as (message: unknown, transfer?: Transferable[]) => void
    self.postMessage = ((message: unknown, transfer: Transferable[] = []) => {
      for (const one of transfer) open.delete(one as VideoFrame)
      post(message, transfer)
    }) as typeof self.postMessage
    Object.assign(self, { openPictures: () => open.size })
  })
  const before = (await page.evaluate(() => window.bench.player.panes[0].stats())).decoder!
  await page.evaluate((frames) => window.bench.visit(0, frames), draws(100, 150, 5))
  await page.evaluate((frames) => window.bench.scrub(0, frames, 2), draws(60, 150, 6))
  await page.evaluate(() => window.bench.play(0, 0.5, false))
  await page.waitForTimeout(300)
  const after = (await page.evaluate(() => window.bench.player.panes[0].stats())).decoder!
  const openInWorker = await worker.evaluate(() => (self as unknown as { openPictures: () => number }).openPictures())
  expect(after.decoded - before.decoded).toBeGreaterThan(100)
  // What was cached before the count began is not in it.
  expect(openInWorker).toBeLessThanOrEqual(after.cachedFrames)
  expect(openInWorker).toBeGreaterThanOrEqual(after.cachedFrames - before.cachedFrames)
  // The frame wanted, at most six round it, and the one on the canvas.
  const inPage = await openInPage()
  expect(inPage).toBeGreaterThan(1)
  expect(inPage).toBeLessThanOrEqual(8)
  await page.evaluate((one) => window.bench.open(0, one), clips.leftHalf)
  await page.evaluate((frames) => window.bench.visit(0, frames), draws(20, 75, 8))
  expect(await openInPage()).toBeLessThanOrEqual(8)
  await page.evaluate(() => window.bench.player.dispose())
  await expect.poll(() => page.workers().length).toBe(0)
  await expect.poll(openInPage).toBe(0)
  expect(leakWarnings).toEqual([])
})
