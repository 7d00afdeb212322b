import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { AV_SAMPLE_FMT_FLTP, Decoder, Demuxer } from 'node-av'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { makeDemoKit, type ClipTruth, type DemoKit } from '../../electron/desk/demo/kit.ts'
import { demoShots } from '../../electron/desk/demo/plan.ts'
import { clipSound, sampleRate } from '../../electron/desk/demo/sound.ts'
import { clipTruth, pointsFile } from '../../electron/desk/demo/truth.ts'
import { parsePointsFile } from '../../shared/contract/pointsFile.ts'

const made: string[] = []
const scratch = (): string => {
  const folder = mkdtempSync(join(tmpdir(), 'demo-kit-'))
  made.push(folder)
  return folder
}
afterAll(() => made.forEach((folder) => rmSync(folder, { recursive: true, force: true })))

/** What a decoder finds in a clip: ticks of the frames, first luma rows' size, sound. */
async function decode(
  path: string,
): Promise<{ ticks: number[]; timescale: number; width: number; height: number; sound: Float32Array; tags: Record<string, string> }> {
  await using input = await Demuxer.open(path)
  const video = input.video()!
  const audio = input.audio()!
  using pictures = await Decoder.create(video)
  using sounds = await Decoder.create(audio)
  const ticks: number[] = []
  const sound: Float32Array[] = []
  let width = 0
  let height = 0
  for await (const frame of pictures.frames(input.packets(video.index))) {
    if (!frame) continue
    ticks.push(Number(frame.pts))
    width = frame.width
    height = frame.height
    frame.free()
  }
  await using again = await Demuxer.open(path)
  for await (const frame of sounds.frames(again.packets(audio.index))) {
    if (!frame) continue
    expect(frame.format).toBe(AV_SAMPLE_FMT_FLTP)
    const plane = frame.data![0]!
    sound.push(new Float32Array(plane.buffer.slice(plane.byteOffset, plane.byteOffset + frame.nbSamples * 4)))
    frame.free()
  }
  const whole = new Float32Array(sound.reduce((sum, part) => sum + part.length, 0))
  let at = 0
  for (const part of sound) {
    whole.set(part, at)
    at += part.length
  }
  return { ticks, timescale: video.timeBase.den, width, height, sound: whole, tags: input.getFormatContext().metadata?.getAll() ?? {} }
}

describe('a small kit', () => {
  let kit: DemoKit
  const seen: number[] = []
  const ids = ['rowan-face-on', 'rowan-down-the-line', 'linden-down-the-line-slow-motion']
  beforeAll(async () => {
    kit = await makeDemoKit(scratch(), { scale: 0.2, seconds: 0.8, only: ids, onProgress: ({ done, total }) => seen.push(done / total) })
  })
  const clip = (id: string) => kit.clips.find((one) => one.id === id)!
  const truthOf = (id: string) => JSON.parse(readFileSync(clip(id).truthPath, 'utf8')) as ClipTruth

  test('tells its progress to the end', () => {
    expect(seen.length).toBe(48 + 48 + 96)
    expect(seen).toEqual([...seen].sort((a, b) => a - b))
    expect(seen.at(-1)).toBe(1)
  })

  test('holds what it lists and nothing else', () => {
    const files = readdirSync(kit.folder).sort()
    expect(files).toEqual([...ids.flatMap((id) => [`${id}.mp4`, `${id}.truth.json`]), 'linden.points.json', 'rowan.points.json'].sort())
    expect(kit.students.map((one) => one.name)).toEqual(['Rowan', 'Linden'])
    expect(kit.pairs.map((pair) => [pair.studentId, pair.sameSwing])).toEqual([
      ['linden', true],
      ['rowan', true],
    ])
  })

  test.each(ids)('%s decodes to its frames at their ticks', async (id) => {
    const found = await decode(clip(id).path)
    const truth = truthOf(id)
    expect([found.width, found.height]).toEqual([216, 384])
    expect(found.timescale).toBe(truth.timescale)
    expect(found.ticks).toEqual(truth.frames.map((frame) => frame.tick))
    expect(found.tags['com.android.capture.fps']).toBe(id.includes('slow') ? '120' : undefined)
    expect(Math.abs(found.sound.length / sampleRate - found.ticks.length / truth.playRate)).toBeLessThan(0.05)
    // The click: the loudest hundredth of a second starts at impact, in the file's own time.
    const impact = clip(id).events.impact!.tick / truth.timescale
    const grain = sampleRate / 100
    const loud = Array.from({ length: Math.floor(found.sound.length / grain) }, (_, i) =>
      found.sound.subarray(i * grain, (i + 1) * grain).reduce((sum, x) => sum + x * x, 0),
    )
    const loudest = (loud.indexOf(Math.max(...loud)) + 0.5) / 100
    expect(loudest).toBeGreaterThan(impact - 0.03)
    expect(loudest).toBeLessThan(impact + 0.05)
  })

  test('two phones of one swing have their own clocks and one swing', () => {
    const a = truthOf('rowan-face-on')
    const b = truthOf('rowan-down-the-line')
    expect(a.swing).toEqual(b.swing)
    expect(a.events.top!.tick).not.toBe(b.events.top!.tick)
    const atTop = (truth: ClipTruth) => truth.startS + truth.events.top!.tick / truth.timescale
    expect(atTop(a)).toBeCloseTo(atTop(b), 4)
    const slow = truthOf('linden-down-the-line-slow-motion')
    expect(slow.startS + slow.events.impact!.tick / slow.timescale / 4).toBeCloseTo(slow.events.impact!.t, 4)
  })

  test('its points files are valid', () => {
    for (const pair of kit.pairs)
      expect(parsePointsFile(JSON.parse(readFileSync(pair.pointsPath, 'utf8')))).toMatchObject({ ok: true, ignored: [] })
  })
})

describe('the plan', () => {
  test('whole points files are valid, and a left-hander is filmed in his own triad', () => {
    const truths = demoShots().map((shot) => [shot, clipTruth(shot, 1)] as const)
    for (const pair of ['rowan-pair', 'maren-pair', 'linden-pair']) {
      const parts = truths.filter(([shot]) => shot.pair === pair)
      const result = parsePointsFile(
        pointsFile(
          parts.map(([, truth]) => truth),
          new Set(parts.map(([shot]) => shot.swing)).size === 1,
        ),
      )
      expect(result).toMatchObject({ ok: true, ignored: [] })
      if (!result.ok) continue
      expect(result.file.sameSwing).toBe(pair !== 'maren-pair')
      expect(result.file.handedness).toBe(pair === 'maren-pair' ? 'left' : 'right')
      // A body seen from one side has all its joints in the picture all the time; only the club and the ball may leave it.
      for (const view of result.file.views)
        expect(Math.min(...view.frames.map((frame) => Object.keys(frame.points).length))).toBeGreaterThanOrEqual(18)
    }
    const whole = truths.map(([, truth]) => Object.keys(truth.events).length)
    expect(whole).toEqual(whole.map(() => 10))
  })

  test('the club stays in the picture but for a moment', () => {
    for (const shot of demoShots()) {
      const { frames, widthPx } = clipTruth(shot, 1)
      const lost = frames.filter((frame) => !frame.pixel['clubhead']).length
      expect(lost / frames.length, shot.id).toBeLessThan(0.06)
      for (const frame of frames)
        for (const name of ['crown', 'hands', 'leadAnkle', 'trailAnkle']) expect(frame.pixel[name], `${name} in ${shot.id}`).toBeDefined()
      const middle = frames[0]!.pixel['spineBase']![0]
      expect(Math.abs(middle - widthPx / 2)).toBeLessThan(widthPx * 0.3)
    }
  })

  test('the sound repeats itself exactly and is quiet without a click', () => {
    expect(clipSound(0.5, 0.2, 1, 3)).toEqual(clipSound(0.5, 0.2, 1, 3))
    expect(Math.max(...clipSound(0.5, null, 1, 3).map(Math.abs))).toBeLessThan(0.03)
    expect(Math.max(...clipSound(0.5, 0.2, 1, 3).map(Math.abs))).toBeGreaterThan(0.25)
  })
})

describe('what goes wrong', () => {
  test('a stopped kit leaves nothing behind, and what was there before stays', async () => {
    const folder = scratch()
    writeFileSync(join(folder, 'mine.txt'), 'mine')
    const stop = new AbortController()
    const making = makeDemoKit(folder, {
      scale: 0.1,
      seconds: 0.8,
      only: ['rowan-face-on', 'maren-face-on'],
      signal: stop.signal,
      onProgress: ({ done }) => done === 20 && stop.abort(new Error('enough')),
    })
    await expect(making).rejects.toThrow('enough')
    expect(readdirSync(folder)).toEqual(['mine.txt'])
  })
  test('nonsense is refused in words', async () => {
    await expect(makeDemoKit(scratch(), { scale: 3 })).rejects.toThrow(/size must be/)
    await expect(makeDemoKit(scratch(), { seconds: 0.1 })).rejects.toThrow(/lasts/)
    await expect(makeDemoKit(scratch(), { only: ['nobody'] })).rejects.toThrow(/No clip/)
  })
})
