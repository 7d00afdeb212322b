/** The Arms room: the demo pair's arms fitted at the top, the elbow moved by keyboard, the figure on the picture with undo, the fan of misses. */
import type { Page } from '@playwright/test'
import type { ArmsRoom } from '../../renderer/arms/armsRoom.ts'
import type { Bench } from '../../renderer/bench/bench.ts'
import { seriousFindings } from './support/axe.ts'
import { filmPair, takeInPair, type DemoPair } from './support/demoPair.ts'
import { expect, test } from './support/desk.ts'

type Handle = { bench?: Bench; arms?: ArmsRoom }
const handle = 'crossbearingTest'

let pair: DemoPair
test.beforeAll(async () => { pair = await filmPair('rowan') })
test.afterAll(() => pair.remove())

/** The marks on the stage, by shape. */
const shapes = (page: Page): Promise<string> => page.evaluate((key) => {
  const { bench } = (globalThis as unknown as Record<string, Handle>)[key]!
  return Object.values(bench?.store.stage.marks ?? {}).map(({ shape }) => shape).toSorted().join(' ')
}, handle)

/** A cell of the numbers as value and error. */
async function cell(page: Page, row: string, column: number): Promise<{ readonly value: number; readonly sigma: number }> {
  const text = (await page.locator(`[data-row="${row}"] td`).nth(column).innerText()).replaceAll('\u2212', '-')
  const [, value, sigma] = /^\+?(-?[\d.]+) \u00b1 ([\d.]+)/.exec(text) ?? []
  return { value: Number(value), sigma: Number(sigma) }
}

test('an elbow moved by keyboard moves the shaft, and goes onto the picture as marks with undo', async ({ page, desk }) => {
  await takeInPair(desk, pair, 'Ines Falk')
  await page.addInitScript((key) => { (globalThis as unknown as Record<string, Handle>)[key] = {} }, handle)
  await page.reload()
  await page.getByRole('button', { name: 'Open both on the Bench' }).first().click()
  await page.getByRole('tab', { name: 'Arms' }).click()
  const source = page.getByRole('region', { name: 'Whose arms' })
  await expect(source).toContainText('fitted at the top')

  // What was filmed, beside the truth: from butt to the head's centre, as the measure is defined.
  const [front] = pair.truths
  const { butt, clubhead } = front.frames[front.events.top!.frame]!.world
  const truth = (Math.atan2(clubhead![2] - butt![2], clubhead![0] - butt![0]) * 180) / Math.PI
  await expect.poll(async () => (await cell(page, 'azimuthDeg', 0)).sigma).toBeGreaterThan(0)
  const filmed = await cell(page, 'azimuthDeg', 0)
  expect(Math.abs(filmed.value - truth)).toBeLessThan(3 * filmed.sigma + 1)

  // Elbow in: the shaft is less across, by more than its error.
  await expect(page.getByText(/A centimetre in is/)).toBeVisible()
  for (let i = 0; i < 3; i++) await page.keyboard.press('Shift+ArrowLeft')
  await expect.poll(async () => (await cell(page, 'azimuthDeg', 2)).sigma).toBeGreaterThan(0)
  const change = await cell(page, 'azimuthDeg', 2)
  expect(change.value).toBeLessThan(-2 * change.sigma)
  await expect(page.locator('.arms-effect')).toContainText(/Elbow [\d.]+ cm .+: shaft [\d.]+ \u00b1 [\d.]+\u00b0/)
  // Up and down move the shaft, and the elbow follows.
  const before = await cell(page, 'swivelDeg', 1)
  for (let i = 0; i < 4; i++) await page.keyboard.press('ArrowUp')
  await expect.poll(async () => (await cell(page, 'swivelDeg', 1)).value).toBeGreaterThan(before.value)
  await page.keyboard.press('w')
  await expect(page.locator('#arms-blend')).toHaveAttribute('aria-valuetext', 'as it is')
  await page.keyboard.press('w')
  await page.keyboard.press('3')
  await expect(page.getByRole('button', { name: 'From above' })).toHaveAttribute('aria-pressed', 'true')
  expect(await seriousFindings(page)).toEqual([])

  // Dragging the elbow along its arc with the pointer: the room's own numbers follow.
  await page.keyboard.press('2')
  const swivel = () => page.evaluate((key) => (globalThis as unknown as Record<string, Handle>)[key]!.arms!.wantedSwivel, handle)
  const host = page.locator('.arms-host')
  const ring = await page.evaluate(async () => {
    await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))
    const one = document.querySelector<HTMLElement>('.arms-host')!
    const box = one.getBoundingClientRect()
    const [x, y] = one.dataset.elbow!.split(' ').map(Number) as [number, number]
    return { x: box.left + x, y: box.top + y }
  })
  const from = await swivel()
  await page.mouse.move(ring.x, ring.y)
  await expect(host).toHaveAttribute('data-over', 'elbow')
  await page.mouse.down()
  await page.mouse.move(ring.x + 14, ring.y + 22, { steps: 4 })
  await page.mouse.move(ring.x - 20, ring.y - 26, { steps: 6 })
  await page.mouse.up()
  await expect.poll(async () => Math.abs((await swivel()) - from)).toBeGreaterThan(0.5)

  // Onto both pictures, in one step of undo; its numbers go with it.
  await page.keyboard.press('p')
  await expect(page.getByRole('tab', { name: 'Bench' })).toHaveAttribute('aria-selected', 'true')
  await expect.poll(() => shapes(page)).toBe('arms arms')
  const figure = await page.evaluate((key) => Object.values((globalThis as unknown as Record<string, Handle>)[key]!.bench!.store.stage.marks).find(({ shape }) => shape === 'arms')!.figure!, handle)
  expect(figure.poses.map(({ kind }) => kind)).toEqual(['filmed', 'wanted'])
  expect(figure.rows.find(({ name }) => name === 'shaft')!.filmed!.value).toBeCloseTo(filmed.value, 0)
  // Both panes stand in a frame on which the figure shows.
  await expect.poll(() => page.evaluate((key) => {
    const { stage, clips } = (globalThis as unknown as Record<string, Handle>)[key]!.bench!.store
    return stage.panes.map(({ clipId, tick }) => Object.values(stage.marks).some((mark) => mark.clipId === clipId && tick >= mark.span!.from && tick < mark.span!.to + (clips[clipId!]!.frames.ticks[1]! - clips[clipId!]!.frames.ticks[0]!)))
  }, handle)).toEqual([true, true])
  await page.keyboard.press('Control+z')
  await expect.poll(() => shapes(page)).toBe('')
  await page.keyboard.press('Control+Shift+z')
  await expect.poll(() => shapes(page)).toBe('arms arms')

  // The figure in the corner, then the fan of misses.
  await page.getByRole('tab', { name: 'Arms' }).click()
  // What is put from here is an event of the stage, which is all that a recording is made of.
  await page.evaluate((key) => {
    const one = (globalThis as unknown as Record<string, Handle & { heard?: string[] }>)[key]!
    one.heard = []
    one.bench!.store.listen((_, event) => one.heard!.push(event.type === 'marks' ? Object.values(event.diff.added).map(({ shape }) => shape).join() : event.type))
  }, handle)
  await page.keyboard.press('c')
  await expect.poll(() => shapes(page)).toBe('arms arms figure')
  expect(await page.evaluate((key) => (globalThis as unknown as Record<string, { heard: string[] }>)[key]!.heard, handle)).toContain('figure')
  await page.getByRole('tab', { name: 'Arms' }).click()
  await page.keyboard.press('f')
  await page.getByRole('textbox', { name: 'Closure', exact: true }).fill('2000')
  await page.keyboard.press('Enter')
  await expect(page.getByRole('region', { name: 'What it does' })).toContainText('Face spread by timing')
  expect(await seriousFindings(page)).toEqual([])
  await page.getByRole('button', { name: 'Put the fan in the corner' }).click()
  await expect.poll(() => shapes(page)).toBe('arms arms figure misses')
  await expect.poll(async () => (await desk.call('marks.list', { clipIds: (await desk.call('clip.list', {})).map(({ id }) => id) })).map(({ shape }) => shape).toSorted().join(' ')).toBe('arms arms figure misses')

  // What was said of the closure is kept with the swing, through a reload, and can be taken back.
  await page.reload()
  await page.getByRole('button', { name: 'Open both on the Bench' }).first().click()
  await page.getByRole('tab', { name: 'Arms' }).click()
  await expect(source).toContainText('fitted at the top')
  await page.keyboard.press('f')
  const closure = page.getByRole('textbox', { name: 'Closure', exact: true })
  await expect(closure).toHaveValue('2000')
  await expect(page.getByText('Kept with this swing.')).toBeVisible()
  await closure.fill('900')
  await page.keyboard.press('Enter')
  await closure.blur()
  await page.keyboard.press('Control+z')
  await expect(closure).toHaveValue('2000')
})

test('from the standard body to a student: nothing stands there, and no key acts, until the student does', async ({ page, desk }) => {
  await takeInPair(desk, pair, 'Ines Falk')
  await page.addInitScript((key) => { (globalThis as unknown as Record<string, Handle>)[key] = {} }, handle)
  await page.reload()
  await page.getByRole('tab', { name: 'Arms' }).click()
  await expect(page.getByText('a standard body of 1.80 m stands here')).toBeVisible()
  await page.waitForFunction((key) => (globalThis as unknown as Record<string, Handle>)[key]!.arms?.shown, handle)
  await page.getByRole('tab', { name: 'Arrivals' }).click()
  await page.getByRole('button', { name: 'Open both on the Bench' }).first().click()
  // What stands in the room at each frame from here on, and where a press of the key has brought its elbow.
  await page.evaluate((key) => {
    const seen: string[] = []
    const look = (): void => {
      const { arms } = (globalThis as unknown as Record<string, Handle>)[key]!
      const tab = document.querySelector('[role="tab"][aria-selected="true"]')?.textContent ?? ''
      if (tab.startsWith('Arms')) {
        document.body.dispatchEvent(new KeyboardEvent('keydown', { key: 'ArrowRight', code: 'ArrowRight', bubbles: true }))
        seen.push(arms?.shown ? `${arms.shown.wanted.kind} ${arms.state.getState().loaded ? 'of the student' : 'of nobody'}` : 'nothing')
      }
      requestAnimationFrame(look)
    }
    requestAnimationFrame(look)
    Object.assign(globalThis, { seen })
  }, handle)
  await page.getByRole('tab', { name: 'Arms' }).click()
  await expect.poll(() => page.evaluate(() => (globalThis as unknown as { seen: string[] }).seen.at(-1)), { timeout: 60_000 }).toContain('of the student')
  const seen = await page.evaluate(() => [...new Set((globalThis as unknown as { seen: string[] }).seen)])
  expect(seen.filter((one) => one.endsWith('of nobody'))).toEqual([])
  expect(seen).toContain('nothing')
})

test('without points a sketch stands there and says what a fit needs', async ({ page, desk }) => {
  await takeInPair(desk, pair, 'Ines Falk', false)
  await page.reload()
  await page.getByRole('tab', { name: 'Arms' }).click()
  const source = page.getByRole('region', { name: 'Whose arms' })
  await expect(source).toContainText('Nothing is open on the Bench')
  await source.getByRole('combobox').selectOption({ index: 2 })
  await expect(source).toContainText('Face-on: set the top first')
  await expect(source.getByRole('button', { name: 'Place them on the Bench' })).toBeVisible()
  await expect(page.getByRole('button', { name: 'Put on the picture' })).toBeDisabled()
  await expect(page.locator('[data-row="azimuthDeg"] td').first()).toHaveText(/\u00b1 40\u00b0$/)
  await page.keyboard.press('Shift+ArrowRight')
  await expect(page.locator('[data-row="elbowOutCm"] td').nth(2)).toHaveText(/cm set$/)
})

test('marks of an earlier fit say so, and one key makes them anew; undo brings the earlier back', async ({ page, desk }) => {
  const { clipIds } = await takeInPair(desk, pair, 'Ines Falk')
  await page.addInitScript((key) => { (globalThis as unknown as Record<string, Handle>)[key] = {} }, handle)
  await page.reload()
  await page.getByRole('button', { name: 'Open both on the Bench' }).first().click()
  await page.getByRole('tab', { name: 'Arms' }).click()
  await expect(page.getByText('fitted at the top')).toBeVisible()
  await expect(page.getByText(/A centimetre in is/)).toBeVisible()
  for (let i = 0; i < 2; i++) await page.keyboard.press('Shift+ArrowLeft')
  await expect(page.locator('.arms-effect')).toContainText(/Elbow [\d.]+ cm .+: shaft/)
  await page.keyboard.press('p')
  await expect.poll(() => shapes(page)).toBe('arms arms')
  const marks = () => page.evaluate((key) => Object.values((globalThis as unknown as Record<string, Handle>)[key]!.bench!.store.stage.marks).filter(({ figure }) => figure).map(({ id, points, figure }) => ({ id, points, from: figure!.from! })), handle)
  const before = await marks()

  // A point is placed elsewhere while the coach is on the Bench: a notice says what that did to the figure.
  const records = await desk.call('digitising.list', { clipIds: [...clipIds] })
  const top = records.find((one) => one.kind === 'position' && one.name === 'top' && one.clipId === clipIds[1])!
  const elbow = records.find((one) => one.kind === 'landmark' && one.point === 'trailElbow' && one.clipId === clipIds[1] && one.tick === (top as { tick: number }).tick)!
  const moved = { ...elbow, at: [(elbow as { at: readonly [number, number] }).at[0] + 6, (elbow as { at: readonly [number, number] }).at[1] + 5] } as unknown as typeof elbow
  await desk.call('digitising.apply', { diff: { added: {}, updated: { [elbow.id]: [elbow, moved] }, removed: {} } })
  await expect(page.getByText('The arms on the pictures are of an earlier fit.')).toBeVisible()

  await page.getByRole('tab', { name: 'Arms' }).click()
  const stale = page.locator('.arms-stale')
  await expect(stale).toContainText('the figure is of an earlier fit')
  await expect(stale.getByRole('button', { name: 'Renew' })).toBeEnabled()
  await page.keyboard.press('r')
  await expect(stale).toHaveCount(0)
  const after = await marks()
  expect(after.map(({ id }) => id)).toEqual(before.map(({ id }) => id))
  for (const [i, mark] of after.entries()) {
    expect(mark.from.fit).not.toBe(before[i]!.from.fit)
    expect(mark.points).not.toEqual(before[i]!.points)
    // The elbow is wanted where it was wanted.
    expect(mark.from.swivelDeg).toBeCloseTo(before[i]!.from.swivelDeg!, 3)
  }
  await page.getByRole('tab', { name: 'Bench' }).click()
  await page.keyboard.press('Control+z')
  await expect.poll(async () => (await marks()).map(({ points }) => points)).toEqual(before.map(({ points }) => points))
})
