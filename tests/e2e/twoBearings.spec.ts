/** Two bearings on the Bench: points of the demo's swing across the line give the shaft in space beside the truth; drawn, undone, as it looks. */
import type { Page } from '@playwright/test'
import type { ClipTruth } from '../../electron/desk/demo/kit.ts'
import { guideId, landmarkId, positionId, type Digitised } from '../../shared/contract/digitising.ts'
import type { PointName } from '../../shared/contract/pointsFile.ts'
import { expect, test, type TestDesk } from './support/desk.ts'
import { openAgain, openPair, truths, withDemoPair } from './support/measuringBench.ts'

withDemoPair()

/** Where the truth sees a point of the world. */
function seen({ matrix }: ClipTruth, [x, y, z]: readonly [number, number, number]): [number, number] {
  const [a, b, c] = matrix.map((row) => row[0]! * x + row[1]! * y + row[2]! * z + row[3]!) as [number, number, number]
  return [a / c, b / c]
}

/** All that a coach might place: points on every other frame until past impact, the positions, the stick, the ball, a plumb line. */
function recordsOf(truth: ClipTruth, clipId: string): Digitised[] {
  const records: Digitised[] = []
  truth.frames.forEach((frame, i) => {
    if (i % 2 && Math.abs(i - truth.events.top!.frame) > 8) return
    for (const [point, at] of Object.entries(frame.pixel) as [PointName, readonly [number, number]][]) {
      if (at[0] < 0 || at[1] < 0 || at[0] > truth.widthPx || at[1] > truth.heightPx) continue
      records.push({ kind: 'landmark', id: landmarkId(clipId, frame.tick, point), clipId, tick: frame.tick, point, at: [at[0], at[1]] as never, sigmaPx: null, placed: 1, by: 'coach' })
    }
  })
  for (const name of ['address', 'takeaway', 'top', 'lead-arm-level-down', 'shaft-level-down', 'impact'] as const) {
    const event = truth.events[name]
    if (event) records.push({ kind: 'position', id: positionId(clipId, name), clipId, name, tick: truth.frames[event.frame]!.tick, falls: 'on', sigmaS: null, by: 'coach' })
  }
  const guide = (name: 'targetLine' | 'plumb', ends: readonly (readonly [number, number, number])[]): void => {
    const [a, b] = ends.map((end) => seen(truth, end)) as [[number, number], [number, number]]
    if ([a, b].every(([x, y]) => x >= 0 && y >= 0 && x <= truth.widthPx && y <= truth.heightPx))
      records.push({ kind: 'guide', id: guideId(clipId, name), clipId, name, ends: [a, b] as never, metres: null, by: 'coach' })
  }
  guide('targetLine', truth.stick)
  guide('plumb', [[0.1, 0.1, -0.3], [0.1, 1.7, -0.3]])
  return records
}

const openDigitised = (page: Page, desk: TestDesk): Promise<readonly [string, string]> => openPair(page, desk, recordsOf)

const shapes = (page: Page) => page.evaluate(() => Object.values(crossbearingTest.bench!.store.stage.marks).map(({ shape }) => shape).toSorted().join(' '))
const planReading = (page: Page) => page.evaluate(() => Object.values(crossbearingTest.bench!.store.stage.marks).find(({ shape }) => shape === 'plan')?.reading ?? null)

test('the shaft at the top in space beside the truth, drawn on both clips, undone in one step, as it looks, and kept up to date', async ({ page, desk }) => {
  const ids = await openDigitised(page, desk)
  const [front, line] = truths as [ClipTruth, ClipTruth]
  const section = page.locator('.two-bearings')
  await expect(section.getByText('the shaft at the top', { exact: true })).toBeVisible()
  const number = async (name: string): Promise<[number, number]> => {
    const text = (await section.locator('dl > div', { hasText: name }).first().locator('dd').innerText()).replaceAll('\u2212', '-')
    const [, value, sigma] = /^(-?[\d.]+)\s*\u00b1 ([\d.]+)/.exec(text) ?? []
    expect(sigma, `${name} shows ${text}`).toBeDefined()
    return [Number(value), Number(sigma)]
  }
  const [azimuth, sigma] = await number('Azimuth, top')
  // From butt to the head's centre, as the measure is defined; the shaft's own axis, which ends at the heel, is at 18 degrees.
  const { butt, clubhead } = front.frames[front.events.top!.frame]!.world
  const truth = (Math.atan2(clubhead![2] - butt![2], clubhead![0] - butt![0]) * 180) / Math.PI
  expect(Math.abs(azimuth - truth)).toBeLessThan(3 * sigma)
  expect(sigma).toBeLessThan(6)
  const [offset, offsetSigma] = await number('Off the hand line')
  expect(Math.abs(offset - line.camera.offsetFromHandLineM)).toBeLessThan(3 * offsetSigma)
  await expect(section).toContainText(/a neutral top will look [\d.]+ \u00b1 [\d.]+\u00b0 across/)

  await page.keyboard.press('b')
  await expect.poll(() => shapes(page)).toBe('fan fan plan polyline polyline polyline polyline segment segment segment segment segment segment segment segment')
  const reading = (await planReading(page))!
  expect(Math.abs(reading.azimuth.value - azimuth)).toBeLessThan(0.06)
  // Both panes stand in a frame on which their marks show.
  await expect.poll(() => page.evaluate(() => {
    const { stage, clips } = crossbearingTest.bench!.store
    return stage.panes.map(({ clipId, tick }) => Object.values(stage.marks).some((mark) => mark.clipId === clipId && mark.shape === 'fan' && tick >= mark.span!.from && tick < mark.span!.to + (clips[clipId!]!.frames.ticks[1]! - clips[clipId!]!.frames.ticks[0]!)))
  })).toEqual([true, true])
  await page.keyboard.press('Control+z')
  await expect.poll(() => shapes(page)).toBe('')
  await page.keyboard.press('Control+Shift+z')
  await expect.poll(() => shapes(page)).toBe('fan fan plan polyline polyline polyline polyline segment segment segment segment segment segment segment segment')

  await page.keyboard.press('Shift+b')
  await expect.poll(() => shapes(page)).toBe('line line')
  await page.keyboard.press('Shift+b')
  await expect.poll(() => shapes(page)).toBe('fan fan plan polyline polyline polyline polyline segment segment segment segment segment segment segment segment')

  // On disk, with its numbers.
  await expect.poll(async () => (await desk.call('marks.list', { clipIds: [...ids] })).find(({ shape }) => shape === 'plan')?.reading?.azimuth.value).toBe(reading.azimuth.value)

  // Points that are taken away or moved take the marks along, with no step of undo of their own: one undo for each is all.
  const azimuthShown = async () => (await planReading(page))!.azimuth.value
  await page.evaluate(() => {
    const { bench } = crossbearingTest
    bench!.activate(0)
    bench!.transport.step(0, -4)
  })
  await expect.poll(() => page.evaluate(() => crossbearingTest.bench!.view!.shown()[0])).toBe(front.events.top!.frame - 4)
  await page.keyboard.press('l')
  await page.keyboard.press('5')
  await expect.poll(azimuthShown).not.toBe(reading.azimuth.value)
  await page.keyboard.press('Control+z')
  await expect.poll(azimuthShown).toBe(reading.azimuth.value)
  await page.keyboard.press('Control+Shift+z')
  await expect.poll(azimuthShown).not.toBe(reading.azimuth.value)
  await page.keyboard.press('Control+z')
  await expect.poll(azimuthShown).toBe(reading.azimuth.value)
  await page.keyboard.press('Control+z')
  await expect.poll(() => shapes(page)).toBe('line line')
})

test('what is missing is said in words, and drawing says so too', async ({ page, desk }) => {
  const ids = await openDigitised(page, desk)
  const club = (await desk.call('digitising.list', { clipIds: [ids[1]!] })).filter((record) => record.kind === 'landmark' && ['butt', 'hands'].includes(record.point))
  await desk.call('digitising.apply', { diff: { added: {}, updated: {}, removed: Object.fromEntries(club.map((record) => [record.id, record])) } })
  await page.reload()
  await page.getByRole('tab', { name: 'Arrivals' }).click()
  await page.getByRole('button', { name: /Open both on the Bench|Bench/ }).first().click()
  const section = page.locator('.two-bearings')
  await expect(section.getByText('not to be had yet')).toBeVisible()
  await expect(section.locator('.bearing-lacking')).toContainText('The club is not digitised in both views')
  await page.keyboard.press('b')
  await expect(page.locator('.prompt-refusal')).toContainText('under Two bearings, says why')
})

test('two tied clips that are said to be two swings but meet as one are offered as one: a key says so, undo takes it back', async ({ page, desk }) => {
  await openDigitised(page, desk)
  const swing = async () => (await desk.call('swing.list', {}))[0]!
  const { createdAt: _, ...rest } = await swing()
  await desk.call('swing.save', { ...rest, pairing: 'two-swings' })
  await page.reload()
  await page.getByRole('tab', { name: 'Arrivals' }).click()
  await page.getByRole('button', { name: /Open both on the Bench|Bench/ }).first().click()
  const offer = page.locator('.bearing-offer')
  await expect(offer).toContainText(/The points of both clips meet as those of one swing do: within \d+ mm, \d\.\d times their error\./, { timeout: 20_000 })
  await page.keyboard.press('Alt+o')
  await expect.poll(async () => (await swing()).pairing).toBe('one-swing')
  await expect(offer).toHaveCount(0)
  await page.keyboard.press('Control+z')
  await expect.poll(async () => (await swing()).pairing).toBe('two-swings')
  await expect(offer).toBeVisible({ timeout: 20_000 })
  await page.keyboard.press('Control+Shift+z')
  await expect.poll(async () => (await swing()).pairing).toBe('one-swing')
  // The other way round: a tie that cannot be makes two swings of them.
  await page.evaluate(() => {
    const { bench } = crossbearingTest
    const { tie } = bench!.store.stage
    const { frames } = bench!.clip(1)!
    bench!.dispatch([{ type: 'tie', tie: { left: tie!.left, right: tie!.right - 40 * (frames.ticks[1]! - frames.ticks[0]!) } }])
  })
  await expect(page.locator('.bearing-lacking')).toContainText('cannot be of one swing', { timeout: 20_000 })
  await offer.getByRole('button', { name: 'Two swings' }).click({ timeout: 20_000 })
  await expect.poll(async () => (await swing()).pairing).toBe('two-swings')
})

test('how far the student repeats is set beside two tied swings, is in every error, and can be taken back', async ({ page, desk }) => {
  await openDigitised(page, desk)
  const { createdAt: _, ...rest } = (await desk.call('swing.list', {}))[0]!
  await desk.call('swing.save', { ...rest, pairing: 'two-swings' })
  await openAgain(page)
  const evidence = page.locator('.bench-evidence')
  const repeats = evidence.getByRole('region', { name: 'How the swing repeats' })
  await expect(repeats.getByRole('status')).toHaveText('2.5 cm, assumed: none is set')
  const sigma = async (): Promise<number> => Number(/\u00b1 ([\d.]+)/.exec(await evidence.locator('.two-bearings dl > div', { hasText: 'Azimuth, top' }).first().locator('dd').innerText())![1])
  const assumed = await sigma()
  const field = repeats.getByRole('textbox', { name: 'Repeats within, cm' })
  await field.fill('70')
  await field.press('Enter')
  await expect(repeats).toContainText('Write centimetres between 0.1 and 30.')
  await field.fill('7,5')
  await field.press('Enter')
  await expect(repeats.getByRole('status')).toHaveText('7.5 cm, set by you')
  const figure = async () => (await desk.call('student.list', {}))[0]!.repeatability
  await expect.poll(figure).toEqual({ m: 0.075, from: { by: 'coach' } })
  await expect.poll(sigma).toBeGreaterThan(1.5 * assumed)
  await expect(evidence.locator('.two-bearings dl > div', { hasText: 'Azimuth, top' }).first()).toHaveAttribute('title', /repeatability 7\.5 cm, set by the coach/)
  await evidence.getByRole('heading', { name: 'Evidence' }).click()
  await page.keyboard.press('Control+z')
  await expect.poll(figure).toBeNull()
  await expect.poll(sigma).toBe(assumed)
  await page.keyboard.press('Control+Shift+z')
  await expect.poll(figure).toEqual({ m: 0.075, from: { by: 'coach' } })
})

test('a clip said to be filmed mirrored is turned back, its points stay on their pixels, and what cannot be is taken back by its own press', async ({ page, desk }) => {
  const [id] = await openDigitised(page, desk)
  const panes = () => page.evaluate(() => crossbearingTest.bench!.store.stage.panes.map(({ mirror }) => mirror))
  const isMirrored = async () => (await desk.call('clip.get', { id })).mirrored
  const points = async () => JSON.stringify(await desk.call('digitising.list', { clipIds: [id] }))
  const before = await points()
  const evidence = page.locator('.bench-evidence')
  await page.evaluate(() => crossbearingTest.bench!.activate(0))
  await evidence.getByRole('heading', { name: 'Scale, level, time' }).click()
  await evidence.getByText('Filmed mirrored').click()
  await expect.poll(isMirrored).toBe(true)
  await expect.poll(panes).toEqual([true, false])
  await expect(page.locator('.pane-name').first()).toContainText('filmed mirrored, turned back')
  await expect(evidence).toContainText('The two views disagree on handedness')
  expect(await points()).toBe(before)
  await evidence.locator('.odd-clip').getByRole('button', { name: 'Not mirrored' }).click()
  await expect.poll(isMirrored).toBe(false)
  await expect.poll(panes).toEqual([false, false])
  await expect(evidence.locator('.two-bearings').getByText('the shaft at the top', { exact: true })).toBeVisible()
  await page.keyboard.press('Control+z')
  await expect.poll(isMirrored).toBe(true)
  await page.keyboard.press('Control+z')
  await expect.poll(isMirrored).toBe(false)
  await expect.poll(panes).toEqual([false, false])
})

test('a clip whose frame rate is not what it is said to be is offered the one by which both clocks run alike; undo takes it back', async ({ page, desk }) => {
  const [, lineId] = await openDigitised(page, desk)
  const rate = async () => (await desk.call('clip.list', {})).find(({ id }) => id === lineId)!.captureRate
  const filmed = await rate()
  await page.getByText('Scale, level, time').click()
  const offer = page.locator('.calibration').getByRole('button', { name: /^Filmed at / })
  await expect(page.locator('.calibration')).toContainText('clocks run alike to')
  await expect(offer).toHaveCount(0)
  await desk.call('clip.update', { id: lineId, patch: { captureRate: 2 * filmed } })
  // Both were said by the coach: either may be the wrong one.
  const own = page.locator('.calibration p', { hasText: 'Down the line' })
  await expect(own).toContainText(new RegExp(`Down the line: \\d+\\.\\d \u00b1 \\d+\\.\\d a second by the positions, not ${2 * filmed}`))
  await own.getByRole('button', { name: `Filmed at ${filmed}` }).click()
  await expect.poll(rate).toBe(filmed)
  await expect(offer).toHaveCount(0)
  await page.keyboard.press('Control+z')
  await expect.poll(rate).toBe(2 * filmed)
  await expect(own).toBeVisible()
})
