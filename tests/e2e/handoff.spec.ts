/** A lesson gets captions and is handed over under a size, promised for a day, in a real Chromium; the queue is paused and taken up again. */
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { readFile, stat } from 'node:fs/promises'
import { emptyPane, emptyStage } from '../../shared/walkthrough/stage.ts'
import { talk } from '../fixtures/lesson.ts'
import { toInt16 } from '../../electron/media/wav.ts'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'
import { seriousFindings } from './support/axe.ts'
import { expect, test } from './support/desk.ts'

const folder = mkdtempSync(join(tmpdir(), 'crossbearing-handoff-'))
const clip = join(folder, 'noor face-on.mp4')
test.beforeAll(() => makeNumberedClip(clip, { width: 360, height: 640, frames: 240, fps: 60, gop: 30, texture: true, preset: 'ultrafast' }))
test.afterAll(() => rmSync(folder, { recursive: true, force: true }))

test('captions, a size, a promised day: what the dialog says is what the file is', async ({ page, desk }, info) => {
  test.setTimeout(180_000)
  await desk.call('takeIn.start', { studentId: null, club: '', handedness: 'right', question: '', feel: '', pair: 'none', items: [{ source: { path: clip }, view: 'face-on', captureRate: null }] })
  await expect.poll(async () => (await desk.call('job.list', {})).every((job) => job.state === 'done'), { timeout: 30_000 }).toBe(true)
  const clipId = (await desk.call('clip.list', {}))[0]!.id
  const stageClip = await desk.call('clip.get', { id: clipId })
  const header = {
    format: 'crossbearing-walkthrough' as const, version: 1 as const, clips: { [clipId]: stageClip },
    initial: { ...emptyStage, layout: 'single' as const, panes: [{ ...emptyPane, clipId }, emptyPane] as const },
  }
  const walkthrough = await desk.call('walkthrough.begin', { swingId: null, studentId: null, title: 'First look', sampleRate: 48_000, header })
  const rows = [[0, { type: 'play', motion: { rate: 0.5, moving: 0, loop: null } }], [3000, { type: 'chapter', title: 'The top' }]] as const
  await desk.call('walkthrough.append', { id: walkthrough.id, at: 0, sound: new Uint8Array(toInt16([talk(8)])), rows: [...rows] as never })
  await desk.call('walkthrough.finish', { id: walkthrough.id })
  await page.reload()
  await page.getByRole('tab', { name: 'Lesson' }).click()

  // Captions: one typed at the player, then a file that is wrong, then one that is right.
  await page.getByRole('button', { name: 'Captions', exact: true }).click()
  const captions = page.getByRole('dialog', { name: 'Captions' })
  await expect(captions.getByText(/No captions yet/)).toBeVisible()
  await captions.getByRole('button', { name: /Add one at/ }).click()
  await captions.getByLabel('Caption 1', { exact: true }).fill('Look at the trail elbow.')
  await captions.getByLabel('Caption 1 to').fill('0:99')
  await captions.getByRole('button', { name: 'Save captions' }).click()
  await expect(captions.getByRole('alert')).toContainText('"0:99" is no time')
  await captions.getByLabel('WebVTT file').setInputFiles({ name: 'bad.vtt', mimeType: 'text/vtt', buffer: Buffer.from('WEBVTT\n\n00:05.000 --> 00:02.000\nx') })
  await expect(captions.getByRole('alert')).toContainText('bad.vtt, line 3')
  await captions.getByLabel('WebVTT file').setInputFiles({ name: 'good.vtt', mimeType: 'text/vtt', buffer: Buffer.from('WEBVTT\n\n00:01.000 --> 00:02.000\nOne\n\n00:03.000 --> 00:05.000\nTwo') })
  await expect(captions.getByLabel('Caption 2', { exact: true })).toHaveValue('Two')
  expect(await seriousFindings(page)).toEqual([])
  await page.screenshot({ path: info.outputPath('captions.png') })
  await captions.getByRole('button', { name: 'Save captions' }).click()
  await expect(captions).toBeHidden()

  // Paused, so that what waits can be looked at.
  await page.locator('.jobs-button').click()
  await page.getByRole('button', { name: 'Pause videos' }).click()
  await expect(page.getByRole('button', { name: 'Go on with videos' })).toBeVisible()
  await page.keyboard.press('Escape')
  for (const [title, day] of [['Later', '2030-06-09'], ['Sooner', '2030-06-02']] as const) {
    await page.getByRole('button', { name: 'Make the video' }).click()
    const dialog = page.getByRole('dialog', { name: 'Make the video' })
    await dialog.getByLabel('Title').fill(title)
    await dialog.getByText('720p, smaller file').click()
    await dialog.getByLabel('At most, MB').fill('1')
    await dialog.getByLabel('Promised for').fill(day)
    await expect(dialog.getByLabel(/Put in the 2 captions/)).toBeChecked()
    if (day === '2030-06-09') {
      expect(await seriousFindings(page)).toEqual([])
      await page.screenshot({ path: info.outputPath('dialog.png') })
    }
    await dialog.getByRole('button', { name: 'Make it' }).click()
    await expect(dialog).toBeHidden()
  }
  expect((await desk.call('job.list', {})).filter(({ state }) => state === 'waiting').map(({ title }) => title)).toEqual(['Sooner', 'Later'])
  await page.locator('.jobs-button').click()
  await page.getByRole('button', { name: 'Later: earlier' }).click()
  await expect.poll(async () => (await desk.call('job.list', {})).filter(({ state }) => state === 'waiting').map(({ title }) => title)).toEqual(['Later', 'Sooner'])
  await page.screenshot({ path: info.outputPath('queue.png') })
  // Promised for an earlier day, in its own row: it comes first.
  await page.keyboard.press('Escape')
  const row = (title: string) => page.locator('.handoff-row').filter({ hasText: title })
  await row('Sooner').getByLabel('Promised for').fill('2030-06-01')
  await expect.poll(async () => (await desk.call('job.list', {})).filter(({ state }) => state === 'waiting').map(({ title, promisedOn }) => `${title} ${promisedOn}`)).toEqual(['Sooner 2030-06-01', 'Later 2030-06-09'])
  expect(await seriousFindings(page)).toEqual([])
  await page.screenshot({ path: info.outputPath('promised.png') })
  await page.locator('.jobs-button').click()
  await page.getByRole('button', { name: 'Go on with videos' }).click()
  await page.keyboard.press('Escape')
  await expect.poll(async () => (await desk.call('handoff.list', {})).every(({ path }) => path !== null), { timeout: 120_000 }).toBe(true)
  await expect(page.getByRole('button', { name: 'Watch' })).toHaveCount(2)
  await page.screenshot({ path: info.outputPath('done.png') })
  for (const { path } of await desk.call('handoff.list', {})) {
    expect((await stat(path!)).size).toBeLessThanOrEqual(1_000_000)
    const bytes = await readFile(path!)
    expect([bytes.includes('chpl'), bytes.includes('The top'), bytes.includes('Two')]).toEqual([true, true, true])
  }
  const saved = page.waitForEvent('download')
  await page.getByRole('button', { name: 'Save captions' }).first().click()
  const text = join(folder, 'saved.vtt')
  writeFileSync(text, '')
  await (await saved).saveAs(text)
  expect(await readFile(text, 'utf8')).toContain('00:00:03.000 --> 00:00:05.000\nTwo')

  // One goes off the list and keeps its file, the other goes with it.
  const made = await desk.call('handoff.list', {})
  const pathOf = (title: string): string => made.find(({ settings }) => settings.title === title)!.path!
  for (const [title, act] of [['Later', 'Keep the file'], ['Sooner', 'Delete the file']] as const) {
    await row(title).getByRole('button', { name: 'Remove', exact: true }).click()
    const dialog = page.getByRole('dialog', { name: `Remove \u201c${title}\u201d` })
    await expect(dialog).toContainText(pathOf(title))
    if (title === 'Later') {
      expect(await seriousFindings(page)).toEqual([])
      await page.screenshot({ path: info.outputPath('remove.png') })
    }
    await dialog.getByRole('button', { name: act }).click()
    await expect(row(title)).toHaveCount(0)
  }
  expect([existsSync(pathOf('Later')), existsSync(pathOf('Sooner'))]).toEqual([true, false])
  await expect(page.getByText('No video of this lesson on the list.')).toBeVisible()
})
