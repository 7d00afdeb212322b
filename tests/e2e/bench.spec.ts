/**
 * The Bench in a real browser on a real desk, with clips whose frames carry their number: the number is read back from the
 * canvas's own pixels, through the very map that marks are drawn by.
 */
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from '@playwright/test'
import type { Bench } from '../../renderer/bench/bench.ts'
import { markSchema } from '../../shared/markup/mark.ts'
import { cellsOf, makeNumberedClip, unevenTimes } from '../fixtures/numberedClip.ts'
import { expect, test, type TestDesk } from './support/desk.ts'

declare global {
  var crossbearingTest: { bench?: Bench; renders?: number }
}

let folder: string
let front: string
let line: string

test.beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'bench-'))
  front = join(folder, 'evening face-on.mp4')
  line = join(folder, 'evening down the line.mp4')
  // 60 a second beside uneven frames of about 27 a second.
  await makeNumberedClip(front, { width: 720, height: 1280, frames: 120, fps: 60, gop: 30, preset: 'ultrafast' })
  await makeNumberedClip(line, { width: 480, height: 854, frames: 60, times: unevenTimes(60), gop: 12, preset: 'ultrafast' })
})
test.afterAll(() => rm(folder, { recursive: true, force: true }))

async function openPair(page: Page, desk: TestDesk): Promise<void> {
  const consent = { student: { given: true, on: '2026-03-02' }, guardian: { given: false, name: '', on: null }, purpose: '', until: null }
  const { id } = await desk.call('student.save', { id: null, name: 'Ines Falk', handedness: 'right', statureM: null, clubs: [], goals: '', ballFlight: '', injuries: '', minor: false, consent })
  await desk.call('takeIn.start', {
    studentId: id, club: '7-iron', handedness: 'right', question: '', feel: '', pair: 'one-swing',
    items: [{ source: { path: front }, view: 'face-on', captureRate: 60 }, { source: { path: line }, view: 'down-the-line', captureRate: null }],
  })
  await expect.poll(async () => (await desk.call('job.list', {})).every((job) => job.state === 'done'), { timeout: 30_000 }).toBe(true)
  await openAgain(page)
}

async function openAgain(page: Page, isWhole = true): Promise<void> {
  await page.addInitScript(() => { globalThis.crossbearingTest = {} })
  await page.reload()
  await page.getByRole('tab', { name: 'Arrivals' }).click()
  await page.getByRole('button', { name: /Bench/ }).first().click()
  if (isWhole) await expect.poll(() => page.evaluate(() => crossbearingTest.bench?.view?.shown().every((frame) => frame !== null) ?? false)).toBe(true)
}

/**
 * What each pane shows: by its own account, and by its pixels. The 20 cells are looked up where the pane's map puts them,
 * so a wrong mirror or zoom cannot pass.
 */
async function look(page: Page): Promise<{ said: readonly (number | null)[]; seen: readonly (number | null)[]; wanted: readonly number[] }> {
  const { said, wanted, cells } = await page.evaluate(() => {
    const bench = crossbearingTest.bench!
    const view = bench.view!
    const read = (pane: 0 | 1): number[] | null => {
      const place = view.place(pane)
      const clip = bench.clip(pane)
      if (!place || !clip) return null
      const canvas = view.picture(pane)
      const ratio = canvas.width / place.rect.width
      const context = canvas.getContext('2d')!
      return Array.from({ length: 20 }, (_, cell) => {
        const { a, d, e, f } = place.toHost
        const x = (a * clip.width * (cell + 0.5) / 20 + e - place.rect.x) * ratio
        const y = (d * clip.height * 0.5 + f - place.rect.y) * ratio
        const { data } = context.getImageData(Math.round(x) - 1, Math.round(y) - 1, 3, 3)
        let sum = 0
        for (let i = 0; i < data.length; i += 4) sum += data[i]!
        return sum / 9
      })
    }
    return { said: view.shown(), wanted: [bench.frame(0), bench.frame(1)], cells: [read(0), read(1)] }
  })
  return { said, wanted, seen: cells.map((means) => (means ? numberOf(means) : null)) }
}

/** The number in 20 cells of light and dark, or null where they do not make one. */
function numberOf(means: readonly number[]): number | null {
  if (means[0]! - means[1]! < 60) return null
  const middle = (means[0]! + means[1]!) / 2
  const bits = means.map((mean) => mean > middle)
  const n = bits.slice(2, 16).reduce((sum, on) => sum * 2 + (on ? 1 : 0), 0)
  return cellsOf(n).every((on, i) => on === bits[i]) ? n : null
}

/** Waits until the panes show these frames, and reads them back. */
async function expectFrames(page: Page, left: number, right: number): Promise<void> {
  await expect.poll(async () => (await look(page)).said).toEqual([left, right])
  const { seen, wanted } = await look(page)
  expect(seen).toEqual([left, right])
  expect(wanted).toEqual([left, right])
}

const press = async (page: Page, ...keys: string[]): Promise<void> => {
  for (const key of keys) await page.keyboard.press(key)
}

/** Where a point of a pane's picture (parts of its size) lies in the window. */
function pointIn(page: Page, pane: 0 | 1, x: number, y: number): Promise<{ x: number; y: number }> {
  return page.evaluate(([which, partX, partY]) => {
    const bench = crossbearingTest.bench!
    const { toHost } = bench.view!.place(which)!
    const clip = bench.clip(which)!
    const box = document.querySelector('.stage-host')!.getBoundingClientRect()
    return { x: box.left + toHost.a * clip.width * partX + toHost.e, y: box.top + toHost.d * clip.height * partY + toHost.f }
  }, [pane, x, y] as const)
}

test('steps, ties, nudges, swaps, mirrors and zooms: the pixels carry the number that the index says', async ({ page, desk }) => {
  await openPair(page, desk)
  await expectFrames(page, 0, 0)
  await press(page, 'ArrowRight', 'ArrowRight', 'ArrowRight')
  await expectFrames(page, 3, 0)
  await press(page, 'Shift+ArrowRight', 'Shift+ArrowRight', 'ArrowLeft')
  await expectFrames(page, 22, 0)
  // To the other pane, on to its frame 8, and tied there.
  await press(page, 'x', ...Array.from({ length: 8 }, () => 'ArrowRight'), 't')
  await expectFrames(page, 22, 8)

  // Tied, both go by the same time of the world.
  const times = unevenTimes(60).map((tick) => tick / 90_000)
  const nearest = (seconds: number): number => Array.from({ length: 120 }, (_, i) => i).reduce((best, i) => (Math.abs(i / 60 - seconds) < Math.abs(best / 60 - seconds) ? i : best), 0)
  await press(page, ...Array.from({ length: 5 }, () => 'ArrowRight'))
  const left = nearest(22 / 60 + times[13]! - times[8]!)
  expect(left).toBeGreaterThan(22)
  await expectFrames(page, left, 13)

  // A nudge moves this pane by one frame and leaves the other.
  await press(page, ']')
  await expectFrames(page, left, 14)
  await press(page, '[', 'm', '+')
  await expectFrames(page, left, 13)
  // At rest it is the original's own pixels that stand there, and they are of the same frame.
  await expect.poll(() => page.evaluate(() => [0, 1].map((pane) => crossbearingTest.bench!.view!.original(pane as 0 | 1)?.displayWidth ?? 0))).toEqual([720, 480])
  await expectFrames(page, left, 13)
  // The tie is on disk with the swing.
  await expect.poll(async () => (await desk.call('swing.list', {}))[0]!.tie).not.toBe(null)

  // The wheel zooms about the pointer, mirrored as the pane is; the middle button moves the picture.
  const spot = await pointIn(page, 1, 0.5, 0.45)
  const under = () => page.evaluate(({ x, y }) => crossbearingTest.bench!.view!.imageAt(1, x, y)!, spot)
  await page.mouse.move(spot.x, spot.y)
  const before = await under()
  await page.mouse.wheel(0, -200)
  await expect.poll(() => page.evaluate(() => crossbearingTest.bench!.store.stage.panes[1].zoom)).toBeGreaterThan(1.3)
  await expect.poll(async () => Math.hypot((await under())[0] - before[0], (await under())[1] - before[1])).toBeLessThan(1.5)
  await page.mouse.down({ button: 'middle' })
  await page.mouse.move(spot.x + 20, spot.y + 30, { steps: 3 })
  await page.mouse.up({ button: 'middle' })
  await expect.poll(async () => before[1] - (await under())[1]).toBeGreaterThan(5)
  await press(page, '0')

  // One strip dragged against the other ties them anew.
  const tieBefore = await page.evaluate(() => crossbearingTest.bench!.store.stage.tie!)
  const strip = (await page.locator('.strip-host').boundingBox())!
  await page.keyboard.down('Alt')
  await page.mouse.move(strip.x + 300, strip.y + 110)
  await page.mouse.down()
  await page.mouse.move(strip.x + 400, strip.y + 110, { steps: 5 })
  await page.mouse.up()
  await page.keyboard.up('Alt')
  const tieAfter = await page.evaluate(() => crossbearingTest.bench!.store.stage.tie!)
  expect(tieAfter.left).toBe(tieBefore.left)
  expect(tieAfter.right).toBeLessThan(tieBefore.right - 2000)
  await expect.poll(async () => { const now = await look(page); return now.said.join() === now.wanted.join() && now.seen.join() === now.wanted.join() }).toBe(true)
  await page.evaluate((tie) => { crossbearingTest.bench!.transport.tieAt(tie) }, tieBefore)
  await page.evaluate(() => crossbearingTest.bench!.transport.seekFrame(1, 13))
  await expectFrames(page, left, 13)

  await press(page, 'Shift+x')
  await expectFrames(page, 13, left)
  await press(page, 's')
  await expect.poll(async () => (await look(page)).seen).toEqual([null, left])
  await press(page, 's', 'Home')
  expect((await look(page)).wanted).toContain(0)
})

test('plays and scrubs without rendering React, and every picture on the way is the one it says it is', async ({ page, desk }) => {
  await openPair(page, desk)
  await press(page, 't', '3')
  await page.waitForTimeout(400)
  const rendersBefore = await page.evaluate(() => crossbearingTest.renders ?? 0)
  expect(rendersBefore).toBeGreaterThan(0)
  await press(page, 'Space')
  const seen = new Set<string>()
  for (let i = 0; i < 80 && seen.size < 8; i++) {
    const now = await look(page)
    expect(now.seen).toEqual(now.said)
    seen.add(now.seen.join())
  }
  expect(seen.size).toBeGreaterThan(4)
  await press(page, 'Space')
  const rendersPlayed = await page.evaluate(() => crossbearingTest.renders ?? 0)
  // Beginning and ending to play changes the Play button, nothing else.
  expect(rendersPlayed - rendersBefore).toBeLessThanOrEqual(4)

  // A loop stays within its first and last frame.
  await press(page, 'Home', 'Shift+ArrowRight', 'i', 'Shift+ArrowRight', 'o')
  await expect.poll(async () => (await look(page)).seen[0]).toBe(20)
  await press(page, '4', 'Space')
  const looped = new Set<number>()
  for (let i = 0; i < 80 && (i < 25 || looped.size < 5); i++) {
    const now = await look(page)
    expect(now.seen).toEqual(now.said)
    looped.add(now.seen[0]!)
  }
  await press(page, 'Space', 'u')
  expect(Math.min(...looped)).toBeGreaterThanOrEqual(10)
  expect(Math.max(...looped)).toBeLessThanOrEqual(20)
  expect(looped.size).toBeGreaterThan(3)

  // A drag along the strip, and one over a pane.
  const strip = (await page.locator('.strip-host').boundingBox())!
  const before = await page.evaluate(() => crossbearingTest.renders ?? 0)
  await page.mouse.move(strip.x + 200, strip.y + 45)
  await page.mouse.down()
  for (let i = 0; i < 30; i++) {
    await page.mouse.move(strip.x + 200 + i * 12, strip.y + 45)
    const now = await look(page)
    expect(now.seen).toEqual(now.said)
  }
  await page.mouse.up()
  const middle = await pointIn(page, 0, 0.5, 0.8)
  await page.mouse.move(middle.x, middle.y)
  await page.mouse.down()
  for (let i = 0; i < 20; i++) await page.mouse.move(middle.x - i * 10, middle.y)
  await page.mouse.up()
  expect(await page.evaluate(() => crossbearingTest.renders ?? 0)).toBe(before)
  const rest = await look(page)
  await expect.poll(async () => (await look(page)).said).toEqual(rest.wanted)
  expect((await look(page)).seen).toEqual(rest.wanted)
})

const shapes = ['line', 'segment', 'arrow', 'box', 'circle', 'dot', 'angle', 'polyline', 'freehand', 'text'] as const
const letters = { line: 'l', segment: 's', arrow: 'a', box: 'b', circle: 'c', dot: 'd', angle: 'n', polyline: 'p', freehand: 'f', text: 't' } as const

/** Draws a shape on a pane by hand. */
async function draw(page: Page, shape: (typeof shapes)[number], pane: 0 | 1, top: number): Promise<void> {
  const at = (x: number, y: number) => pointIn(page, pane, x, y)
  const [a, b, c] = await Promise.all([at(0.2, top), at(0.45, top + 0.03), at(0.7, top)])
  await page.mouse.move(a.x, a.y)
  await press(page, 'd', 'd', letters[shape])
  await page.mouse.down()
  if (shape === 'dot' || shape === 'text') {
    await page.mouse.up()
    if (shape === 'text') {
      await page.keyboard.type('trail elbow')
      await press(page, 'Enter')
    }
    return
  }
  if (shape === 'angle' || shape === 'polyline') {
    await page.mouse.up()
    for (const point of [b, c]) await page.mouse.click(point.x, point.y)
    if (shape === 'polyline') await press(page, 'Enter')
    return
  }
  for (const point of [b, c]) await page.mouse.move(point.x, point.y, { steps: 4 })
  await page.mouse.up()
}

test('each shape by hand, moved, undone to nothing, redone, still there after a reload, where it was at every zoom', async ({ page, desk }) => {
  await openPair(page, desk)
  const marks = () => page.evaluate(() => Object.values(crossbearingTest.bench!.store.stage.marks))
  for (const [i, shape] of shapes.entries()) {
    await draw(page, shape, 0, 0.06 + i * 0.085)
    await expect.poll(async () => (await marks()).map((mark) => mark.shape)).toEqual(shapes.slice(0, i + 1))
  }
  for (const mark of await marks()) expect(markSchema.safeParse(mark).success).toBe(true)

  // One by its meaning, on the other pane, mirrored and closer: what the hand points at is what is kept.
  const middle = await pointIn(page, 1, 0.5, 0.3)
  await page.mouse.move(middle.x, middle.y)
  await page.mouse.click(middle.x, middle.y)
  await press(page, 'm', '+', 'd', 'h')
  await expect.poll(() => page.evaluate(() => crossbearingTest.bench!.store.stage.panes[1])).toMatchObject({ mirror: true, zoom: expect.closeTo(1.25, 3) })
  await expect(page.getByRole('dialog', { name: 'Marks' })).toBeHidden()
  const [from, to] = [await pointIn(page, 1, 0.45, 0.48), await pointIn(page, 1, 0.55, 0.52)]
  await page.mouse.move(from.x, from.y)
  await page.mouse.down()
  await page.mouse.move(to.x, to.y, { steps: 3 })
  await expect(page.locator('.loupe')).toBeVisible()
  await page.mouse.up()
  await expect(page.locator('.loupe')).toBeHidden()
  const box = (await marks()).find((mark) => mark.meaning === 'head-box')!
  expect(box.points[0]![0]).toBeCloseTo(0.45 * 480, -0.5)
  expect(box.points[1]![1]).toBeCloseTo(0.52 * 854, -0.5)

  // Dragged whole, by a handle, and nudged.
  const edge = await pointIn(page, 1, 0.5, 0.48)
  await page.mouse.move(edge.x, edge.y)
  await page.mouse.down()
  await page.mouse.move(edge.x + 10, edge.y + 30, { steps: 4 })
  await page.mouse.up()
  const moved = (await marks()).find((mark) => mark.id === box.id)!
  expect(moved.points[0]![1]).toBeGreaterThan(box.points[0]![1] + 5)
  await press(page, 'Alt+ArrowDown', 'Alt+Shift+ArrowRight', 'n', 'w', 'g')
  await press(page, 'c')
  const table = await marks()
  expect(table).toHaveLength(shapes.length + 2)
  const all = JSON.stringify(table)

  // On disk within a second, as they are.
  await expect.poll(async () => {
    const kept = await desk.call('marks.list', { clipIds: (await desk.call('clip.list', {})).map(({ id }) => id) })
    return JSON.stringify(kept.map((mark) => mark.id).toSorted())
  }, { timeout: 1000 }).toBe(JSON.stringify(table.map((mark) => mark.id).toSorted()))

  let undone = 0
  while ((await marks()).length > 0 && undone < 60) {
    await press(page, 'Control+z')
    undone++
  }
  expect(undone).toBeGreaterThanOrEqual(shapes.length + 7)
  expect(await marks()).toEqual([])
  for (let i = 0; i < undone; i++) await press(page, 'Control+Shift+z')
  expect(new Set((await marks()).map((mark) => JSON.stringify(mark)))).toEqual(new Set((JSON.parse(all) as object[]).map((mark) => JSON.stringify(mark))))

  await page.waitForTimeout(700)
  await openAgain(page)
  await page.setViewportSize({ width: 1180, height: 720 })
  const byId = (list: readonly { id: string }[]) => list.toSorted((one, two) => (one.id < two.id ? -1 : 1))
  expect(byId(await marks())).toEqual(byId(JSON.parse(all)))
})

test('Esc gives up the mark in the making; the pointer is seen and goes; a refusal is said and healed', async ({ page, desk }) => {
  await openPair(page, desk)
  const stage = () => page.evaluate(() => crossbearingTest.bench!.store.stage)
  const at = await pointIn(page, 0, 0.4, 0.3)
  await page.mouse.move(at.x, at.y)
  await press(page, 'd', 'e')
  await page.mouse.down()
  await page.mouse.move(at.x + 80, at.y + 60, { steps: 4 })
  await expect.poll(async () => (await stage()).draft?.meaning).toBe('elbow-line')
  await press(page, 'Escape')
  await page.mouse.up()
  expect((await stage()).draft).toBe(null)
  expect((await stage()).marks).toEqual({})

  await page.keyboard.down('p')
  await page.mouse.move(at.x + 5, at.y + 5)
  await expect.poll(async () => (await stage()).pointer?.pane).toBe(0)
  await page.keyboard.up('p')
  await expect.poll(async () => (await stage()).pointer).toBe(null)

  // The desk refuses the marks for a while.
  await page.route('**/call/marks.apply', (route) => route.abort())
  await draw(page, 'segment', 0, 0.2)
  await expect(page.getByText('The latest marks are not on disk')).toBeVisible()
  await page.unroute('**/call/marks.apply')
  await page.getByRole('button', { name: 'Try now' }).click()
  await expect(page.getByText('The latest marks are not on disk')).toBeHidden()
  const clipIds = (await desk.call('clip.list', {})).map(({ id }) => id)
  expect((await desk.call('marks.list', { clipIds })).map((mark) => mark.shape)).toEqual(['segment'])

  // A review copy that cannot be had is said in one sentence, with what to do.
  await page.route('**/media/review/**', (route) => route.fulfill({ status: 404 }))
  await openAgain(page, false)
  await expect(page.locator('.pane-words[role=alert]').first()).toContainText('Arrivals')
  await page.unroute('**/media/review/**')

  // The sheet lists the room's keys.
  await press(page, '?')
  const sheet = page.getByRole('dialog', { name: 'Keys' })
  await expect(sheet.getByText('Tie the two frames shown, or untie')).toBeVisible()
  await expect(sheet.getByText('Look farther left')).toBeVisible()
})
