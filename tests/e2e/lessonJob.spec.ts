/**
 * A whole lesson in a real Chromium: recorded, its middle taken again, a silence trimmed, headed and titled, two findings and a
 * drill, handed over as a video, a plan and a zip. Then what the student gets is read back: every picture of the video against
 * the edited lesson, its sound, its chapters, the printed plan and the page.
 */
import { spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { readFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import type { Page } from '@playwright/test'
import { handoffSize } from '../../shared/contract/walkthrough.ts'
import { apply } from '../../shared/geometry/affine.ts'
import { showsAt } from '../../shared/markup/mark.ts'
import { paneViews } from '../../shared/picture/drawInstant.ts'
import { inkColours } from '../../shared/picture/palette.ts'
import { samplesPerSecond } from '../../shared/walkthrough/edits.ts'
import { parseLog } from '../../shared/walkthrough/log.ts'
import { tickOf } from '../../shared/walkthrough/motion.ts'
import { type Instant, Programme } from '../../shared/walkthrough/programme.ts'
import { eachPicture, listedChapters, readSound, rgbAt } from '../fixtures/lesson.ts'
import { makeNumberedClip, readFrameNumber, unevenTimes } from '../fixtures/numberedClip.ts'
import { seriousFindings } from './support/axe.ts'
import { expect, test, type TestDesk } from './support/desk.ts'
import { clicking, clicks, hears, wavSamples, writeVoice } from './support/microphone.ts'
import { readPdf } from './support/printed.ts'

const folder = mkdtempSync(join(tmpdir(), 'crossbearing-lesson-'))
const voice = join(folder, 'voice.wav')
// Words for a second and a half, nothing for two, over a little noise; a click at each whole second.
writeVoice(voice, 60, clicking((time) => (time % 3.5 < 1.5 ? 0.2 * Math.sin(2 * Math.PI * 180 * time) : 0) + 0.002 * Math.sin(81_600 * time)))
test.use(hears(voice))
test.afterAll(() => rmSync(folder, { recursive: true, force: true }))

const front = join(folder, 'noor face-on.mp4')
const line = join(folder, 'noor down the line.mp4')
test.beforeAll(async () => {
  await makeNumberedClip(front, { width: 360, height: 640, frames: 150, fps: 60, gop: 30, bframes: 2, texture: true, preset: 'ultrafast' })
  await makeNumberedClip(line, { width: 360, height: 640, frames: 100, times: unevenTimes(100), gop: 25, texture: true, preset: 'ultrafast' })
})

/** The pair on the desk and on the Bench, with two marks placed before the lesson begins. */
async function onBench(page: Page, desk: TestDesk): Promise<void> {
  await desk.call('settings.set', { countInSeconds: 0, handoff: { size: '720p', orientation: 'landscape', fps: 30 } })
  const consent = { student: { given: true, on: '2026-03-02' }, guardian: { given: false, name: '', on: null }, purpose: '', until: null }
  const { id: studentId } = await desk.call('student.save', { id: null, name: 'Noor Adair', handedness: 'right', statureM: null, clubs: [], goals: '', ballFlight: '', injuries: '', minor: false, consent })
  const items = [{ source: { path: front }, view: 'face-on', captureRate: null }, { source: { path: line }, view: 'down-the-line', captureRate: null }] as const
  await desk.call('takeIn.start', { studentId, club: '7-iron', handedness: 'right', question: '', feel: '', pair: 'one-swing', items: [...items] })
  await expect.poll(async () => (await desk.call('job.list', {})).every((job) => job.state === 'done'), { timeout: 30_000 }).toBe(true)
  await page.reload()
  await page.getByRole('button', { name: 'Open both on the Bench' }).click()
  await expect(page.locator('.stage-host canvas').first()).toBeVisible()
  const box = (await page.locator('.stage-host').boundingBox())!
  const at = (x: number, y: number) => [box.x + box.width * x, box.y + box.height * y] as const
  // Thick enough for its own colour to be read from a picture that stores colour for 2 x 2 pixels.
  await page.mouse.move(...at(0.25, 0.5))
  for (let i = 0; i < 3; i++) await page.keyboard.press('w')
  const draw = async (meaning: string, from: readonly [number, number], to: readonly [number, number]): Promise<void> => {
    await page.mouse.move(...at(0.25, 0.5))
    await page.keyboard.press('d')
    await page.getByRole('dialog', { name: 'Marks' }).getByRole('button', { name: meaning }).click()
    await page.mouse.move(...at(...from))
    await page.mouse.down()
    await page.mouse.move(...at((from[0] + to[0]) / 2, (from[1] + to[1]) / 2), { steps: 4 })
    await page.mouse.move(...at(...to), { steps: 4 })
    await page.mouse.up()
    await page.keyboard.press('Escape')
  }
  await draw('Head box', [0.21, 0.4], [0.27, 0.5])
  await draw('Shaft line', [0.22, 0.62], [0.28, 0.55])
  await page.keyboard.press('Escape')
  await expect.poll(async () => (await desk.call('clip.list', { studentId })).length).toBe(2)
}

async function record(page: Page, ms: number, meanwhile: () => Promise<void>): Promise<void> {
  await page.keyboard.press('Control+Enter')
  await expect(page.locator(".recorder[data-state='recording']")).toBeVisible()
  const end = Date.now() + ms
  await meanwhile()
  await page.waitForTimeout(Math.max(0, end - Date.now()))
  await page.keyboard.press('Control+Enter')
  await expect(page.locator('.waves canvas').first()).toBeVisible({ timeout: 15_000 })
}

const lessonOf = async (desk: TestDesk) => desk.call('lesson.get', { id: (await desk.call('walkthrough.list', {})).find((each) => !each.takeOf)!.id })
/** Goes to a place by the keyboard. */
async function goTo(page: Page, second: number): Promise<void> {
  await page.keyboard.press('Home')
  for (let i = 0; i < second * 10; i++) await page.keyboard.press('Shift+ArrowRight')
  await expect.poll(() => page.locator('.lesson-time strong').textContent()).toBe(`0:0${Math.floor(second)}`)
}

async function saved(page: Page, name: string, to: (file: string) => string): Promise<string> {
  const [download] = await Promise.all([page.waitForEvent('download'), page.getByRole('link', { name, exact: true }).first().click()])
  const path = to(download.suggestedFilename())
  await download.saveAs(path)
  return path
}

/** The edited lesson as the desk keeps it, ready to be asked what is seen when. */
async function programmeOf(desk: TestDesk): Promise<Programme> {
  const lesson = await lessonOf(desk)
  const takes = await Promise.all(lesson.takes.map(async ({ id, durationMs }) => ({ id, durationMs, log: parseLog((await desk.call('walkthrough.log', { id })).text) })))
  return new Programme(takes, lesson.edits)
}

/** What of the video's pictures is not as the lesson says: the frames' own numbers, the head box's colour. And how much was read. */
async function readPictures(path: string, programme: Programme, size: { width: number; height: number }) {
  const ink = [1, 3, 5].map((i) => Number.parseInt(inkColours.head.slice(i, i + 2), 16))
  const found = { wrong: [] as string[], numbers: 0, marks: 0, cards: 0, pictures: 0 }
  // Pictures are counted from the take's own beginning: where a cut has moved a piece by a part of one, they are off by half of one at most.
  const step = samplesPerSecond / 30
  const slackOf = (n: number): readonly number[] => {
    const placed = programme.pieces.findLast(({ at }) => at <= n * step)!
    return placed.piece.kind !== 'take' || Number.isInteger((placed.piece.from - placed.at) / step) ? [] : [-0.5, 0.5]
  }
  const framesAt = (instant: Instant | null): Map<number, number> =>
    new Map(instant?.kind === 'stage' ? paneViews({ size, stage: instant.stage, clips: instant.clips }).map((view) => [view.pane, view.frame]) : [])
  found.pictures = await eachPicture(path, (picture, n) => {
    const instant = programme.at((n / 30) * 1000)!
    const near = slackOf(n).map((half) => framesAt(programme.at(((n + half) / 30) * 1000)))
    if (instant.kind === 'card') {
      found.cards++
      return
    }
    const { stage, clips } = instant
    for (const view of paneViews({ size, stage, clips })) {
      const clip = clips[view.clipId]!
      const [[x0, y0], [x1, y1]] = [apply(view.place.transform, [0, 0]), apply(view.place.transform, [clip.width, clip.height])]
      const region = { x: Math.min(x0, x1), y: y0, width: Math.abs(x1 - x0), height: y1 - y0 }
      const number = readFrameNumber(picture.data![0]!, size.width, size.height, { stride: picture.linesize[0]!, region, mirrored: stage.panes[view.pane].mirror })
      found.numbers++
      const frame = near.some((frames) => frames.get(view.pane) === number) ? number! : view.frame
      if (number !== frame) found.wrong.push(`picture ${n}, pane ${view.pane}: reads ${number}, should be ${view.frame}`)
      for (const mark of Object.values(stage.marks)) {
        if (mark.clipId !== view.clipId || mark.meaning !== 'head-box') continue
        const [a, b] = mark.points as [readonly [number, number], readonly [number, number]]
        const [x, y] = apply(view.place.transform, [(a[0] + b[0]) / 2, Math.min(a[1], b[1])]).map(Math.round) as [number, number]
        const off = Math.max(...rgbAt(picture, x, y).map((c, i) => Math.abs(c - ink[i]!)))
        if (!showsAt(mark, tickOf(clip.frames, frame))) {
          if (off < 30) found.wrong.push(`picture ${n}: a head box that is not of this frame`)
          continue
        }
        found.marks++
        if (off > 40) found.wrong.push(`picture ${n}: the head box is missing, off by ${off.toFixed(0)}`)
      }
    }
  })
  return found
}

test('a lesson from the first word to what the student gets', async ({ page, desk }, info) => {
  test.setTimeout(300_000)
  page.setDefaultTimeout(15_000)
  await onBench(page, desk)

  // Long enough for a whole silence to lie behind the part that is taken again.
  await record(page, 7000, async () => {
    await page.waitForTimeout(500)
    for (let i = 0; i < 6; i++) await page.keyboard.press('ArrowRight', { delay: 50 })
    await page.keyboard.press('2')
    await page.keyboard.press('Space')
    await page.waitForTimeout(900)
    await page.keyboard.press('Space')
  })

  // The middle again.
  await goTo(page, 1)
  await page.keyboard.press('[')
  await goTo(page, 2)
  await page.keyboard.press(']')
  await page.keyboard.press('r')
  await expect(page.getByText(/again, from 0:01 to 0:02/)).toBeVisible()
  await expect(page.locator('.stage-host canvas').first()).toBeVisible()
  await record(page, 1700, async () => {
    for (let i = 0; i < 4; i++) await page.keyboard.press('ArrowRight', { delay: 80 })
  })
  await expect.poll(async () => (await lessonOf(desk)).steps.length).toBe(1)

  // A silence that was found is trimmed, the lesson is headed and gets a title.
  const before = (await programmeOf(desk)).lengthMs
  await page.getByRole('button', { name: 'Silences', exact: true }).click()
  await page.getByRole('button', { name: /^Trim the silence at/ }).last().click()
  await expect.poll(async () => (await programmeOf(desk)).lengthMs).toBeLessThan(before - 500)
  await page.getByRole('button', { name: 'Chapters', exact: true }).click()
  for (const [second, title] of [[0, 'Set-up'], [1.5, 'The top']] as const) {
    await page.locator('.lesson-stage h2').click()
    await goTo(page, second)
    await page.getByLabel('Title of a chapter that begins here').fill(title)
    await page.keyboard.press('Enter')
    await expect(page.getByRole('button', { name: `Delete the chapter “${title}”` })).toBeVisible()
  }
  await page.getByRole('button', { name: 'Cards', exact: true }).click()
  await page.getByRole('button', { name: 'Add a title card' }).click()
  await expect(page.locator('.edited-card')).toBeVisible()

  // Two findings by one key each from the marks on the Bench; their words; a drill.
  await page.keyboard.press('Shift+2')
  for (const n of [1, 2]) {
    await page.keyboard.press('j')
    await page.keyboard.press('Shift+F')
    await expect(page.getByText(new RegExp(`Finding ${n}:`))).toBeVisible()
  }
  await page.keyboard.press('Shift+5')
  await page.keyboard.press('Alt+2')
  const words = page.getByRole('combobox', { name: /What is seen/ })
  for (const [i, said] of ['The head drops in the backswing', 'The shaft steepens on the way down'].entries()) {
    await words.nth(i).fill(said)
    await words.nth(i).press('Enter')
  }
  await page.keyboard.press('Alt+3')
  const find = page.getByRole('combobox', { name: 'Find a drill' })
  await find.fill('elbow tray')
  await find.press('Enter')
  await expect(page.locator('.prescription')).toHaveCount(1)

  // The video, then everything in one zip.
  await page.keyboard.press('Alt+1')
  await page.getByRole('button', { name: 'Make the video' }).click()
  await page.getByRole('dialog', { name: 'Make the video' }).getByLabel('Title').fill('Noor, the top')
  // The lesson rests on its title card: that is what is laid out, not the recording's beginning with its coloured corners.
  const laidOut = () => page.locator('.handoff-preview canvas').evaluate((canvas: HTMLCanvasElement) => {
    const { data } = canvas.getContext('2d')!.getImageData(0, 0, canvas.width, canvas.height)
    const found = { light: 0, coloured: 0 }
    for (let i = 0; i < data.length; i += 4) {
      const [most, least] = [Math.max(data[i]!, data[i + 1]!, data[i + 2]!), Math.min(data[i]!, data[i + 1]!, data[i + 2]!)]
      if (least > 200) found.light++
      if (most - least > 120) found.coloured++
    }
    return found
  })
  await expect.poll(async () => (await laidOut()).light).toBeGreaterThan(1000)
  expect((await laidOut()).coloured).toBe(0)
  await page.getByRole('button', { name: 'Make it', exact: true }).click()
  // The list of jobs opens over the room and goes by Escape, which is a key of the room's too.
  await page.getByRole('button', { name: /job/ }).click()
  const jobs = page.getByRole('dialog', { name: 'Jobs' })
  await expect(jobs).toContainText('Noor, the top')
  expect(await seriousFindings(page), 'Jobs').toEqual([])
  await page.keyboard.press('Escape')
  await expect(jobs).toBeHidden()
  await expect(page.getByRole('button', { name: 'Watch' })).toBeVisible({ timeout: 60_000 })
  const video = await saved(page, 'Save a copy', (file) => info.outputPath(file))
  await page.keyboard.press('Alt+4')
  const pdf = await saved(page, 'Save as PDF', (file) => info.outputPath(file))
  const html = await saved(page, 'Save as a page', (file) => info.outputPath(file))
  await page.getByRole('button', { name: 'Hand over everything' }).click()
  await page.getByRole('button', { name: 'Make the zip' }).click()
  await expect(page.getByText(/1 video, 1 plan, 1 page and 2 pictures/)).toBeVisible({ timeout: 20_000 })
  const [pack] = await desk.call('plan.packs', { walkthroughId: (await lessonOf(desk)).id })
  expect(pack!.files.find(({ what }) => what === 'video')!.bytes).toBe((await readFile(video)).length)

  // Every picture shows the frames and the mark that the edited lesson has at its time.
  const programme = await programmeOf(desk)
  expect(programme.pieces.map(({ piece }) => piece.kind)).toEqual(['card', ...Array<string>(programme.pieces.length - 1).fill('take')])
  expect(new Set(programme.pieces.flatMap(({ piece }) => (piece.kind === 'take' ? [piece.takeId] : []))).size).toBe(2)
  const [handoff] = await desk.call('handoff.list', {})
  const seen = await readPictures(video, programme, handoffSize(handoff!.settings))
  expect(seen.wrong.slice(0, 8)).toEqual([])
  expect(seen).toMatchObject({ pictures: Math.ceil((programme.lengthMs / 1000) * 30), cards: 90, numbers: 2 * (seen.pictures - seen.cards) })
  expect(seen.marks).toBeGreaterThan(30)

  // Each click of the recordings that was kept is heard where it was put.
  const expected: number[] = []
  for (const takeId of new Set(programme.pieces.flatMap(({ piece }) => (piece.kind === 'take' ? [piece.takeId] : [])))) {
    const { samples, sampleRate } = wavSamples(await (await page.request.get(new URL(`/media/walkthrough/${takeId}.wav`, desk.url).href)).body())
    expected.push(...clicks(samples, sampleRate).flatMap((ms) => programme.toLesson(takeId, ms)))
  }
  const edges = programme.pieces.map(({ at }) => at / 48)
  const inside = expected.filter((ms) => edges.every((edge) => Math.abs(edge - ms) > 20)).toSorted((a, b) => a - b)
  const heard = clicks(await readSound(video), 48_000, 30)
  expect(inside.length).toBeGreaterThanOrEqual(3)
  for (const ms of inside) expect(Math.min(...heard.map((each) => Math.abs(each - ms))), `a click at ${ms.toFixed(0)} of ${heard.map(Math.round).join(', ')}`).toBeLessThan(1000 / 30)
  expect(heard.length - inside.length).toBeLessThanOrEqual(expected.length - inside.length)

  // The headings are the file's chapters, the card before them one of its own; another reader finds the same where there is one.
  const headings = programme.chapters()
  expect(headings.map(({ title }) => title)).toEqual(['Set-up', 'The top'])
  const chapters = await listedChapters(video)
  expect(chapters.map(([title]) => title)).toEqual(['Beginning', 'Set-up', 'The top'])
  for (const [i, [, ms]] of chapters.entries()) expect(Math.abs(ms - (headings[i - 1]?.atMs ?? 0))).toBeLessThan(1000 / 30)
  const probe = spawnSync('ffprobe', ['-v', 'error', '-show_chapters', '-of', 'json', video], { encoding: 'utf8' })
  if (probe.error) info.annotations.push({ type: 'left out', description: 'ffprobe is not here: chapters were read by the project alone.' })
  else {
    const { chapters: others } = JSON.parse(probe.stdout) as { chapters: { start_time: string; tags: { title: string } }[] }
    expect(others.map(({ start_time, tags }) => [tags.title, Math.round(Number(start_time) * 1000)])).toEqual(chapters.map(([title, ms]) => [title, Math.round(ms)]))
  }

  // The plan in print and as a page.
  const printed = await readPdf(await readFile(pdf))
  expect(printed.pages).toBe(1)
  for (const said of ['The head drops in the backswing', 'The shaft steepens on the way down', 'Elbow under the tray', 'Practice plan for Noor']) expect(printed.words).toContain(said)
  expect(printed.words).not.toContain('Adair')
  // It is a page with words and pictures, neither blank nor full.
  expect(printed.inked).toBeGreaterThan(0.05)
  expect(printed.inked).toBeLessThan(0.7)
  expect(printed.coloured).toBeGreaterThan(0.001)
  const reader = await page.context().newPage()
  await reader.goto(pathToFileURL(html).href)
  await expect(reader.getByRole('heading', { name: 'Practice plan for Noor' })).toBeVisible()
  await expect(reader.locator('figure img')).toHaveCount(2)
  expect(await reader.locator('body').innerText()).toContain('Elbow under the tray')
  await reader.close()
})
