/** States of Arrivals that a real desk passes through too quickly to be looked at, on a desk in memory. */
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import type { Page } from '@playwright/test'
import { expect, test } from '@playwright/test'
import react from '@vitejs/plugin-react'
import { build, preview, type PreviewServer } from 'vite'

let folder: string
let server: PreviewServer
let address: string

test.beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'shell-page-'))
  const root = fileURLToPath(new URL('../fixtures/shell-page', import.meta.url))
  const shared = { configFile: false as const, root, logLevel: 'error' as const }
  await build({ ...shared, base: './', plugins: [react()], build: { outDir: folder, emptyOutDir: true, target: 'chrome140', minify: false, chunkSizeWarningLimit: 3000 } })
  server = await preview({ ...shared, build: { outDir: folder }, preview: { host: '127.0.0.1', port: 0 } })
  address = server.resolvedUrls!.local[0]!
})
test.afterAll(async () => {
  await server.close()
  await rm(folder, { recursive: true, force: true })
})

interface Asked { name: string; input: { items?: { view: string | null; captureRate: number | null }[] } }
const asked = (page: Page): Promise<Asked[]> => page.evaluate(() => (globalThis as unknown as { desk: { asked: Asked[] } }).desk.asked)
const open = async (page: Page, query = ''): Promise<void> => {
  await page.goto(address + query)
  await expect(page.getByText('Opening the library')).toHaveCount(0)
}

test('what is on the way in says how far it is, how long it takes and what went wrong', async ({ page }) => {
  await open(page)
  const coming = page.getByRole('region', { name: 'Coming in' })
  await expect(coming.getByRole('heading')).toHaveText('2 on the way in, about 2 min left')
  await expect(coming.getByText('42 %, about 40 s left')).toBeVisible()
  await expect(coming.getByText('Waits for its turn')).toBeVisible()
  await expect(coming.getByRole('progressbar', { name: 'driver-front.mov' })).toHaveJSProperty('value', 42)
  await expect(coming.getByText('Ask for the file again; the transfer was cut short.')).toBeVisible()
  await coming.getByRole('button', { name: 'Cancel driver-front.mov' }).click()
  // The desk in memory cancels nothing: what it answers is shown, not swallowed.
  await expect(page.getByRole('alert')).toContainText('job.cancel is not part of the desk in memory.')
  await page.getByRole('button', { name: 'Dismiss' }).click()
  await expect(page.getByRole('alert')).toHaveCount(0)
})

test('the table is walked by arrows, filtered by words and by student, and nothing jumps meanwhile', async ({ page }) => {
  await page.addInitScript(() => {
    const shifts: number[] = []
    Object.assign(globalThis, { shifts })
    new PerformanceObserver((list) => {
      for (const entry of list.getEntries() as (PerformanceEntry & { value: number; hadRecentInput: boolean })[]) if (!entry.hadRecentInput) shifts.push(entry.value)
    }).observe({ type: 'layout-shift', buffered: true })
  })
  await open(page)
  await expect(page.locator('.arrival h3')).toHaveText(['Lio Marten', 'Ines Falk', 'No student yet', 'Tobias Renner'])
  const focused = (): Promise<string | null> => page.evaluate(() => document.activeElement?.getAttribute('data-clip') ?? null)
  await page.locator('[data-clip="range session of a very long name indeed"]').focus()
  await page.keyboard.press('ArrowDown')
  expect(await focused()).toBe('wedge-front')
  await page.keyboard.press('ArrowRight')
  expect(await focused()).toBe('wedge-line')
  await page.keyboard.press('Shift+ArrowRight')
  await expect(page.locator('.clip[aria-pressed="true"]')).toHaveCount(2)
  await expect(page.getByText('wedge-line.mov is paired already: unpair it first.')).toBeVisible()
  await page.keyboard.press('Escape')
  await expect(page.locator('.clip[aria-pressed="true"]')).toHaveCount(0)
  // Settling at the start may move what is not there yet; from here on nothing moves by itself.
  const total = await page.evaluate(() => (globalThis as unknown as { shifts: number[] }).shifts.reduce((sum, one) => sum + one, 0))
  expect(total).toBeLessThan(0.02)

  await page.keyboard.press('/')
  await page.keyboard.type('stuck driver')
  await expect(page.locator('.arrival h3')).toHaveText(['Ines Falk'])
  await page.getByLabel('Find in what came in').fill('nowhere')
  await expect(page.getByText('Nothing matches.')).toBeVisible()
  await page.getByLabel('Find in what came in').fill('')
  await page.locator('.student', { hasText: 'Tobias Renner' }).click()
  await expect(page.locator('.arrival h3')).toHaveText(['Tobias Renner'])
})

test('the sheet asks once, and what was answered is what the desk hears', async ({ page }) => {
  await open(page)
  const file = (name: string) => ({ name, mimeType: 'video/mp4', buffer: Buffer.alloc(1000) })
  await page.getByTestId('pick-files').setInputFiles([file('front.mp4'), file('line.mp4'), file('extra.mp4')])
  const sheet = page.getByRole('dialog', { name: 'Take in 3 files' })
  await expect(sheet.getByLabel('Student', { exact: true })).toBeFocused()
  await page.getByTestId('pick-files').setInputFiles([file('later line.mp4')])
  await expect(page.getByRole('dialog', { name: 'Take in 4 files' })).toBeVisible()
  const all = page.getByRole('dialog')
  await all.getByRole('button', { name: 'Leave out extra.mp4' }).click()
  await all.getByLabel('Student', { exact: true }).selectOption({ label: 'Tobias Renner' })
  // The student's own hand stands unless it is said otherwise.
  await expect(all.getByLabel('Left-handed')).toBeChecked()
  await all.getByLabel('Frames a second of front.mp4').fill('soon')
  await expect(all.getByRole('button', { name: 'Take in' })).toBeDisabled()
  await all.getByLabel('Frames a second of front.mp4').fill('240')
  await all.getByLabel('One swing, two cameras').check()
  await all.getByRole('button', { name: 'Take in' }).click()
  await expect(page.getByRole('dialog')).toHaveCount(0)
  await expect.poll(async () => (await asked(page)).some(({ name }) => name === 'takeIn.start')).toBe(true)
  expect((await asked(page)).find(({ name }) => name === 'takeIn.start')!.input).toEqual({
    studentId: 's2', club: '', handedness: 'left', question: '', feel: '', pair: 'one-swing',
    items: [
      { source: { staged: 'front.mp4', fileName: 'front.mp4' }, view: 'face-on', captureRate: 240 },
      { source: { staged: 'line.mp4', fileName: 'line.mp4' }, view: 'down-the-line', captureRate: null },
      { source: { staged: 'later line.mp4', fileName: 'later line.mp4' }, view: 'down-the-line', captureRate: null },
    ],
  })
})
