/** A finding by one key from a mark and from a measure, put in order, drills prescribed, and the plan made of it: printed, as a page, and packed. */
import { createHash } from 'node:crypto'
import { readFile } from 'node:fs/promises'
import { pathToFileURL } from 'node:url'
import type { Page } from '@playwright/test'
import { getDocument } from 'pdfjs-dist/legacy/build/pdf.mjs'
import type { Bench } from '../../renderer/bench/bench.ts'
import { imagePoint } from '../../shared/geometry/vec.ts'
import type { Mark } from '../../shared/markup/mark.ts'
import { emptyPane, emptyStage } from '../../shared/walkthrough/stage.ts'
import { seriousFindings } from './support/axe.ts'
import { filmPair, takeInPair, type DemoPair } from './support/demoPair.ts'
import { expect, test, type TestDesk } from './support/desk.ts'

declare global {
  var crossbearingTest: { bench?: Bench; renders?: number }
}

let pair: DemoPair
test.beforeAll(async () => {
  pair = await filmPair('rowan')
})
test.afterAll(() => pair.remove())

/** A recorded lesson on the pair, a shaft line on the clip down the line, and the pair on the Bench. */
async function prepare(page: Page, desk: TestDesk): Promise<string> {
  const { swingId, clipIds } = await takeInPair(desk, pair, 'Ines Falk')
  const [student] = await desk.call('student.list', {})
  await desk.call('student.save', { ...student!, injuries: 'Low back, after sitting' })
  const clips = await Promise.all(clipIds.map((id) => desk.call('clip.get', { id })))
  const line = clips[1]!
  const mark: Mark = { id: 'shaft', clipId: line.id, shape: 'line', meaning: 'shaft-line', points: [imagePoint(line.width * 0.45, line.height * 0.4), imagePoint(line.width * 0.6, line.height * 0.3)], text: '', span: null, ink: 'club', weight: 6, dashed: false, hidden: false, order: 1 }
  await desk.call('marks.apply', { diff: { added: { shaft: mark }, updated: {}, removed: {} } })
  const stageClips = Object.fromEntries(clips.map(({ id, view, handedness, width, height, frames, captureRate, playRate }) => [id, { id, view, handedness, width, height, frames, captureRate, playRate }]))
  const { id } = await desk.call('walkthrough.begin', {
    swingId, studentId: student!.id, title: 'Ines, first look', sampleRate: 48_000,
    header: { format: 'crossbearing-walkthrough', version: 1, clips: stageClips, initial: { ...emptyStage, panes: [{ ...emptyPane, clipId: clips[0]!.id, tick: clips[0]!.frames.ticks[0]! }, { ...emptyPane, clipId: line.id, tick: line.frames.ticks[0]! }] } },
  })
  await desk.call('walkthrough.append', { id, at: 0, sound: new Uint8Array(48_000), rows: [] })
  await desk.call('walkthrough.finish', { id })
  await page.addInitScript(() => { globalThis.crossbearingTest = {} })
  await page.reload()
  await page.getByRole('button', { name: /Open both on the Bench|Bench/ }).first().click()
  await expect.poll(() => page.evaluate(() => crossbearingTest.bench?.view?.shown().every((frame) => frame !== null) ?? false)).toBe(true)
  return id
}

const card = (page: Page, words: string) => page.getByRole('listitem', { name: words })
const zone = (page: Page, title: string) => page.getByRole('region', { name: title })

test('from a mark and a measure to the plan in the student’s hands', async ({ page, desk }, info) => {
  const lesson = await prepare(page, desk)
  const findings = () => desk.call('finding.list', { walkthroughId: lesson })

  // One key from the chosen mark; again, and it is brought up to date instead of doubled.
  await page.evaluate(() => crossbearingTest.bench!.activate(1))
  await page.keyboard.press('j')
  await page.keyboard.press('Shift+F')
  await expect(page.getByText(/Finding 1: Shaft line from level/)).toBeVisible()
  await page.keyboard.press('Shift+F')
  await expect(page.getByText(/brought up to date/)).toBeVisible()
  // One key from the measure that the focus is on.
  if (!(await page.locator('.bench-evidence').isVisible())) await page.keyboard.press('v')
  await page.locator('.evidence-row[data-measure="lead-arm-to-vertical"][data-at="top"]').first().focus()
  await page.keyboard.press('Shift+F')
  await expect(page.getByText(/Finding 2: Lead arm to vertical/)).toBeVisible()
  const [first, second] = await findings()
  expect([first!.role, first!.number!.unit, second!.role, second!.at, second!.source]).toEqual(['cause', 'deg', 'follows', 'top', { kind: 'measure', id: 'lead-arm-to-vertical', view: 'face-on', at: 'top' }])
  const front = pair.truths[0]
  expect(second!.picture.tick).toBe(front.frames[front.events.top!.frame]!.tick)
  expect(second!.number!.sigma).toBeGreaterThan(0)
  // Both views stood on the Bench, so both are in the picture, the other one at the same position.
  const [, side] = pair.truths
  expect(second!.picture.beside).toMatchObject({ pane: 1, shown: true, tick: side.frames[side.events.top!.frame]!.tick })

  // In the Lesson: words, order by keyboard, a removal taken back.
  await page.keyboard.press('Shift+5')
  await page.getByRole('tab', { name: 'Findings' }).click()
  await expect(page.locator('.finding img').first()).toHaveJSProperty('naturalWidth', 1200)
  // One view alone, and both again.
  await page.getByRole('checkbox', { name: 'Both views in it' }).first().click()
  await expect(page.locator('.finding img').first()).toHaveJSProperty('naturalWidth', 900)
  await page.keyboard.press('Control+z')
  await expect(page.locator('.finding img').first()).toHaveJSProperty('naturalWidth', 1200)
  await page.screenshot({ path: info.outputPath('findings.png') })
  const words = page.getByRole('combobox', { name: /What is seen/ })
  await words.nth(0).fill('The shaft lies across the line')
  await words.nth(0).press('Enter')
  await words.nth(1).fill('The lead arm is carried too far behind')
  await words.nth(1).press('Enter')
  await expect(card(page, 'The lead arm is carried')).toBeVisible()
  await card(page, 'The lead arm is carried').press('Alt+ArrowUp')
  await expect(zone(page, 'The one cause').getByRole('listitem', { name: 'The lead arm' })).toBeVisible()
  await expect(zone(page, 'What follows from it').getByRole('listitem', { name: 'The shaft lies' })).toBeVisible()
  await card(page, 'The shaft lies').press('Delete')
  await expect(card(page, 'The shaft lies')).toHaveCount(0)
  await page.keyboard.press('Control+z')
  await expect(zone(page, 'What follows from it').getByRole('listitem', { name: 'The shaft lies' })).toBeVisible()
  expect(await seriousFindings(page), 'Findings').toEqual([])

  // A drill found by its words and prescribed by Enter; what it loads is minded; its dose is this student's.
  await page.keyboard.press('Alt+3')
  const find = page.getByRole('combobox', { name: 'Find a drill' })
  await find.fill('elbow tray')
  await expect(page.locator('.card-view .to-mind')).toContainText('This loads the back. To mind of Ines: “Low back, after sitting”')
  await find.press('Enter')
  await expect(page.getByRole('button', { name: 'Prescribed', exact: true })).toBeDisabled()
  await find.fill('let them fall')
  await find.press('Enter')
  await expect(page.locator('.prescription')).toHaveCount(2)
  const sets = page.getByRole('group', { name: 'Dose of Elbow under the tray' }).getByLabel('sets')
  await sets.fill('2')
  await sets.press('Enter')
  await expect.poll(async () => (await desk.call('prescription.list', { walkthroughId: lesson }))[0]?.dose.sets).toBe(2)
  expect(await seriousFindings(page), 'Drills').toEqual([])

  // The plan: a sentence, the coach's heading, and the page in its frame.
  await page.keyboard.press('Alt+4')
  await page.getByRole('combobox', { name: 'How it makes what follows' }).fill('An arm that goes behind takes the shaft across with it.')
  await page.keyboard.press('Enter')
  await page.getByRole('button', { name: 'Your heading and paper' }).click()
  await page.getByRole('textbox', { name: 'Name', exact: true }).fill('Mara Lind, golf coach')
  await page.getByRole('button', { name: 'Save', exact: true }).click()
  await expect(page.locator('.plan-gaps')).toHaveCount(0)
  const sheet = page.frameLocator('iframe[title="The plan as the student sees it"]')
  await expect(sheet.locator('.cause .one')).toHaveText('The lead arm is carried too far behind')
  await expect(sheet.locator('.cause')).toContainText('An arm that goes behind takes the shaft across with it.')
  await expect(sheet.locator('.coach')).toHaveText('Mara Lind, golf coach')
  await expect(sheet.locator('figure img')).toHaveCount(2)
  await expect(sheet.locator('article .dose').first()).toHaveText('2 sets of 6, 5 days a week')
  // What was measured of the cameras tells where the phone should stand.
  const { advice } = await desk.call('plan.get', { walkthroughId: lesson })
  await expect(sheet.locator('.film')).toContainText(advice[1]!.sentences[0]!)
  expect(advice[1]!.sentences[0]).toMatch(/Move the phone|The phone stood well/)
  // No script runs in it, and it knows nothing of the window.
  expect(await page.locator('.plan-frame iframe').first().getAttribute('sandbox')).toBe('')
  expect(await seriousFindings(page), 'Plan').toEqual([])

  const saved = async (name: string): Promise<string> => {
    const [download] = await Promise.all([page.waitForEvent('download'), page.getByRole('link', { name }).click()])
    const path = info.outputPath(download.suggestedFilename())
    await download.saveAs(path)
    return path
  }
  const pages = async (bytes: Uint8Array): Promise<{ count: number; words: string }> => {
    const document = await getDocument({ data: new Uint8Array(bytes), verbosity: 0 }).promise
    const { items } = await (await document.getPage(1)).getTextContent()
    const read = { count: document.numPages, words: items.map((item) => ('str' in item ? item.str : '')).join(' ').replaceAll(/\s+/g, ' ') }
    await document.loadingTask.destroy()
    return read
  }
  const pdf = await pages(await readFile(await saved('Save as PDF')))
  expect(pdf.count).toBe(1)
  for (const said of ['The lead arm is carried too far behind', 'Elbow under the tray', '2 sets of 6', 'Practice plan for Ines']) expect(pdf.words).toContain(said)

  // The page alone, with the network off: readable on a phone, and one sheet when printed.
  const html = await saved('Save as a page')
  const alone = await page.context().browser()!.newContext({ offline: true, viewport: { width: 390, height: 844 }, javaScriptEnabled: false })
  const reader = await alone.newPage()
  const asked: string[] = []
  reader.on('request', (request) => asked.push(request.url()))
  await reader.goto(pathToFileURL(html).href)
  await expect(reader.getByRole('heading', { name: 'Practice plan for Ines' })).toBeVisible()
  expect(asked.filter((url) => !url.startsWith('file:') && !url.startsWith('data:'))).toEqual([])
  expect(await reader.locator('figure img').evaluateAll((images) => images.map((image) => (image as HTMLImageElement).naturalWidth))).toEqual([1200, 1200])
  expect(await reader.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390)
  expect((await pages(await reader.pdf({ preferCSSPageSize: true }))).count).toBe(1)
  await alone.close()

  // Everything in one zip.
  await page.getByRole('button', { name: 'Hand over everything' }).click()
  await page.getByRole('button', { name: 'Make the zip' }).click()
  await expect(page.getByRole('listitem').filter({ hasText: '1 plan, 1 page and 2 pictures' })).toBeVisible()
  const [pack] = await desk.call('plan.packs', { walkthroughId: lesson })
  const zip = await readFile(await saved('Save a copy'))
  expect(zip.length).toBe(pack!.bytes)
  const served = await (await page.request.get(new URL(`/media/plan/${lesson}.pdf`, desk.url).href)).body()
  expect(pack!.files.find(({ what }) => what === 'plan-pdf')!.sha256).toBe(createHash('sha256').update(served).digest('hex'))
})
