/** The Shelf by keyboard and by hand: found, gathered, undone, set side by side, kept out of a hand-off, sent as a file and brought in. */
import { existsSync } from 'node:fs'
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from '@playwright/test'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'
import { headerOf } from '../fixtures/desk.ts'
import { expect, test, type TestDesk } from './support/desk.ts'

let folder: string
const files = ['one', 'two', 'three', 'four'] as const
test.beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'shelf-'))
  for (const [i, name] of files.entries()) await makeNumberedClip(join(folder, `${name}.mp4`), { width: 180, height: 320, frames: 20 + i, fps: 30, gop: 10, preset: 'ultrafast' })
})
test.afterAll(() => rm(folder, { recursive: true, force: true }))

/** Ines with a pair and a single clip, a model player with one. */
async function fill(desk: TestDesk): Promise<void> {
  const consent = { student: { given: true, on: '2026-03-02' }, guardian: { given: false, name: '', on: null }, purpose: '', until: null }
  const student = async (name: string): Promise<string> =>
    (await desk.call('student.save', { id: null, name, handedness: 'right', statureM: null, clubs: [], goals: '', ballFlight: '', injuries: '', minor: false, consent })).id
  const take = async (studentId: string, club: string, names: readonly string[], question = ''): Promise<void> => {
    await desk.call('takeIn.start', {
      studentId, club, handedness: 'right', question, feel: '', pair: names.length === 2 ? 'one-swing' : 'none',
      items: names.map((name, i) => ({ source: { path: join(folder, `${name}.mp4`) }, view: i === 0 ? 'face-on' : 'down-the-line', captureRate: null })),
    })
    await expect.poll(async () => (await desk.call('job.list', {})).every((job) => job.state === 'done'), { timeout: 20_000 }).toBe(true)
  }
  const ines = await student('Ines Falk')
  await take(ines, '7-iron', ['one', 'two'], 'Why does it slice?')
  await take(ines, 'driver', ['three'])
  await take(await student('Model Player'), '7-iron', ['four'])
}

const place = (page: Page, text: string) => page.locator('.place', { hasText: text })
const found = (page: Page) => page.locator('.shelf-found')

test('an empty Shelf says what to do; then finding, notes, tags, a collection and undo, by keyboard alone', async ({ page, desk }) => {
  await page.keyboard.press('Shift+Digit4')
  await expect(page.getByRole('heading', { name: 'Nothing on the Shelf yet' })).toBeVisible()
  await fill(desk)
  await expect(found(page)).toHaveText('3 swings')
  await expect(page.getByRole('option', { name: /Ines Falk, 7-iron.*both views/ })).toBeVisible()

  await page.keyboard.press('/')
  await page.keyboard.type('club:7-iron ')
  await expect(page.getByRole('button', { name: 'Take the filter away: club: 7-iron' })).toBeVisible()
  await page.keyboard.type('slcie')
  await expect(found(page)).toContainText('1 swing')
  await expect(found(page)).toContainText('Nothing holds “slcie”, so this is for slice')
  await page.keyboard.press('Escape')
  await page.keyboard.type('-slice ')
  await expect(page.getByRole('button', { name: 'Take the filter away: not slice' })).toBeVisible()
  await expect(page.locator('.place')).toHaveCount(1)

  // The keyboard goes on into the list; what it is at plays.
  await page.keyboard.press('ArrowDown')
  await expect(place(page, 'Model Player').locator('.still-strip')).toBeVisible()
  await page.keyboard.press('r')
  await expect(place(page, 'Model Player')).toContainText('Reference')
  await expect(place(page, 'Model Player')).toContainText('Lessons only')
  await page.keyboard.press('f')
  await expect(place(page, 'Model Player')).toContainText('Favourite')
  await page.keyboard.press('t')
  await page.keyboard.type('slow hands, before')
  await page.keyboard.press('Enter')
  await expect(page.getByRole('button', { name: 'Take the tag slow hands away' })).toBeVisible()
  await page.locator('.places').focus()
  await page.keyboard.press('c')
  await page.getByRole('button', { name: 'New collection' }).click()
  await page.getByRole('textbox', { name: 'Name' }).fill('Good tops')
  await page.keyboard.press('Enter')
  await expect(page.locator('.way', { hasText: 'Good tops' })).toContainText('1')
  await expect(page.locator('.undo-line')).toContainText('Put into Good tops: 1 swing')

  // Each step back undoes one, down to a swing of which nothing is said.
  await page.locator('.places').focus()
  for (let i = 0; i < 4; i++) {
    await page.keyboard.press('Control+z')
    await page.waitForTimeout(150)
  }
  await expect.poll(async () => (await desk.call('shelf.search', { text: 'model', order: 'newest', offset: 0, limit: 1 })).items[0])
    .toMatchObject({ favourite: false, reference: false, permission: 'not-said', tags: [], collections: [] })
  await page.getByRole('button', { name: 'More on Good tops' }).click()
  await page.getByRole('menuitem', { name: 'Delete; its swings stay' }).click()
  await expect(page.locator('.way', { hasText: 'Good tops' })).toHaveCount(0)
  await page.getByRole('button', { name: 'Undo' }).click()
  await expect(page.locator('.way', { hasText: 'Good tops' })).toBeVisible()
})

test('two swings go side by side to the Bench; one for lessons only keeps a lesson from being sent, and says why', async ({ page, desk }) => {
  await fill(desk)
  await page.keyboard.press('Shift+Digit4')
  await place(page, 'Model Player').click()
  await page.getByLabel('Reference').check()
  await expect(page.getByLabel('What it may be used for')).toHaveValue('lessons-only')
  await place(page, '2026, both views').click({ modifiers: ['Control'] })
  await expect(page.locator('.details-pair figure').first()).toContainText('Looked at')
  await expect(page.locator('.details-pair figure').first()).toContainText('Ines Falk')
  await expect(page.locator('.details-pair figure').nth(1)).toContainText('Model Player')
  await page.keyboard.press('b')
  await expect(page.locator('#panel-bench')).toBeVisible()
  await expect(page.locator('#panel-bench')).toContainText('Ines Falk')

  const { items } = await desk.call('shelf.search', { text: 'is:reference', order: 'newest', offset: 0, limit: 1 })
  const clip = await desk.call('clip.get', { id: items[0]!.clips[0]!.id })
  const header = headerOf([clip])
  const whole = { ...header, clips: { [clip.id]: { ...header.clips[clip.id]!, frames: clip.frames, width: clip.width, height: clip.height } }, initial: { ...header.initial, panes: [{ ...header.initial.panes[0], tick: clip.frames.ticks[0]! }, header.initial.panes[1]] as typeof header.initial.panes } }
  const talk = await desk.call('walkthrough.begin', { swingId: null, studentId: null, title: 'Beside a model', sampleRate: 48_000, header: whole })
  await desk.call('walkthrough.append', { id: talk.id, at: 0, sound: new Uint8Array(96_000), rows: [] })
  await desk.call('walkthrough.finish', { id: talk.id })
  await page.getByRole('tab', { name: 'Lesson' }).click()
  await page.getByText('Beside a model').first().click()
  const why = page.getByRole('alert').filter({ hasText: 'Model Player, 7-iron is marked on the Shelf as for your lessons only' })
  await expect(why).toBeVisible()
  await expect(page.getByRole('button', { name: 'Make the video' })).toBeDisabled()
  await why.getByRole('button', { name: 'Go to the Shelf' }).click()
  await place(page, 'Model Player').click()
  await page.getByLabel('What it may be used for').selectOption('may-be-sent')
  await page.getByRole('tab', { name: 'Lesson' }).click()
  await expect(why).toHaveCount(0)
  await expect(page.getByRole('button', { name: 'Make the video' })).toBeEnabled()
})

test('a swing is written to a file and brought in again as the one that is there', async ({ page, desk }) => {
  await fill(desk)
  await page.keyboard.press('Shift+Digit4')
  await page.getByLabel('Find on the Shelf').fill('driver')
  await expect(page.locator('.place')).toHaveCount(1)
  await page.keyboard.press('ArrowDown')
  await page.keyboard.press('w')
  const sheet = page.getByRole('dialog', { name: 'Write the swing to a file' })
  const path = join(folder, 'Driver.crossbearing-swing.zip')
  await sheet.getByRole('textbox', { name: 'File to write' }).fill(path)
  await sheet.getByRole('button', { name: 'Write it' }).click()
  await expect.poll(() => existsSync(path), { timeout: 15_000 }).toBe(true)
  await page.getByTestId('pick-bundles').setInputFiles(path)
  await expect.poll(async () => (await desk.call('job.list', {})).at(-1), { timeout: 15_000 }).toMatchObject({ kind: 'unbundle', state: 'done', step: 'Already in the library' })
  expect(await desk.call('clip.list', {})).toHaveLength(4)
  await page.getByTestId('pick-bundles').setInputFiles(join(folder, 'one.mp4'))
  await expect.poll(async () => (await desk.call('job.list', {})).at(-1)?.fault?.message, { timeout: 15_000 }).toBe('one.mp4 is no swing bundle: it is not a zip archive, or it is cut off.')
})
