/**
 * A lesson recorded, its middle taken again, a pause cut, all of it undone and done again, in a real Chromium with a sound file for
 * a microphone; what is on disk and what is heard are looked at, and what the picture shows.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from '@playwright/test'
import { lengthOfAll } from '../../shared/walkthrough/edits.ts'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'
import { seriousFindings } from './support/axe.ts'
import { expect, test, type TestDesk } from './support/desk.ts'
import { hears, writeVoice } from './support/microphone.ts'

const folder = mkdtempSync(join(tmpdir(), 'crossbearing-editing-'))
const voice = join(folder, 'voice.wav')
const rate = 48_000

// Words of a second with half a second between them, over a little noise.
writeVoice(voice, 40, (time) => (time % 1.5 < 1 ? 0.3 * Math.sin(2 * Math.PI * 180 * time) : 0) + 0.002 * Math.sin(81_600 * time))
test.use(hears(voice))
const clip = join(folder, 'noor face-on.mp4')
test.beforeAll(() => makeNumberedClip(clip, { width: 360, height: 640, frames: 120, fps: 60, gop: 30, texture: true, preset: 'ultrafast' }))
test.afterAll(() => rmSync(folder, { recursive: true, force: true }))

async function record(page: Page, ms: number, meanwhile: () => Promise<void> = async () => undefined): Promise<void> {
  await page.keyboard.press('Control+Enter')
  await expect(page.locator(".recorder[data-state='recording']")).toBeVisible()
  await page.waitForTimeout(ms / 2)
  await meanwhile()
  await page.waitForTimeout(ms / 2)
  await page.keyboard.press('Control+Enter')
  await expect(page.locator('.waves canvas').first()).toBeVisible({ timeout: 15_000 })
}

const lessonOf = async (desk: TestDesk) => desk.call('lesson.get', { id: (await desk.call('walkthrough.list', {})).find((each) => !each.takeOf)!.id })
const seconds = async (desk: TestDesk): Promise<number> => lengthOfAll((await lessonOf(desk)).edits.pieces) / rate
/** Goes to a place by the slider, as the keyboard does. */
async function goTo(page: Page, second: number): Promise<void> {
  await page.keyboard.press('Home')
  for (let i = 0; i < second * 10; i++) await page.keyboard.press('Shift+ArrowRight')
  await expect.poll(() => page.locator('.lesson-time strong').textContent()).toBe(`0:0${Math.floor(second)}`)
}

test('a lesson is recorded, its middle taken again, a pause cut, and every step goes back and forth', async ({ page, desk }) => {
  test.setTimeout(240_000)
  const complaints: string[] = []
  page.on('console', (message) => (message.type() === 'error' || message.type() === 'warning') && complaints.push(message.text()))
  await desk.call('settings.set', { countInSeconds: 0 })
  const consent = { student: { given: true, on: '2026-03-02' }, guardian: { given: false, name: '', on: null }, purpose: '', until: null }
  const { id: studentId } = await desk.call('student.save', { id: null, name: 'Noor', handedness: 'right', statureM: null, clubs: [], goals: '', ballFlight: '', injuries: '', minor: false, consent })
  await desk.call('takeIn.start', { studentId, club: '7-iron', handedness: 'right', question: '', feel: '', pair: 'none', items: [{ source: { path: clip }, view: 'face-on', captureRate: null }] })
  await expect.poll(async () => (await desk.call('job.list', {})).every((job) => job.state === 'done'), { timeout: 30_000 }).toBe(true)
  await page.reload()
  await page.getByRole('tab', { name: 'Arrivals' }).click()
  await page.getByRole('button', { name: /Bench/ }).first().click()
  await expect(page.locator('.stage-host canvas').first()).toBeVisible()

  await record(page, 3600, async () => {
    for (let i = 0; i < 10; i++) await page.keyboard.press('ArrowRight')
  })
  const whole = await seconds(desk)
  expect(whole).toBeGreaterThan(3)

  // The middle again: selected by keys, recorded on the Bench with the stage as it stood there.
  await goTo(page, 1)
  await page.keyboard.press('[')
  await goTo(page, 2)
  await page.keyboard.press(']')
  await expect(page.getByText(/1\.0 s selected/)).toBeVisible()
  await page.keyboard.press('r')
  await expect(page.getByText(/again, from 0:01 to 0:02/)).toBeVisible()
  await expect(page.locator('.stage-host canvas').first()).toBeVisible()
  await record(page, 1500)
  await expect.poll(async () => (await lessonOf(desk)).steps.map(({ name }) => name)).toEqual(['Take 0:01 again'])
  const retaken = await lessonOf(desk)
  expect(retaken.edits.pieces.map((piece) => piece.kind === 'take' && piece.takeId)).toEqual([retaken.id, retaken.takes[1]!.id, retaken.id])
  const after = await seconds(desk)
  expect(Math.abs(after - (whole - 1 + retaken.takes[1]!.durationMs / 1000))).toBeLessThan(0.01)

  // A pause put in, cut out again, and a title before it all.
  await goTo(page, 1)
  await page.keyboard.press('p')
  await expect.poll(() => seconds(desk)).toBeCloseTo(after + 2, 3)
  await goTo(page, 1)
  await page.keyboard.press('[')
  await goTo(page, 3)
  await page.keyboard.press(']')
  await page.keyboard.press('Delete')
  await expect.poll(() => seconds(desk)).toBeCloseTo(after, 1)
  await page.keyboard.press('a')
  await page.getByRole('button', { name: 'Add a title card' }).click()
  await expect(page.locator('.edited-card')).toBeVisible()
  await expect.poll(() => seconds(desk)).toBeCloseTo(after + 3, 1)
  // Nothing that the waveform writes into the page is stopped there, and nothing else has complained.
  expect(complaints).toEqual([])
  await expect(page.locator('.canvases').first()).toHaveCSS('min-height', '72px')

  // Back to the beginning and forth again; both outlive the program.
  for (let i = 0; i < 4; i++) await page.keyboard.press('Control+z')
  await expect.poll(async () => (await lessonOf(desk)).step).toBe(0)
  expect(await seconds(desk)).toBeCloseTo(whole, 4)
  await expect(page.locator('.edited-card')).toBeHidden()
  await page.keyboard.press('Control+Shift+z')
  await expect.poll(async () => (await lessonOf(desk)).step).toBe(1)
  await desk.kill()
  await desk.restart()
  expect((await lessonOf(desk)).edits).toEqual(retaken.edits)
  expect((await lessonOf(desk)).steps).toHaveLength(4)

  // What is heard is as long as what is edited, and it plays over both joins.
  await page.getByRole('tab', { name: 'Lesson' }).click()
  await expect(page.locator('.waves canvas').first()).toBeVisible()
  const { id, version } = await lessonOf(desk)
  const bytes = await (await page.request.get(new URL(`/media/lesson/${id}/${version}.wav`, desk.url).href)).body()
  expect((bytes.length - 44) / 2 / rate).toBeCloseTo(after, 3)
  for (const tray of ['Silences', 'Takes', 'Chapters', 'Cards', 'Marks', 'Sound', 'Steps']) {
    await page.getByRole('button', { name: tray, exact: true }).click()
    await expect(page.getByRole('complementary', { name: tray })).toBeVisible()
    expect(await seriousFindings(page), tray).toEqual([])
  }
  await page.keyboard.press('y')
  await page.keyboard.press('Home')
  await page.locator('.lesson-stage h2').click()
  await page.keyboard.press('Space')
  await expect.poll(() => page.locator('.lesson-time strong').textContent(), { timeout: 10_000 }).toBe('0:03')
  await page.keyboard.press('Space')
  expect((await desk.call('walkthrough.list', {})).filter(({ takeOf }) => takeOf === null)).toHaveLength(1)
})
