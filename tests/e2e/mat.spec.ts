/** A mat's rectangle on the Bench: placed by pointer and keys, sized, moved, undone, and what it gives. */
import type { Page } from '@playwright/test'
import type { Bench } from '../../renderer/bench/bench.ts'
import { matId, type MatRecord } from '../../shared/contract/digitising.ts'
import { expect, test } from './support/desk.ts'
import { filmPair, takeInPair, type DemoPair } from './support/demoPair.ts'

declare global {
  var crossbearingTest: { bench?: Bench; renders?: number }
}

let pair: DemoPair
test.beforeAll(async () => { pair = await filmPair('rowan') })
test.afterAll(() => pair.remove())

/** The corners of a mat of 120 by 90 cm, as the truth sees them. */
function corners(): (readonly [number, number])[] {
  const { matrix } = pair.truths[0]
  return ([[-0.6, 0.2], [0.6, 0.2], [0.6, 1.1], [-0.6, 1.1]] as const).map(([x, z]) => {
    const [a, b, c] = matrix.map((row) => row[0]! * x + row[2]! * z + row[3]!) as [number, number, number]
    return [a / c, b / c] as const
  })
}

const client = (page: Page, at: readonly [number, number]) => page.evaluate(([x, y]) => {
  const { toHost } = crossbearingTest.bench!.view!.place(0)!
  const host = document.querySelector('.stage-host')!.getBoundingClientRect()
  return { x: host.x + toHost.a * x! + toHost.e, y: host.y + toHost.d * y! + toHost.f }
}, at)

test('a mat is placed by four corners and its sides, kept, moved, undone and taken away; it makes the camera surer, and says so', async ({ page, desk }) => {
  const { clipIds } = await takeInPair(desk, pair, 'Ines Falk')
  await page.addInitScript(() => { globalThis.crossbearingTest = {} })
  await page.reload()
  await page.getByRole('tab', { name: 'Arrivals' }).click()
  await page.getByRole('button', { name: /Open both on the Bench|Bench/ }).first().click()
  await expect.poll(() => page.evaluate(() => crossbearingTest.bench?.view?.shown().every((frame) => frame !== null) ?? false)).toBe(true)
  const kept = async (): Promise<MatRecord | undefined> => {
    const record = (await desk.call('digitising.list', { clipIds: [clipIds[0]] })).find(({ id }) => id === matId(clipIds[0]))
    return record?.kind === 'mat' ? record : undefined
  }
  await page.locator('.evidence-part > summary', { hasText: 'Scale, level, time' }).click()
  const row = page.locator('.guides li', { hasText: /^Mat/ })
  await row.getByRole('button', { name: 'Place' }).click()
  const prompt = page.locator('.prompt-words')
  await expect(prompt).toContainText('first corner')
  const [a, b, c, d] = corners() as [readonly [number, number], readonly [number, number], readonly [number, number], readonly [number, number]]
  const press = async (at: readonly [number, number]): Promise<void> => {
    const { x, y } = await client(page, at)
    await page.mouse.click(x, y)
  }
  await press(a)
  await press(d)
  await expect(prompt).toContainText('corner 3 of 4')
  // Esc takes back one corner at a time; Enter places under the pointer.
  await page.keyboard.press('Escape')
  await expect(prompt).toContainText('corner 2 of 4')
  await press(b)
  await expect(prompt).toContainText('corner 3 of 4')
  const { x, y } = await client(page, c)
  await page.mouse.move(x, y)
  await page.keyboard.press('Enter')
  await expect(prompt).toContainText('corner 4 of 4')
  await press(d)
  await expect(prompt).toContainText('now its size')
  const first = page.getByLabel('From the first corner to the second, in centimetres')
  const second = page.getByLabel('From the second corner to the third, in centimetres')
  await first.fill('0')
  await first.press('Enter')
  await expect(page.locator('.prompt-refusal')).toContainText('A side of the mat is more than 0')
  await first.fill('120')
  await first.press('Enter')
  await second.fill('90')
  await second.press('Enter')
  await expect.poll(kept).toMatchObject({ lengthM: 1.2, widthM: 0.9, by: 'coach' })
  const gives = page.locator('.mat-gives')
  await expect(gives).toHaveText(/^With it the camera is \d\.\d\d \u00b1 0\.\d\d m away, \d\.\d\d \u00b1 0\.\d\d m high$/)
  const { camera } = pair.truths[0]
  const [, metres, sigma] = /is (\d\.\d\d) \u00b1 (0\.\d\d)/.exec(await gives.innerText())!
  const away = Math.hypot(camera.distanceM, camera.offsetFromHandLineM ?? 0)
  expect(Math.abs(Number(metres) - away)).toBeLessThan(3 * Number(sigma) + 0.01)

  // The corner placed last is chosen: the arrows move it by a pixel, as one step of undo.
  const before = (await kept())!.corners[3]
  await page.keyboard.press('Alt+ArrowRight')
  await expect.poll(async () => (await kept())!.corners[3][0]).toBeCloseTo(before[0] + 1, 2)
  await page.keyboard.press('Control+z')
  await expect.poll(async () => (await kept())!.corners[3][0]).toBeCloseTo(before[0], 2)
  // By the pointer too.
  const corner = await client(page, before)
  await page.mouse.move(corner.x, corner.y)
  await page.mouse.down()
  await page.mouse.move(corner.x + 12, corner.y, { steps: 3 })
  await page.mouse.up()
  await expect.poll(async () => (await kept())!.corners[3][0]).toBeGreaterThan(before[0] + 2)
  await page.keyboard.press('Control+z')
  await expect.poll(async () => (await kept())!.corners[3][0]).toBeCloseTo(before[0], 2)

  // Sides that cannot be are named, and the mat is left out.
  await first.fill('190')
  await first.press('Enter')
  await expect(page.locator('.guides .evidence-warning')).toContainText(/contradicts the rest: by the other marks of the face-on view its sides are 1\d\d \u00b1 \d+ and/)
  await expect(gives).toContainText('Without it')
  await page.keyboard.press('Control+z')
  await expect(gives).toContainText('With it')
  await row.getByRole('button', { name: 'Take the mat away' }).click()
  await expect.poll(kept).toBe(undefined)
  await page.keyboard.press('Control+z')
  await expect.poll(kept).toMatchObject({ lengthM: 1.2, widthM: 0.9 })
  await page.screenshot({ path: 'test-results/mat.png' })
})
