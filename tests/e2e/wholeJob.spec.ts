/**
 * The whole job in a real Chromium, from an empty library to an MP4 whose frames are read back: clips are dropped, paired, opened,
 * tied, drawn on and talked over with a sound file for a microphone, and handed over.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from '@playwright/test'
import { apply } from '../../shared/geometry/affine.ts'
import { handoffSize } from '../../shared/contract/walkthrough.ts'
import { showsAt } from '../../shared/markup/mark.ts'
import { paneViews } from '../../shared/picture/drawInstant.ts'
import { inkColours } from '../../shared/picture/palette.ts'
import { parseLog, stateAt, type Log } from '../../shared/walkthrough/log.ts'
import { tickOf } from '../../shared/walkthrough/motion.ts'
import { eachPicture, readSound, rgbAt } from '../fixtures/lesson.ts'
import { makeNumberedClip, readFrameNumber, unevenTimes } from '../fixtures/numberedClip.ts'
import { expect, test, type TestDesk } from './support/desk.ts'
import { clicking, clicks, hears, wavSamples, writeVoice } from './support/microphone.ts'

const folder = mkdtempSync(join(tmpdir(), 'crossbearing-job-'))
const voice = join(folder, 'voice.wav')
const rate = 48_000

// A quiet hum with a sharp click at each whole second: what a voice is to the machine, and a ruler for time.
writeVoice(voice, 40, clicking((time) => 0.05 * Math.sin(2 * Math.PI * 180 * time)))
test.use(hears(voice))
test.afterAll(() => rmSync(folder, { recursive: true, force: true }))

const front = join(folder, 'noor face-on.mp4')
const line = join(folder, 'noor down the line.mp4')
test.beforeAll(async () => {
  await makeNumberedClip(front, { width: 360, height: 640, frames: 150, fps: 60, gop: 30, bframes: 2, texture: true, preset: 'ultrafast' })
  await makeNumberedClip(line, { width: 360, height: 640, frames: 100, times: unevenTimes(100), gop: 25, texture: true, preset: 'ultrafast' })
})

async function takeIn(page: Page, desk: TestDesk): Promise<void> {
  await page.getByRole('button', { name: /Take in files|Choose files/ }).first().waitFor()
  const [chooser] = await Promise.all([page.waitForEvent('filechooser'), page.getByRole('button', { name: /Take in files|Choose files/ }).first().click()])
  await chooser.setFiles([front, line])
  const sheet = page.getByRole('dialog', { name: 'Take in 2 files' })
  await sheet.getByLabel("New student's name").fill('Noor')
  await sheet.getByLabel('Club').fill('7-iron')
  await sheet.getByLabel('One swing, two cameras').check()
  await sheet.getByRole('button', { name: 'Take in' }).click()
  await expect.poll(async () => (await desk.call('swing.list', {})).length, { timeout: 30_000 }).toBe(1)
  await page.getByRole('button', { name: 'Open both on the Bench' }).click()
  await expect(page.locator('.stage-host canvas').first()).toBeVisible()
}

const soundOf = async (page: Page, desk: TestDesk, id: string): Promise<{ samples: Float32Array; sampleRate: number }> =>
  wavSamples(await (await page.request.get(new URL(`/media/walkthrough/${id}.wav`, desk.url).href)).body())

test('from an empty library to a video that carries the right frames under the right marks, with the sound in step', async ({ page, desk }) => {
  test.setTimeout(300_000)
  await desk.call('settings.set', { countInSeconds: 0, handoff: { size: '720p', orientation: 'landscape', fps: 30 } })
  await takeIn(page, desk)

  // Bring both to an instant and tie them.
  const box = (await page.locator('.stage-host').boundingBox())!
  await page.mouse.move(box.x + box.width * 0.25, box.y + box.height * 0.5)
  for (let i = 0; i < 12; i++) await page.keyboard.press('ArrowRight')
  await page.keyboard.press('t')
  await expect.poll(async () => (await desk.call('swing.list', {}))[0]!.tie !== null).toBe(true)

  await page.keyboard.press('Control+Enter')
  await expect(page.locator(".recorder[data-state='recording']")).toBeVisible()
  await page.waitForTimeout(700)
  for (let i = 0; i < 5; i++) await page.keyboard.press('ArrowRight', { delay: 60 })
  await page.keyboard.press('2')
  await page.keyboard.press('Space')
  await page.waitForTimeout(1200)
  await page.keyboard.press('Space')

  // A head box on the left pane, in the middle of the picture.
  // Thick enough for its own colour to be read from a picture that stores colour for 2 x 2 pixels.
  for (let i = 0; i < 3; i++) await page.keyboard.press('w')
  await page.keyboard.press('d')
  await page.getByRole('dialog', { name: 'Marks' }).getByRole('button', { name: 'Head box' }).click()
  const at = (x: number, y: number) => [box.x + box.width * x, box.y + box.height * y] as const
  await page.mouse.move(...at(0.22, 0.45))
  await page.mouse.down()
  await page.mouse.move(...at(0.25, 0.5), { steps: 6 })
  await page.mouse.move(...at(0.28, 0.56), { steps: 6 })
  await page.mouse.up()
  await page.keyboard.press('Escape')
  await page.waitForTimeout(400)

  // Pause, move on unseen, go on.
  await page.keyboard.press('Control+.')
  await expect(page.getByRole('button', { name: 'Resume' })).toBeVisible()
  await page.keyboard.press('ArrowLeft')
  await page.keyboard.press('m')
  await page.waitForTimeout(800)
  await page.keyboard.press('Control+.')
  await page.waitForTimeout(500)
  await page.keyboard.press('Shift+ArrowRight')
  await page.waitForTimeout(900)
  await page.keyboard.press('Control+Enter')

  await expect(page.getByRole('button', { name: 'Make the video' })).toBeVisible({ timeout: 15_000 })
  const walkthrough = (await desk.call('walkthrough.list', {}))[0]!
  expect(walkthrough.state).toBe('whole')
  const log: Log = parseLog((await desk.call('walkthrough.log', { id: walkthrough.id })).text)
  const kinds = new Set(log.rows.map(([, event]) => event.type))
  for (const kind of ['seek', 'play', 'stop', 'marks', 'draft', 'stage'] as const) expect(kinds).toContain(kind)

  // The sound is whole: as long as it says, its clicks a second apart but for the pause.
  const recorded = await soundOf(page, desk, walkthrough.id)
  expect((recorded.samples.length / recorded.sampleRate) * 1000).toBeCloseTo(walkthrough.durationMs, 3)
  const heard = clicks(recorded.samples, recorded.sampleRate)
  expect(heard.length).toBeGreaterThanOrEqual(3)
  const pausedAt = log.rows.find(([, event]) => event.type === 'stage')![0]
  const steps = heard.slice(1).flatMap((time, i) => (heard[i]! < pausedAt && time > pausedAt ? [] : [time - heard[i]!]))
  for (const step of steps) expect(Math.abs(step - 1000)).toBeLessThan(20)

  await page.getByRole('button', { name: 'Make the video' }).click()
  await page.getByRole('button', { name: 'Make it', exact: true }).click()
  await expect(page.getByRole('button', { name: 'Watch' })).toBeVisible({ timeout: 60_000 })
  const handoff = (await desk.call('handoff.list', {}))[0]!
  const video = handoff.path!

  // Every frame of the file shows what the log says at its time, and the mark where it is.
  const size = handoffSize(handoff.settings)
  const mark = Object.values(stateAt(log, walkthrough.durationMs).marks)[0]!
  expect(mark).toMatchObject({ meaning: 'head-box', weight: 7 })
  const ink = [1, 3, 5].map((i) => Number.parseInt(inkColours.head.slice(i, i + 2), 16))
  const wrong: string[] = []
  let read = 0
  let unread = 0
  let inked = 0
  const count = await eachPicture(video, (picture, n) => {
    const stage = stateAt(log, (n / 30) * 1000)
    for (const view of paneViews({ size, stage, clips: log.header.clips })) {
      const clip = log.header.clips[view.clipId]!
      const [[x0, y0], [x1, y1]] = [apply(view.place.transform, [0, 0]), apply(view.place.transform, [clip.width, clip.height])]
      const region = { x: Math.min(x0, x1), y: y0, width: Math.abs(x1 - x0), height: y1 - y0 }
      const number = readFrameNumber(picture.data![0]!, size.width, size.height, { stride: picture.linesize[0]!, region, mirrored: stage.panes[view.pane].mirror })
      read++
      // A side of the box in the making may lie on a cell of the number while it passes: then it is not read, but never read wrong.
      const covered = number === null && stage.draft?.clipId === view.clipId
      if (covered) unread++
      else if (number !== view.frame) wrong.push(`frame ${n}, pane ${view.pane}: reads ${number}, should be ${view.frame}`)
      if (view.clipId !== mark.clipId) continue
      // The middle of the box's upper side.
      const [a, b] = mark.points as [readonly [number, number], readonly [number, number]]
      const [x, y] = apply(view.place.transform, [(a[0] + b[0]) / 2, Math.min(a[1], b[1])]).map(Math.round) as [number, number]
      const off = Math.max(...rgbAt(picture, x, y).map((c, i) => Math.abs(c - ink[i]!)))
      const there = stage.draft === null && stage.marks[mark.id] !== undefined && showsAt(mark, tickOf(clip.frames, view.frame))
      if (there) {
        inked++
        if (off > 40) wrong.push(`frame ${n}: the mark is missing, off by ${off.toFixed(0)}`)
      } else if (stage.draft === null && off < 30) wrong.push(`frame ${n}: a mark that was not drawn yet`)
    }
  })
  expect(wrong.slice(0, 8)).toEqual([])
  expect(count).toBe(Math.ceil((walkthrough.durationMs / 1000) * 30))
  expect(read).toBe(count * 2)
  expect(unread).toBeLessThan(6)
  expect(inked).toBeGreaterThan(30)

  // The sound of the file stands where the recording's does.
  const inVideo = await readSound(video)
  const delivered = clicks(inVideo, rate)
  expect(delivered.length).toBe(heard.length)
  for (const [i, time] of delivered.entries()) expect(Math.abs(time - heard[i]!)).toBeLessThan(40)

  await page.getByRole('button', { name: 'Watch' }).click()
  const player = page.getByLabel('The finished video')
  await expect.poll(() => player.evaluate((element: HTMLVideoElement) => element.currentTime), { timeout: 10_000 }).toBeGreaterThan(0.5)
  expect(await player.evaluate((element: HTMLVideoElement) => [element.videoWidth, element.videoHeight])).toEqual([1280, 720])
})

test('what the coach does stands in the log where the sound has it, within 40 ms', async ({ page, desk }) => {
  await desk.call('settings.set', { countInSeconds: 0 })
  // A microphone of the page's own, so that a click can be sounded in the same instant as a key is pressed.
  await page.evaluate(() => {
    const audio = new AudioContext({ sampleRate: 48_000, latencyHint: 'interactive' })
    const out = audio.createMediaStreamDestination()
    const hum = new OscillatorNode(audio, { frequency: 150 })
    hum.connect(new GainNode(audio, { gain: 0.01 })).connect(out)
    hum.start()
    navigator.mediaDevices.getUserMedia = () => Promise.resolve(out.stream)
    Object.assign(window, {
      clickAndStep: () => {
        const buffer = audio.createBuffer(1, 96, 48_000)
        buffer.getChannelData(0).fill(0.9)
        const click = new AudioBufferSourceNode(audio, { buffer })
        click.connect(out)
        click.start()
        window.dispatchEvent(new KeyboardEvent('keydown', { key: 'ArrowRight', code: 'ArrowRight', bubbles: true }))
        window.dispatchEvent(new KeyboardEvent('keyup', { key: 'ArrowRight', code: 'ArrowRight', bubbles: true }))
      },
    })
  })
  await takeIn(page, desk)
  await page.keyboard.press('Control+Enter')
  await expect(page.locator(".recorder[data-state='recording']")).toBeVisible()
  await page.waitForTimeout(800)
  for (let i = 0; i < 6; i++) {
    await page.evaluate(() => (window as unknown as { clickAndStep(): void }).clickAndStep())
    await page.waitForTimeout(450)
  }
  await page.keyboard.press('Control+Enter')
  await expect(page.getByRole('button', { name: 'Make the video' })).toBeVisible({ timeout: 15_000 })
  const { id } = (await desk.call('walkthrough.list', {}))[0]!
  const log = parseLog((await desk.call('walkthrough.log', { id })).text)
  const moved = log.rows.flatMap(([at, event]) => (event.type === 'seek' ? [at] : []))
  const { samples, sampleRate } = await soundOf(page, desk, id)
  const heard = clicks(samples, sampleRate)
  expect(moved).toHaveLength(6)
  expect(heard).toHaveLength(6)
  for (const [i, at] of moved.entries()) expect(Math.abs(heard[i]! - at)).toBeLessThan(40)
})

test('a window that dies while recording loses at most a second', async ({ page, desk, context }) => {
  await desk.call('settings.set', { countInSeconds: 0 })
  await takeIn(page, desk)
  await page.keyboard.press('Control+Enter')
  await expect(page.locator(".recorder[data-state='recording']")).toBeVisible()
  const began = Date.now()
  await page.waitForTimeout(2500)
  await page.keyboard.press('ArrowRight')
  await page.waitForTimeout(500)
  const recordedMs = Date.now() - began
  const next = await context.newPage()
  await page.close({ runBeforeUnload: false })
  await desk.kill()
  await next.close()
  const fresh = await context.newPage()
  await desk.restart(fresh)
  const [kept] = await desk.call('walkthrough.list', {})
  expect(kept!.state).toBe('recovered')
  expect(kept!.durationMs).toBeGreaterThan(recordedMs - 1000)
  const log = parseLog((await desk.call('walkthrough.log', { id: kept!.id })).text)
  expect(log.rows.some(([, event]) => event.type === 'seek')).toBe(true)
})

test('the recording that has just ended is the one that opens, whatever the Lesson showed before', async ({ page, desk }) => {
  await desk.call('settings.set', { countInSeconds: 0 })
  await takeIn(page, desk)
  const stage = page.locator('.lesson-stage')
  for (let made = 1; made <= 3; made++) {
    await page.keyboard.press('Shift+2')
    await page.keyboard.press('Control+Enter')
    await expect(page.locator('.recorder[data-state="recording"]')).toBeVisible()
    // Seen from the other rooms, too, and the way back.
    await page.keyboard.press('Shift+1')
    await page.getByRole('button', { name: 'Recording', exact: true }).click()
    await page.keyboard.press('Control+Enter')
    await expect(stage).toBeVisible({ timeout: 15_000 })
    await expect(page.locator('.lesson-item')).toHaveCount(made)
    await expect(page.locator('.lesson-item').first()).toHaveAttribute('aria-current', 'true')
    const { id } = (await desk.call('walkthrough.list', {})).toSorted((a, b) => b.createdAt - a.createdAt)[0]!
    await desk.call('walkthrough.rename', { id, title: `Number ${made}` })
    await expect(stage.getByRole('heading', { name: `Number ${made}` })).toBeVisible()
    // The oldest is opened before the next is made.
    await page.locator('.lesson-item').last().click()
    await expect(stage.getByRole('heading', { name: 'Number 1' })).toBeVisible()
  }
  await expect(page.getByRole('button', { name: 'Recording', exact: true })).toHaveCount(0)
})
