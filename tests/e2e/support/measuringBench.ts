/** What browser tests of measuring share: the demo's swing across the line on the Bench, beside its truth. */
import type { Locator, Page } from '@playwright/test'
import type { Bench } from '../../../renderer/bench/bench.ts'
import type { ClipTruth } from '../../../electron/desk/demo/kit.ts'
import { landmarkId, positionId, type Digitised } from '../../../shared/contract/digitising.ts'
import type { PointName } from '../../../shared/contract/pointsFile.ts'
import { filmPair, takeInPair, type DemoPair } from './demoPair.ts'
import { expect, test, type TestDesk } from './desk.ts'

declare global {
  var crossbearingTest: { bench?: Bench; renders?: number }
}

let pair: DemoPair
/** Of both clips, face-on first. */
export let truths: DemoPair['truths']

/** Films the two clips before the tests of a file, and takes them away after. */
export function withDemoPair(): void {
  test.beforeAll(async () => {
    pair = await filmPair('rowan')
    truths = pair.truths
  })
  test.afterAll(() => pair.remove())
}

export const press = async (page: Page, ...keys: string[]): Promise<void> => {
  for (const key of keys) await page.keyboard.press(key)
}

/** Takes both clips in as one swing, ties them at impact, lays `recordsOf` each on it, and opens them on the Bench; answers with the clips' ids. */
export async function openPair(page: Page, desk: TestDesk, recordsOf: (truth: ClipTruth, clipId: string) => readonly Digitised[] = () => []): Promise<readonly [string, string]> {
  const { clipIds } = await takeInPair(desk, pair, 'Ines Falk', false)
  const records = truths.flatMap((truth, i) => recordsOf(truth, clipIds[i]!))
  if (records.length > 0) await desk.call('digitising.apply', { diff: { added: Object.fromEntries(records.map((record) => [record.id, record])), updated: {}, removed: {} } })
  await openAgain(page)
  return clipIds
}

export async function openAgain(page: Page): Promise<void> {
  await page.addInitScript(() => { globalThis.crossbearingTest = {} })
  await page.reload()
  await page.getByRole('tab', { name: 'Arrivals' }).click()
  await page.getByRole('button', { name: /Open both on the Bench|Bench/ }).first().click()
  await expect.poll(() => page.evaluate(() => crossbearingTest.bench?.view?.shown().every((frame) => frame !== null) ?? false)).toBe(true)
}

/** Goes to a frame and waits until its pixels are there: what is set is set at what is seen. */
export async function goTo(page: Page, pane: 0 | 1, frame: number): Promise<void> {
  await page.evaluate(([which, to]) => {
    const bench = crossbearingTest.bench!
    bench.activate(which)
    bench.transport.seekFrame(which, to)
  }, [pane, frame] as const)
  await expect.poll(() => page.evaluate((which) => crossbearingTest.bench!.view!.shown()[which], pane)).toBe(frame)
}

/** Which pane is asked of, the frame it shows, and where a point of its picture lies in the window. */
export const lookAt = (page: Page, at: readonly [number, number] | null) => page.evaluate((point) => {
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

export const titleOf = (point: string): string => point.replace(/([A-Z])/g, ' $1').toLowerCase()

/** Places by clicks all that is asked for; answers with how many it were. */
export async function placeAll(page: Page, skip: (point: PointName) => boolean = () => false): Promise<number> {
  let placed = 0
  for (let tries = 0; placed < 80 && tries < 400; tries++) {
    const wanted = page.locator('.placing-steps [aria-current="step"]')
    if ((await wanted.count()) === 0) break
    const textOf = async (where: Locator): Promise<string | undefined> => (await where.allInnerTexts())[0]?.trim()
    await expect.poll(async () => { const { frame, shown } = await lookAt(page, null); return frame === shown }).toBe(true)
    const title = await textOf(wanted)
    if (!title) continue
    const now = await lookAt(page, null)
    const point = Object.keys(truths[now.pane]!.frames[now.frame]!.pixel).find((name) => titleOf(name) === title) as PointName | undefined
    if (!point || skip(point)) {
      await press(page, '.')
      placed++
      continue
    }
    // A result that has just come in may have changed what is asked for next: then look again.
    const asked = await textOf(page.locator('.placing-prompt strong'))
    if (asked?.toLowerCase() !== title.toLowerCase() || (await textOf(wanted)) !== title) continue
    const { x, y } = await lookAt(page, truths[now.pane]!.frames[now.frame]!.pixel[point]!)
    await page.mouse.click(x, y)
    placed++
  }
  return placed
}

/** Looks for what is to be measured by words and takes it from the list. */
export async function chooseToMeasure(page: Page, choice: string, words: string): Promise<void> {
  await page.getByRole('combobox', { name: 'What to measure' }).fill(words)
  await page.locator(`[data-choice="${choice}"]`).click()
}

export const rowOf = (page: Page, id: string, at: string) => page.locator(`.evidence-row[data-measure="${id}"][data-at="${at}"]`)

/** A row's value and its error, as they stand there. */
export async function reading(page: Page, id: string, at: string): Promise<{ value: number; sigma: number }> {
  const text = (await rowOf(page, id, at).locator('.evidence-value').innerText()).replaceAll('\u2212', '-')
  // Bent readings have unequal sides: then the mean of both.
  const [, value, both, up, down] = /^(-?[\d.]+)\s*(?:\u00b1 ([\d.]+)|\+([\d.]+)\s*-([\d.]+))/.exec(text) ?? []
  expect(value, `${id} at ${at} shows ${text}`).toBeDefined()
  return { value: Number(value), sigma: both === undefined ? (Number(up) + Number(down)) / 2 : Number(both) }
}

export async function seed(desk: TestDesk, names: readonly ('address' | 'takeaway' | 'top' | 'impact')[], called: (point: PointName, view: string) => PointName = (point) => point): Promise<void> {
  const clips = await desk.call('clip.list', {})
  const added: Record<string, Digitised> = {}
  const add = (record: Digitised): void => void (added[record.id] = record)
  for (const truth of truths) {
    const clip = clips.find(({ view }) => view === truth.view)!
    for (const name of names) {
      const at = truth.events[name]!.frame
      const { tick } = truth.frames[at]!
      if (truth.view === 'face-on') add({ kind: 'position', id: positionId(clip.id, name), clipId: clip.id, name, tick, falls: 'on', sigmaS: null, by: 'coach' })
      for (const frame of [at - 1, at, at + 1])
        for (const [shown, p] of Object.entries(truth.frames[frame]!.pixel)) {
          const point = called(shown as PointName, truth.view)
          add({ kind: 'landmark', id: landmarkId(clip.id, truth.frames[frame]!.tick, point), clipId: clip.id, tick: truth.frames[frame]!.tick, point, at: [p[0], p[1]] as never, sigmaPx: null, placed: 1, by: 'coach' })
        }
    }
  }
  await desk.call('digitising.apply', { diff: { added, updated: {}, removed: {} } })
}
