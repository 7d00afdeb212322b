/** Arrivals from an empty library on: a student, files of which one is bad, a pair, a corrected rate, and everything gone again. */
import { mkdtemp, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from '@playwright/test'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'
import { expect, test, type TestDesk } from './support/desk.ts'

let folder: string
let front: string
let line: string
let broken: string

test.beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'arrivals-'))
  front = join(folder, 'evening face-on.mp4')
  line = join(folder, 'evening down the line.mp4')
  broken = join(folder, 'holiday.mp4')
  await makeNumberedClip(front, { width: 360, height: 640, frames: 40, fps: 30, gop: 10, preset: 'ultrafast' })
  await makeNumberedClip(line, { width: 360, height: 640, frames: 45, fps: 30, gop: 10, preset: 'ultrafast', sound: 'beep' })
  await writeFile(broken, 'this is no video at all')
})
test.afterAll(() => rm(folder, { recursive: true, force: true }))

/** Drops files on the middle of the window, as a hand would. */
async function drop(page: Page, paths: readonly string[]): Promise<void> {
  // A page cannot make files from paths: a hidden input of its own holds them, and the drop carries them on.
  await page.evaluate(() => {
    const input = Object.assign(document.createElement('input'), { type: 'file', multiple: true, id: 'hand' })
    input.hidden = true
    document.body.append(input)
  })
  await page.locator('#hand').setInputFiles([...paths])
  await page.evaluate(() => {
    const input = document.querySelector<HTMLInputElement>('#hand')!
    const transfer = new DataTransfer()
    for (const file of input.files!) transfer.items.add(file)
    const target = document.elementFromPoint(innerWidth / 2, innerHeight / 2)!
    for (const type of ['dragenter', 'dragover', 'drop']) target.dispatchEvent(new DragEvent(type, { bubbles: true, cancelable: true, dataTransfer: transfer }))
    input.remove()
  })
}

/** Takes in the two good clips for a student through the desk itself, where the way in is not what is tested. */
async function takeInTwo(desk: TestDesk, pair: 'two-swings' | 'none'): Promise<string> {
  const consent = { student: { given: true, on: '2026-03-02' }, guardian: { given: false, name: '', on: null }, purpose: '', until: null }
  const { id } = await desk.call('student.save', { id: null, name: 'Ines Falk', handedness: 'right', statureM: null, clubs: [], goals: '', ballFlight: '', injuries: '', minor: false, consent })
  await desk.call('takeIn.start', {
    studentId: id, club: '7-iron', handedness: 'right', question: 'Why right?', feel: '', pair,
    items: [{ source: { path: front }, view: 'face-on', captureRate: null }, { source: { path: line }, view: 'down-the-line', captureRate: null }],
  })
  await expect.poll(async () => (await desk.call('job.list', {})).every((job) => job.state === 'done'), { timeout: 30_000 }).toBe(true)
  return id
}

test('an empty library, a new student, three files of which one is bad, a pair, and on to the Bench', async ({ page, desk }) => {
  await expect(page.getByRole('heading', { name: 'Nothing has come in yet' })).toBeVisible()
  await drop(page, [front, line, broken])
  const sheet = page.getByRole('dialog', { name: 'Take in 3 files' })
  await expect(sheet).toBeVisible()
  // What the names tell is filled in, and asked about no more.
  await expect(sheet.getByLabel('View of evening face-on.mp4')).toHaveValue('face-on')
  await expect(sheet.getByLabel('View of evening down the line.mp4')).toHaveValue('down-the-line')
  await sheet.getByLabel("New student's name").fill('Ines Falk')
  await sheet.getByLabel('Left-handed').check()
  await sheet.getByLabel('Club').fill('7-iron')
  await sheet.getByLabel('What the student asks').fill('Why do I lose it to the right?')
  await sheet.getByLabel('What the student feels').fill('Stuck behind me')
  await sheet.getByLabel('Leave them single').check()
  await sheet.getByRole('button', { name: 'Take in' }).click()

  await expect(page.locator('.clip')).toHaveCount(2, { timeout: 30_000 })
  const arrival = page.getByRole('region', { name: 'Ines Falk' })
  await expect(arrival).toContainText('Why do I lose it to the right?')
  await expect(arrival).toContainText('Stuck behind me')
  await expect(arrival).toContainText('Waiting less than an hour')

  // The bad one: one sentence, and nothing left behind.
  const wrong = page.getByRole('region', { name: 'Coming in' })
  await expect(wrong.getByText('1 could not be taken in')).toBeVisible({ timeout: 15_000 })
  const sentence = await wrong.locator('.fault-note > span').innerText()
  expect(sentence).toMatch(/holiday\.mp4/)
  expect(sentence.length).toBeLessThan(220)
  await expect(wrong.getByRole('button', { name: /Try again/ })).toHaveCount(0)
  expect((await desk.call('library.check', { deep: true })).findings).toEqual([])
  await wrong.getByRole('button', { name: 'Clear' }).click()
  await expect(wrong).toHaveCount(0)

  const students = await desk.call('student.list', {})
  expect(students.map(({ name, handedness }) => [name, handedness])).toEqual([['Ines Falk', 'left']])
  const clips = await desk.call('clip.list', {})
  expect(clips.map(({ view, club, handedness, studentId }) => ({ view, club, handedness, studentId })).toSorted((a, b) => a.view.localeCompare(b.view))).toEqual(
    (['down-the-line', 'face-on'] as const).map((view) => ({ view, club: '7-iron', handedness: 'left', studentId: students[0]!.id })))

  // Pair the two by keyboard alone.
  await page.locator('.clip[tabindex="0"]').focus()
  await page.keyboard.press('x')
  await page.keyboard.press('ArrowRight')
  await page.keyboard.press('x')
  await expect(page.getByText('2 clips chosen')).toBeVisible()
  await page.getByLabel('One swing, two cameras').check()
  await page.getByRole('button', { name: 'Pair these two' }).click()
  await expect(page.locator('.pair .clip')).toHaveCount(2)
  const [swing] = await desk.call('swing.list', {})
  const faceOn = clips.find((clip) => clip.view === 'face-on')!
  expect(swing).toMatchObject({ pairing: 'one-swing', leftClipId: faceOn.id })

  await page.getByRole('button', { name: 'Open both on the Bench' }).first().click()
  await expect(page.getByRole('tab', { name: 'Bench' })).toHaveAttribute('aria-selected', 'true')
  await expect(page.locator('#panel-bench')).toBeVisible()

  // What is dropped on another room is taken in as well, and the same file is known again.
  await drop(page, [front])
  await page.getByRole('dialog', { name: 'Take in 1 file' }).getByRole('button', { name: 'Take in' }).click()
  await expect(page.getByRole('tab', { name: 'Arrivals' })).toHaveAttribute('aria-selected', 'true')
  await expect(page.getByRole('region', { name: 'Coming in' }).getByText('1 known already')).toBeVisible({ timeout: 15_000 })
  await expect(page.locator('.clip')).toHaveCount(2)
})

test('a capture rate that the file got wrong is corrected, and unpairing leaves two single clips', async ({ page, desk }) => {
  await takeInTwo(desk, 'two-swings')
  await expect(page.locator('.pair .clip')).toHaveCount(2)
  const card = page.locator('.clip', { hasText: 'evening face-on.mp4' })
  await expect(card).toContainText('30 a second')
  await card.click()
  const rate = page.getByLabel('Filmed at, frames/s')
  await rate.fill('none')
  await expect(page.getByText('Write frames a second, such as 240.')).toBeVisible()
  await rate.fill('240')
  await rate.press('Enter')
  await expect(card).toContainText('filmed at 240, plays at 30')
  await expect(page.getByText('set by you')).toBeVisible()
  const clip = (await desk.call('clip.list', {})).find(({ fileName }) => fileName === 'evening face-on.mp4')!
  expect(clip).toMatchObject({ captureRate: 240, captureRateBasis: 'coach', playRate: 30 })

  await page.getByRole('button', { name: 'Unpair' }).click()
  await expect(page.locator('.alone .clip')).toHaveCount(2)
  await page.getByLabel('Club').fill('driver')
  await page.getByLabel('Club').press('Enter')
  await page.getByLabel('View').selectOption('other')
  await expect(card).toContainText('Other view, driver')
  // Hovering runs through the filmstrip.
  await card.locator('.clip-well').hover({ position: { x: 60, y: 100 } })
  await expect(card.locator('.clip-strip')).toBeVisible()
})

test('a student goes with all that is theirs, after the list of it was read', async ({ page, desk }) => {
  await takeInTwo(desk, 'none')
  await page.locator('.student', { hasText: 'Ines Falk' }).click()
  await page.getByRole('button', { name: 'Delete student' }).click()
  const confirm = page.getByRole('dialog', { name: 'Delete Ines Falk' })
  await expect(confirm).toContainText('2 clips')
  await expect(confirm).toContainText('evening face-on.mp4')
  // The safe way out has the focus.
  await expect(confirm.getByRole('button', { name: 'Keep' })).toBeFocused()
  await page.keyboard.press('Escape')
  await expect(confirm).toHaveCount(0)
  expect(await desk.call('clip.list', {})).toHaveLength(2)

  await page.getByRole('button', { name: 'Delete student' }).click()
  await confirm.getByRole('button', { name: 'Delete everything' }).click()
  await expect(page.getByText('Ines Falk is gone, with 2 clips.')).toBeVisible()
  expect(await desk.call('student.list', {})).toEqual([])
  expect(await desk.call('clip.list', {})).toEqual([])
  expect((await desk.call('library.check', { deep: true })).findings).toEqual([])
  await expect(page.getByRole('heading', { name: 'Nothing has come in yet' })).toBeVisible()
})

test('a minor without consent is marked in words until both have agreed', async ({ page, desk }) => {
  await page.keyboard.press('n')
  const sheet = page.getByRole('dialog', { name: 'New student' })
  await sheet.getByLabel('Name', { exact: true }).fill('Lio Marten')
  await sheet.getByLabel('A minor').check()
  await sheet.getByLabel('Stature in cm').fill('152')
  await sheet.getByRole('button', { name: 'Add a club' }).click()
  await sheet.getByLabel('Club 1', { exact: true }).fill('7-iron')
  await sheet.getByLabel('Length of club 1 in cm').fill('90')
  await sheet.getByRole('button', { name: 'Add student' }).click()
  await expect(page.locator('.student', { hasText: 'Lio Marten' })).toContainText('Consent missing')
  await expect(page.getByText("the child's own consent is not recorded")).toBeVisible()

  await page.keyboard.press('e')
  const record = page.getByRole('dialog', { name: 'Record of Lio Marten' })
  await record.getByLabel('The child agrees', { exact: true }).check()
  await record.getByLabel('A parent or guardian agrees', { exact: true }).check()
  await record.getByLabel("Parent's or guardian's name").fill('Rena Marten')
  await record.getByRole('button', { name: 'Save record' }).click()
  await expect(page.locator('.student', { hasText: 'Lio Marten' })).not.toContainText('Consent missing')
  const [student] = await desk.call('student.list', {})
  expect(student).toMatchObject({ minor: true, statureM: 1.52, clubs: [{ kind: '7-iron', lengthM: 0.9 }], consent: { guardian: { given: true, name: 'Rena Marten' } } })
})
