/** Measuring on the Bench: positions by key, points placed by clicks where the truth has them, measures beside the truth, undo, reload. */
import { readFile } from 'node:fs/promises'
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from '@playwright/test'
import type { Bench } from '../../renderer/bench/bench.ts'
import { makeDemoKit, type ClipTruth, type DemoKit } from '../../electron/desk/demo/kit.ts'
import { parsePointsText, type PointName } from '../../shared/contract/pointsFile.ts'
import { expect, test, type TestDesk } from './support/desk.ts'

declare global {
  var crossbearingTest: { bench?: Bench; renders?: number }
}

let folder: string
let kit: DemoKit
let truths: readonly ClipTruth[]

test.beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'measuring-'))
  kit = await makeDemoKit(folder, { scale: 0.5, seconds: 1.6, only: ['rowan-face-on', 'rowan-down-the-line'], workers: 2 })
  truths = await Promise.all(['face-on', 'down-the-line'].map(async (view) => JSON.parse(await readFile(kit.clips.find((clip) => clip.view === view)!.truthPath, 'utf8')) as ClipTruth))
})
test.afterAll(() => rm(folder, { recursive: true, force: true }))

const press = async (page: Page, ...keys: string[]): Promise<void> => {
  for (const key of keys) await page.keyboard.press(key)
}

/** Takes both clips in as one swing, ties them at impact, and opens them on the Bench. */
async function openPair(page: Page, desk: TestDesk): Promise<void> {
  const consent = { student: { given: true, on: '2026-03-02' }, guardian: { given: false, name: '', on: null }, purpose: '', until: null }
  const [front] = truths
  const { id } = await desk.call('student.save', { id: null, name: 'Ines Falk', handedness: 'right', statureM: front!.statureM, clubs: [{ kind: front!.club.kind, lengthM: front!.club.lengthM }], goals: '', ballFlight: '', injuries: '', minor: false, consent })
  await desk.call('takeIn.start', {
    studentId: id, club: front!.club.kind, handedness: 'right', question: '', feel: '', pair: 'one-swing',
    items: truths.map((truth) => ({ source: { path: join(folder, truth.clip) }, view: truth.view, captureRate: truth.captureRate })),
  })
  await expect.poll(async () => (await desk.call('job.list', {})).every((job) => job.state === 'done'), { timeout: 30_000 }).toBe(true)
  const [swing] = await desk.call('swing.list', {})
  const { createdAt: _, ...rest } = swing!
  const tick = (truth: ClipTruth): number => truth.frames[truth.events.impact!.frame]!.tick
  await desk.call('swing.save', { ...rest, tie: { left: tick(truths[0]!), right: tick(truths[1]!) } })
  await openAgain(page)
}

async function openAgain(page: Page): Promise<void> {
  await page.addInitScript(() => { globalThis.crossbearingTest = {} })
  await page.reload()
  await page.getByRole('tab', { name: 'Arrivals' }).click()
  await page.getByRole('button', { name: /Open both on the Bench|Bench/ }).first().click()
  await expect.poll(() => page.evaluate(() => crossbearingTest.bench?.view?.shown().every((frame) => frame !== null) ?? false)).toBe(true)
}

/** Goes to a frame and waits until its pixels are there: what is set is set at what is seen. */
async function goTo(page: Page, pane: 0 | 1, frame: number): Promise<void> {
  await page.evaluate(([which, to]) => {
    const bench = crossbearingTest.bench!
    bench.activate(which)
    bench.transport.seekFrame(which, to)
  }, [pane, frame] as const)
  await expect.poll(() => page.evaluate((which) => crossbearingTest.bench!.view!.shown()[which], pane)).toBe(frame)
}

/** Which pane is asked of, the frame it shows, and where a point of its picture lies in the window. */
const lookAt = (page: Page, at: readonly [number, number] | null) => page.evaluate((point) => {
  const bench = crossbearingTest.bench!
  const pane = bench.active
  const place = bench.view!.place(pane)!
  const box = document.querySelector('.stage-host')!.getBoundingClientRect()
  const { a, d, e, f } = place.toHost
  return {
    pane, frame: bench.frame(pane), shown: bench.view!.shown()[pane], isPlaying: bench.transport.isPlaying,
    x: point ? box.left + a * point[0] + e : 0, y: point ? box.top + d * point[1] + f : 0,
  }
}, at)

const titleOf = (point: string): string => point.replace(/([A-Z])/g, ' $1').toLowerCase()

/** Places by clicks all that is asked for; answers with how many it were. */
async function placeAll(page: Page, skip: (point: PointName) => boolean = () => false): Promise<number> {
  let placed = 0
  for (; placed < 80; ) {
    const wanted = page.locator('.placing-steps [aria-current="step"]')
    if ((await wanted.count()) === 0) break
    const title = (await wanted.innerText()).trim()
    const now = await lookAt(page, null)
    await expect.poll(async () => { const { frame, shown } = await lookAt(page, null); return frame === shown }).toBe(true)
    const point = Object.keys(truths[now.pane]!.frames[now.frame]!.pixel).find((name) => titleOf(name) === title) as PointName | undefined
    if (!point || skip(point)) {
      await press(page, '.')
      placed++
      continue
    }
    await expect(page.locator('.placing-prompt strong')).toHaveText(new RegExp(`^${title}$`, 'i'))
    const { x, y } = await lookAt(page, truths[now.pane]!.frames[now.frame]!.pixel[point]!)
    await page.mouse.click(x, y)
    placed++
  }
  return placed
}

const rowOf = (page: Page, id: string, at: string) => page.locator(`.evidence-row[data-measure="${id}"][data-at="${at}"]`)

/** A row's value and its error, as they stand there. */
async function reading(page: Page, id: string, at: string): Promise<{ value: number; sigma: number }> {
  const text = (await rowOf(page, id, at).locator('.evidence-value').innerText()).replaceAll('\u2212', '-')
  const [, value, sigma] = /^(-?[\d.]+)\s*\u00b1 ([\d.]+)/.exec(text) ?? []
  expect(sigma, `${id} at ${at} shows ${text}`).toBeDefined()
  return { value: Number(value), sigma: Number(sigma) }
}

test('points placed by clicks become measures with errors that hold the truth; undone, redone, and there after a reload', async ({ page, desk }) => {
  await openPair(page, desk)
  const [front, line] = truths as [ClipTruth, ClipTruth]
  await press(page, 'v')
  const column = page.getByRole('complementary', { name: 'Evidence' })
  await expect(column.getByText('Nothing is placed yet')).toBeVisible()

  // Positions by key at the frame shown; out of order is refused in a sentence and changes nothing.
  for (const [name, digit] of [['address', '1'], ['takeaway', '2'], ['top', '5'], ['impact', '8']] as const) {
    await goTo(page, 0, front.events[name]!.frame)
    await press(page, 'l', digit)
  }
  await goTo(page, 0, 75)
  await press(page, 'l', '2')
  await expect(page.locator('.prompt-refusal')).toContainText('Positions are out of order: top (frame 59) must come after takeaway (frame 76).')
  await goTo(page, 0, 0)
  await press(page, 'k', '5')
  expect((await lookAt(page, null)).frame).toBe(58)
  const tempo = await reading(page, 'tempo-ratio', 'swing')
  expect(Math.abs(tempo.value - front.swing.tempoRatio)).toBeLessThan(3 * tempo.sigma)

  // All that is read at the top, in both views.
  await column.getByLabel('What to measure').selectOption('position:top')
  const placed = await placeAll(page)
  expect(placed).toBeGreaterThan(25)
  await expect(column.getByText('Nothing is placed yet')).toBeHidden()

  // Beside the truth: the lead arm from straight down in the plane of the world that the camera faces.
  const frame = front.frames[58]!.world
  const down = (from: readonly number[], to: readonly number[]): number => (Math.atan2(-(to[0]! - from[0]!), -(to[1]! - from[1]!)) * 180) / Math.PI
  const arm = await reading(page, 'lead-arm-to-vertical', 'top')
  expect(Math.abs(arm.value - down(frame.leadShoulder!, frame.leadWrist!))).toBeLessThan(3 * arm.sigma)
  expect(arm.sigma).toBeLessThan(5)
  const lean = await reading(page, 'inclination', 'top')
  const spine = line.frames[56]!.world
  const truth = (Math.atan2(spine.spineTop![2] - spine.spineBase![2], spine.spineTop![1] - spine.spineBase![1]) * 180) / Math.PI
  expect(Math.abs(lean.value - truth)).toBeLessThan(3 * lean.sigma)
  const hips = await reading(page, 'hip-shift', 'top')
  const middle = (world: Readonly<Record<string, readonly number[]>>): number => (world.leadHip![0]! + world.trailHip![0]!) / 2
  expect(Math.abs(hips.value - 1000 * (middle(frame) - middle(front.frames[front.events.address!.frame]!.world)))).toBeLessThan(3 * hips.sigma)

  // What a number rests on, by keyboard.
  await rowOf(page, 'hip-shift', 'top').focus()
  await expect(page.locator('.evidence-basis')).toContainText('positive toward the target')
  await expect(page.locator('.evidence-basis')).toContainText('scale from')

  // Undo takes the last point back, redo brings it; on disk within a second.
  const clipIds = (await desk.call('clip.list', {})).map(({ id }) => id)
  const onDisk = async () => (await desk.call('digitising.list', { clipIds })).length
  // The last of them are on disk within a second of the last click.
  await page.waitForTimeout(1000)
  const all = await onDisk()
  expect(all).toBe(placed + 4)
  await press(page, 'Control+z', 'Control+z')
  await expect.poll(onDisk, { timeout: 1500 }).toBe(all - 2)
  await press(page, 'Control+Shift+z', 'Control+Shift+z')
  await expect.poll(onDisk, { timeout: 1500 }).toBe(all)

  const before = await page.locator('.evidence-row').allInnerTexts()
  await page.waitForTimeout(400)
  await openAgain(page)
  await expect.poll(() => page.locator('.evidence-row').allInnerTexts()).toEqual(before)

  // The points file that is handed out is one that the program reads.
  const download = page.waitForEvent('download')
  await column.getByRole('button', { name: 'Results' }).click()
  await page.getByRole('menuitem', { name: 'Save the points file' }).click()
  const parsed = parsePointsText(await readFile(await (await download).path(), 'utf8'))
  expect(parsed.ok && parsed.file.views.map((view) => view.view)).toEqual(['face-on', 'down-the-line'])
})
