/** Arrivals with thousands of clips: only what is in sight is in the document, and keys, focus and place hold. */
import { makeLargeLibrary } from '../fixtures/largeLibrary.ts'
import { expect, test } from './support/desk.ts'

test('only the groups in sight are in the document; arrows walk on, what has the focus stays, and the place is kept while another room shows', async ({ page, desk }) => {
  await desk.kill()
  makeLargeLibrary(desk.library, 2000)
  await desk.restart()
  const groups = page.locator('.arrival')
  const table = page.locator('.table-body')
  await expect(page.locator('.arrival .clip').first()).toBeVisible()
  expect(await groups.count()).toBeLessThan(16)

  // From clip to clip through fifteen groups: each key goes one on, and none is lost on the way.
  await page.locator('.clip[tabindex="0"]').focus()
  const walked: string[] = []
  for (let i = 0; i < 60; i++) {
    walked.push(await page.evaluate(() => (document.activeElement as HTMLElement).dataset.clip ?? ''))
    await page.keyboard.press('ArrowRight')
    await expect.poll(() => page.evaluate(() => (document.activeElement as HTMLElement).dataset.clip ?? '')).not.toBe(walked.at(-1))
  }
  const { items } = await desk.call('arrival.page', { studentId: null, text: '', show: 'all', offset: 0, limit: 15 })
  expect(walked.toSorted()).toEqual(items.flatMap(({ clips }) => clips.map(({ id }) => id)).toSorted())
  expect(await groups.count()).toBeLessThan(16)

  // Scrolled far away the clip keeps the focus, and its key goes on from there.
  const focused = () => page.evaluate(() => (document.activeElement as HTMLElement | null)?.dataset.clip)
  const before = await focused()
  const last = (await desk.call('arrival.page', { studentId: null, text: '', show: 'all', offset: 499, limit: 1 })).items[0]!
  // Groups are measured as they come, so that the end may move on a little.
  await expect(async () => {
    await table.evaluate((box) => { box.scrollTop = box.scrollHeight })
    await expect(page.locator(`[data-clip="${last.clips[0]!.id}"]`)).toBeInViewport({ timeout: 500 })
  }).toPass()
  expect(await focused()).toBe(before)
  await page.keyboard.press('ArrowLeft')
  await expect(page.locator(`[data-clip="${walked.at(-1)}"]`)).toBeInViewport()

  // Another room and back: the same place.
  await table.evaluate((box) => { box.scrollTop = 40_000 })
  await expect(page.locator('.arrival-coming')).toHaveCount(0)
  await page.waitForTimeout(300)
  const inSight = () => page.evaluate(() => {
    const box = document.querySelector('.table-body')!.getBoundingClientRect()
    return [...document.querySelectorAll('.arrival')].filter((group) => { const { top, bottom } = group.getBoundingClientRect(); return bottom > box.top && top < box.bottom }).map((group) => group.querySelector('[data-clip]')?.getAttribute('data-clip'))
  })
  const seen = await inSight()
  expect(seen.length).toBeGreaterThan(1)
  await page.getByRole('tab', { name: 'Shelf' }).click()
  await expect(page.locator('.place').first()).toBeVisible()
  await page.getByRole('tab', { name: 'Arrivals' }).click()
  await expect.poll(inSight).toEqual(seen)

  // Another search begins at its top, and a student's name found is the first there.
  await page.getByLabel('Find in what came in').fill('amara')
  await expect(page.locator('.arrival h3').first()).toContainText('Amara')
  expect(await table.evaluate((box) => box.scrollTop)).toBe(0)
})
