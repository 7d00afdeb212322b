/**
 * A reference beside the student in a real browser: clips whose frames carry their number, filmed at different rates by players of
 * different hands, tied at positions that are known. The numbers are read back from the reference's own pixels.
 */
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from '@playwright/test'
import type { Bench } from '../../renderer/bench/bench.ts'
import { landmarkId, positionId, type Digitised } from '../../shared/contract/digitising.ts'
import { imagePoint } from '../../shared/geometry/vec.ts'
import type { Mark } from '../../shared/markup/mark.ts'
import type { PointName, PositionName } from '../../shared/contract/pointsFile.ts'
import { cellsOf, makeNumberedClip } from '../fixtures/numberedClip.ts'
import { seriousFindings } from './support/axe.ts'
import { expect, test, type TestDesk } from './support/desk.ts'

declare global {
  var crossbearingTest: { bench?: Bench; renders?: number }
}

/** Frames of the positions on the student's clip and on the reference's. */
const events: readonly (readonly [PositionName, number, number])[] = [['address', 10, 40], ['top', 60, 131], ['impact', 80, 170], ['finish', 110, 231]]
let folder: string

test.beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'compare-'))
  await Promise.all([
    makeNumberedClip(join(folder, 'today face-on.mp4'), { width: 480, height: 854, frames: 120, fps: 60, gop: 30, preset: 'ultrafast' }),
    // Filmed at 120, plays at 30.
    makeNumberedClip(join(folder, 'model face-on.mp4'), { width: 360, height: 640, frames: 240, fps: 30, gop: 30, preset: 'ultrafast' }),
    makeNumberedClip(join(folder, 'spring face-on.mp4'), { width: 360, height: 640, frames: 90, fps: 30, gop: 30, preset: 'ultrafast' }),
  ])
})
test.afterAll(() => rm(folder, { recursive: true, force: true }))

const player: Partial<Record<PointName, readonly [number, number]>> = {
  crown: [0.5, 0.25], leadShoulder: [0.56, 0.36], trailShoulder: [0.44, 0.355], leadElbow: [0.56, 0.42], leadWrist: [0.55, 0.49],
  leadHip: [0.54, 0.54], trailHip: [0.46, 0.54], leadKnee: [0.545, 0.68], leadAnkle: [0.56, 0.84], trailAnkle: [0.44, 0.84],
}

interface Filmed { readonly id: string; readonly width: number; readonly height: number; readonly frames: { readonly ticks: readonly number[] } }

/** The positions and the player's points at each; `lean` sets the lead shoulder higher by so much of the height at the top. */
function placed(clip: Filmed, which: 1 | 2, mirrored: boolean, lean: number): Digitised[] {
  return events.flatMap(([name, ...frames]): Digitised[] => {
    const tick = clip.frames.ticks[frames[which - 1]!]!
    const points = (Object.entries(player) as [PointName, readonly [number, number]][]).map(([point, [x, y]]): Digitised => ({
      kind: 'landmark', id: landmarkId(clip.id, tick, point), clipId: clip.id, tick, point, sigmaPx: null, placed: 1, by: 'coach',
      at: [(mirrored ? 1 - x : x) * clip.width, (y - (point === 'leadShoulder' && name === 'top' ? lean : 0)) * clip.height],
    }))
    return [{ kind: 'position', id: positionId(clip.id, name), clipId: clip.id, name, tick, falls: 'on', sigmaS: null, by: 'coach' }, ...points]
  })
}

async function fill(desk: TestDesk): Promise<() => Promise<void>> {
  const consent = { student: { given: true, on: '2026-03-02' }, guardian: { given: false, name: '', on: null }, purpose: '', until: null }
  const rest = { clubs: [], goals: '', ballFlight: '', injuries: '', minor: false, consent }
  const ines = await desk.call('student.save', { ...rest, id: null, name: 'Ines Falk', handedness: 'right', statureM: 1.7 })
  const noa = await desk.call('student.save', { ...rest, id: null, name: 'Noa Brandt', handedness: 'left', statureM: 1.8 })
  const take = (studentId: string, handedness: 'right' | 'left', fileName: string, captureRate: number) => desk.call('takeIn.start', {
    studentId, club: '7-iron', handedness, question: '', feel: '', pair: 'none', items: [{ source: { path: join(folder, fileName) }, view: 'face-on', captureRate }],
  })
  const taken = (): Promise<void> => expect.poll(async () => (await desk.call('job.list', {})).every((job) => job.state === 'done'), { timeout: 30_000 }).toBe(true)
  await take(ines.id, 'right', 'today face-on.mp4', 60)
  await take(noa.id, 'left', 'model face-on.mp4', 120)
  await taken()
  const clips = await desk.call('clip.list', {})
  const named = async (fileName: string): Promise<Filmed> => desk.call('clip.get', { id: clips.find((clip) => clip.fileName === fileName)!.id })
  const [today, model] = [await named('today face-on.mp4'), await named('model face-on.mp4')]
  const records = [...placed(today, 1, false, 0), ...placed(model, 2, true, 0.05)]
  await desk.call('digitising.apply', { diff: { added: Object.fromEntries(records.map((record) => [record.id, record])), updated: {}, removed: {} } })
  await desk.call('shelf.note', { keys: [model.id], patch: { reference: true } })
  const mark: Mark = {
    id: 'drawn', clipId: model.id, shape: 'segment', meaning: null, points: [imagePoint(100, 500), imagePoint(260, 560)], text: '', ink: 'head', weight: 9, dashed: false, span: null, hidden: false, order: 1,
  }
  await desk.call('marks.apply', { diff: { added: { drawn: mark }, updated: {}, removed: {} } })
  return async () => {
    await take(ines.id, 'right', 'spring face-on.mp4', 30)
    await taken()
  }
}

/** The number in a reference's pixels, looked up where its map puts the cells; what it says it shows; the student's frame. */
async function look(page: Page): Promise<{ own: number | null; said: number | null; seen: number | null }> {
  const { own, said, means } = await page.evaluate(() => {
    const bench = crossbearingTest.bench!
    const view = bench.view!
    const place = view.reference(0)
    const reference = bench.store.stage.references?.[0]
    if (!place || !reference) return { own: view.shown()[0], said: null, means: null }
    const clip = bench.store.clips[reference.clipId]!
    const { a, b, c, d, e, f } = place.toHost
    const ratio = place.picture.width / place.rect.width
    const context = place.picture.getContext('2d')!
    const cells = Array.from({ length: 20 }, (_, cell) => {
      const [px, py] = [clip.width * (cell + 0.5) / 20, clip.height * 0.5]
      const x = (a * px + c * py + e - place.rect.x) * ratio
      const y = (b * px + d * py + f - place.rect.y) * ratio
      const { data } = context.getImageData(Math.round(x) - 1, Math.round(y) - 1, 3, 3)
      let sum = 0
      for (let i = 0; i < data.length; i += 4) sum += data[i]!
      return sum / 9
    })
    return { own: view.shown()[0], said: place.frame, means: cells }
  })
  return { own, said, seen: means ? numberOf(means) : null }
}

function numberOf(means: readonly number[]): number | null {
  if (means[0]! - means[1]! < 60) return null
  const middle = (means[0]! + means[1]!) / 2
  const bits = means.map((mean) => mean > middle)
  const n = bits.slice(2, 16).reduce((sum, on) => sum * 2 + (on ? 1 : 0), 0)
  return cellsOf(n).every((on, i) => on === bits[i]) ? n : null
}

/** Where the reference ought to be, in frames and parts of one, when the student stands on a frame. */
function ideal(frame: number): number {
  const k = events.findIndex(([, own], i) => frame >= own && frame <= (events[i + 1]?.[1] ?? Infinity))
  const [low, high] = [events[Math.max(k, 0)]!, events[Math.max(k, 0) + 1]]
  // Outside the positions as fast as in the world: two frames of 120 a second for one of 60.
  if (frame < events[0]![1]) return events[0]![2] + 2 * (frame - events[0]![1])
  if (!high) return low[2] + 2 * (frame - low[1])
  return low[2] + ((frame - low[1]) / (high[1] - low[1])) * (high[2] - low[2])
}

async function expectPair(page: Page, frame: number): Promise<void> {
  const wanted = Math.min(Math.max(ideal(frame), 0), 239)
  await expect.poll(async () => { const { own, said } = await look(page); return own === frame && said !== null && Math.abs(said - wanted) <= 0.5 + 1e-9 }, { message: `frame ${frame} beside ${wanted}` }).toBe(true)
  const { said, seen } = await look(page)
  expect(seen).toBe(said)
}

const press = async (page: Page, ...keys: string[]): Promise<void> => { for (const key of keys) await page.keyboard.press(key) }
const references = (page: Page) => page.evaluate(() => crossbearingTest.bench!.store.stage.references?.[0] ?? null)

test('a reference of other hand and rate: two keys, the same instant to half a frame, the same size; ghost, wipe, differences, pins', async ({ page, desk }) => {
  const takeInAnother = await fill(desk)
  await page.addInitScript(() => { globalThis.crossbearingTest = {} })
  await page.reload()
  await page.getByRole('tab', { name: 'Arrivals' }).click()
  await page.getByRole('button', { name: /Bench/ }).first().click()
  await expect.poll(() => page.evaluate(() => crossbearingTest.bench?.view?.shown()[0] ?? null)).toBe(0)

  // The reference stands first, and Enter takes it.
  await press(page, 'q')
  const options = page.getByRole('listbox', { name: 'Swings' }).getByRole('option')
  await expect(options).toHaveCount(1)
  await expect(options.first()).toContainText('Noa Brandt')
  expect(await seriousFindings(page)).toEqual([])
  await press(page, 'Enter')
  await expectPair(page, 0)
  const bar = page.getByRole('region', { name: 'Beside a reference' })
  await expect(bar).toContainText('at 4')

  // At every position that is known, from one to the next, and in between.
  await press(page, 'y')
  for (const [, own] of events) {
    await expectPair(page, own)
    await press(page, 'y')
  }
  for (const frame of [3, 11, 34, 59, 61, 71, 79, 95, 118]) {
    await page.evaluate((at) => crossbearingTest.bench!.transport.seekFrame(0, at), frame)
    await expectPair(page, frame)
  }
  // Scrubbing the reference moves the student through the same phase.
  await page.evaluate(() => crossbearingTest.bench!.transport.seekFrame(0, 60))
  await expectPair(page, 60)
  const tag = await page.locator('.reference-tag').first().boundingBox()
  const [x, y] = [tag!.x + tag!.width / 2, tag!.y + tag!.height / 2]
  await page.mouse.move(x, y)
  await page.mouse.down()
  await page.mouse.move(x + 5 * 20, y, { steps: 4 })
  await page.mouse.up()
  await expect.poll(async () => (await look(page)).own).toBe(70)
  await expectPair(page, 70)

  // Mirrored for the other hand, as large by stature, on the feet; taken off and on again.
  const reference = (await references(page))!
  expect(reference.transform.mirror).toBe(true)
  // As their heights in the pictures, but for the ankles, which are a larger part of a shorter player.
  expect(Math.abs(reference.transform.scale / (854 / 640) - 1)).toBeLessThan(0.01)
  await expect(bar).toContainText('times as large, mirrored')
  await press(page, '7')
  await expect(bar).toContainText('as it was filmed')
  await expectPair(page, 70)
  await press(page, '7')

  // What was drawn on the reference shows on it by one key, where it was drawn, and is nothing of the student's.
  const inked = () => page.evaluate(() => {
    const place = crossbearingTest.bench!.view!.reference(0)!
    const lines = document.querySelector<HTMLCanvasElement>('canvas[data-layer="reference-lines"]')!
    if (lines.style.display === 'none') return null
    const { a, b, c, d, e, f } = place.toHost
    const ratio = lines.width / place.rect.width
    const [x, y] = [(a * 180 + c * 530 + e - place.rect.x) * ratio, (b * 180 + d * 530 + f - place.rect.y) * ratio]
    return [...lines.getContext('2d')!.getImageData(Math.round(x), Math.round(y), 1, 1).data]
  })
  expect(await inked()).toBeNull()
  await press(page, 'Shift+9')
  await expect.poll(inked).toEqual([0xe6, 0x9f, 0x00, 255])
  expect(await page.evaluate(() => Object.keys(crossbearingTest.bench!.store.stage.marks))).toEqual([])
  await press(page, 'Shift+9')
  await expect.poll(inked).toBeNull()

  // Ghost and wipe by one key each, the slider by two.
  await press(page, 'Shift+Q', '9', '9')
  const canvas = page.locator('canvas[data-layer="reference"]').first()
  await expect(canvas).toHaveCSS('opacity', '0.7')
  await press(page, 'Shift+Q')
  await expect.poll(() => canvas.evaluate((element) => element.style.clipPath)).toMatch(/inset\(0px 0px 0px \d/)
  await press(page, '5', '6', 'Shift+5')
  expect(await references(page)).toMatchObject({ look: 'wipe', amount: 0.7, skeleton: true, traces: true, shaft: true })

  // Differences: the surest first, one pinned, undone with one key.
  await press(page, 'Shift+V')
  const column = page.getByRole('complementary', { name: 'Differences' })
  await expect(column).toContainText('are larger than their error')
  const times = await column.locator('tbody tr td:last-child').allTextContents()
  expect(times.length).toBeGreaterThan(3)
  await expect(column.locator('tr[data-measure="shoulder-line-tilt"][data-at="top"]')).toHaveAttribute('data-exceeds', 'true')
  expect(await seriousFindings(page)).toEqual([])
  await column.getByRole('button', { name: 'Pin Shoulder line tilt, top' }).click()
  await expect(column).toContainText('1 of 3 pinned')
  await expect.poll(async () => (await look(page)).own).toBe(60)
  const pinned = await page.evaluate(() => Object.values(crossbearingTest.bench!.store.stage.marks).map(({ text, ink, shape }) => ({ text, ink, shape })))
  expect(pinned.map(({ ink, shape }) => `${ink} ${shape}`).toSorted()).toEqual(['plain segment', 'reference segment'])
  expect(pinned.find(({ ink }) => ink === 'plain')!.text).toMatch(/^Shoulder line tilt, top\n.*\nreference .*\ndifference /)
  await press(page, 'Control+z')
  await expect(column).toContainText('0 of 3 pinned')

  // Against oneself, without positions: by real time, and it says so; moved against the student by frames.
  await takeInAnother()
  await press(page, 'q')
  await page.getByRole('combobox', { name: 'Search swings' }).fill('spring')
  await expect(options).toHaveCount(1)
  await press(page, 'Enter')
  await expect(bar).toContainText('real time')
  await page.getByRole('button', { name: /note/ }).click()
  await expect(page.getByRole('note')).toContainText('The reference has no positions: tied by real time')
  await press(page, 'Escape')
  await expect.poll(async () => (await look(page)).said).toBe(30)
  await press(page, '}', '}')
  await expect.poll(async () => { const { own, said, seen } = await look(page); return [own, said, seen] }).toEqual([60, 32, 32])
  await press(page, 'Shift+Backspace')
  await expect(bar).toHaveCount(0)
  expect(await references(page)).toBeNull()

  // Undone step by step: taken away, moved by frames, set beside in place of the other; and done again.
  await press(page, 'Control+z')
  await expect.poll(async () => { const { own, said, seen } = await look(page); return [own, said, seen] }).toEqual([60, 32, 32])
  await press(page, 'Control+z')
  await expect.poll(async () => (await look(page)).seen).toBe(30)
  await press(page, 'Control+z')
  await expectPair(page, 60)
  await expect(bar).toContainText('Noa Brandt')
  await press(page, 'Control+z')
  expect(await references(page)).toMatchObject({ look: 'wipe', shaft: false })
  await press(page, 'Control+Shift+z', 'Control+Shift+z', 'Control+Shift+z', 'Control+Shift+z')
  await expect(bar).toHaveCount(0)

  // Kept with the swing: opened anew, it stands again as it was by one key.
  await press(page, 'q')
  await page.getByRole('combobox', { name: 'Search swings' }).fill('noa')
  await expect(options).toHaveCount(1)
  await press(page, 'Enter')
  await expectPair(page, 60)
  await press(page, 'Shift+Q', '5')
  const stood = (await references(page))!
  await page.waitForTimeout(800)
  await page.reload()
  await page.getByRole('tab', { name: 'Arrivals' }).click()
  await page.getByRole('button', { name: /Bench/ }).first().click()
  await expect(page.getByRole('button', { name: /^Again: Noa Brandt/ })).toBeVisible()
  await press(page, 'Shift+R')
  await expectPair(page, 0)
  expect(await references(page)).toMatchObject({ look: stood.look, skeleton: stood.skeleton, tie: stood.tie, transform: stood.transform })
  await expect(page.getByRole('button', { name: /^Again/ })).toHaveCount(0)
})
