/** axe-core over each room and each dialog, dark and light: nothing serious. */
import { readFile, rm } from 'node:fs/promises'
import { createRequire } from 'node:module'
import { join } from 'node:path'
import type { Page } from '@playwright/test'
import type { AxeResults } from 'axe-core'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'
import { expect, test, type TestDesk } from './support/desk.ts'

const axeSource = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')

/** What axe finds that is serious or critical, one line each. */
async function serious(page: Page, runOnly: readonly string[] | { type: 'rule'; values: string[] }): Promise<string[]> {
  await page.evaluate(axeSource)
  const { violations } = await page.evaluate(async (only): Promise<Pick<AxeResults, 'violations'>> => {
    const { axe } = globalThis as unknown as { axe: { run(context: Document, options: object): Promise<AxeResults> } }
    return axe.run(document, { runOnly: only, resultTypes: ['violations'] })
  }, runOnly)
  return violations
    .filter(({ impact }) => impact === 'serious' || impact === 'critical')
    .flatMap(({ id, nodes }) => nodes.map((node) => `${id}: ${node.target.join(' ')}: ${node.failureSummary ?? ''}`))
}

const everyRule = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']

/** Every rule in the dark theme; in the light one, which differs in colours alone, those about colours. */
async function look(page: Page, where: string): Promise<void> {
  for (const theme of ['dark', 'light']) {
    await page.evaluate((name) => {
      document.documentElement.dataset.theme = name
    }, theme)
    await page.waitForTimeout(200)
    expect(await serious(page, theme === 'dark' ? everyRule : { type: 'rule', values: ['color-contrast', 'link-in-text-block'] }), `${where}, ${theme}`).toEqual([])
  }
}

async function fill(desk: TestDesk): Promise<void> {
  const path = join(desk.library, '..', `${desk.library.split('-').at(-1)}-swing.mp4`)
  await makeNumberedClip(path, { width: 360, height: 640, frames: 20, fps: 30, gop: 10, preset: 'ultrafast' })
  const consent = { student: { given: false, on: null }, guardian: { given: false, name: '', on: null }, purpose: '', until: null }
  const { id } = await desk.call('student.save', { id: null, name: 'Lio Marten', handedness: 'right', statureM: 1.5, clubs: [{ kind: '7-iron', lengthM: 0.9 }], goals: 'More distance', ballFlight: '', injuries: '', minor: true, consent })
  await desk.call('takeIn.start', {
    studentId: id, club: '7-iron', handedness: 'right', question: 'Why right?', feel: 'Stuck', pair: 'none',
    items: [{ source: { path }, view: 'face-on', captureRate: null }, { source: { path: `${path}.missing.mp4` }, view: null, captureRate: null }],
  })
  await expect.poll(async () => (await desk.call('job.list', {})).every((job) => job.state === 'done' || job.state === 'failed'), { timeout: 30_000 }).toBe(true)
  await rm(path)
}

test('Arrivals and its dialogs', async ({ page, desk }) => {
  await look(page, 'Arrivals, empty')
  await fill(desk)
  await expect(page.locator('.clip')).toHaveCount(1)
  await look(page, 'Arrivals')

  await page.locator('.clip').click()
  await expect(page.getByLabel('Filmed at, frames/s')).toBeVisible()
  await look(page, 'a clip chosen')
  await page.keyboard.press('Delete')
  await expect(page.getByRole('dialog', { name: 'Delete this clip' })).toBeVisible()
  await look(page, 'delete a clip')
  await page.keyboard.press('Escape')
  await page.keyboard.press('Escape')

  await page.locator('.student', { hasText: 'Lio Marten' }).click()
  await look(page, 'a student chosen')
  await page.getByRole('button', { name: 'Edit record' }).click()
  await look(page, "a student's record")
  await page.keyboard.press('Escape')
  await page.getByRole('button', { name: 'Edit words' }).click()
  await look(page, 'what the student wrote')
  await page.keyboard.press('Escape')

  await page.getByTestId('pick-files').setInputFiles([{ name: 'front.mp4', mimeType: 'video/mp4', buffer: Buffer.alloc(10) }, { name: 'line.mp4', mimeType: 'video/mp4', buffer: Buffer.alloc(10) }])
  await expect(page.getByRole('dialog', { name: 'Take in 2 files' })).toBeVisible()
  await look(page, 'take in')
  await page.keyboard.press('Escape')

  await page.locator('.jobs-button').click()
  await look(page, 'jobs')
  await page.keyboard.press('Escape')
  await page.keyboard.press('?')
  await expect(page.getByRole('dialog', { name: 'Keys' })).toBeVisible()
  await look(page, 'keys')
})

test('Shelf and its dialogs', async ({ page, desk }) => {
  await page.getByRole('tab', { name: 'Shelf' }).click()
  await expect(page.getByRole('heading', { name: 'Nothing on the Shelf yet' })).toBeVisible()
  await look(page, 'Shelf, empty')
  await fill(desk)
  await page.getByLabel('Find on the Shelf').fill('student:lio ')
  await page.getByLabel('Find on the Shelf').fill('clu')
  await expect(page.getByRole('listbox', { name: 'What could follow' })).toBeVisible()
  await look(page, 'Shelf, typing')
  await page.getByLabel('Find on the Shelf').fill('')
  await page.locator('.place').click()
  await expect(page.getByLabel('What it may be used for')).toBeVisible()
  await look(page, 'Shelf, a swing chosen')
  await page.getByRole('button', { name: 'List' }).click()
  await look(page, 'Shelf, as a list')
  await page.getByRole('button', { name: 'Write to a file' }).click()
  await look(page, 'write to a file')
  await page.keyboard.press('Escape')
  await page.getByRole('button', { name: 'Put into one' }).click()
  await look(page, 'put into a collection')
})

test('Bench and Lesson', async ({ page, desk }) => {
  await fill(desk)
  await page.getByRole('tab', { name: 'Lesson' }).click()
  await expect(page.locator('#panel-lesson')).toBeVisible()
  await look(page, 'Lesson')
  await page.keyboard.press('Shift+Digit1')
  await page.locator('.clip').dblclick()
  await expect(page.locator('#panel-bench')).toBeVisible()
  await look(page, 'Bench')
})
