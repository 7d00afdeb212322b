import { mkdir, mkdtemp, readdir, readFile, rm, truncate, utimes, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { Packet } from 'node-av'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { LessonFrames } from '../../electron/handoff/lessonFrames.ts'
import { SizeGoal } from '../../electron/handoff/sizeGoal.ts'
import { readPackets, writePackets } from '../../electron/handoff/packetFile.ts'
import { renderHandoff, type HandoffRequest } from '../../electron/handoff/renderHandoff.ts'
import { SegmentKeys } from '../../electron/handoff/segmentKey.ts'
import { nextOf } from '../../electron/handoff/segmentPool.ts'
import { sweepSegments } from '../../electron/handoff/segmentStore.ts'
import { openMedia } from '../../electron/media/openMedia.ts'
import { apply } from '../../shared/geometry/affine.ts'
import { imagePoint } from '../../shared/geometry/vec.ts'
import { paneViews } from '../../shared/picture/views.ts'
import { untouched, type Edits, type Piece } from '../../shared/walkthrough/edits.ts'
import type { LogRow } from '../../shared/walkthrough/log.ts'
import { Programme } from '../../shared/walkthrough/programme.ts'
import { tickOf } from '../../shared/walkthrough/motion.ts'
import { eachPicture, lesson, listedChapters, mark, readSound, stageClip, talk, writeWav } from '../fixtures/lesson.ts'
import { makeNumberedClip, readFrameNumber } from '../fixtures/numberedClip.ts'

const settings = { size: '720p', orientation: 'landscape', fps: 30, title: '' } as const
const seconds = 9
const size = { width: 1280, height: 720 }
let folder = ''
let request: HandoffRequest
const at = (name: string): string => join(folder, name)
const second = (s: number): number => Math.round(s * 48_000)
const edited = (pieces: readonly Piece[], more: Partial<Edits> = {}): HandoffRequest => ({ ...request, edits: { ...request.edits, pieces, ...more } })
const play = (id: string, from: number, to: number): Piece => ({ id, kind: 'take', takeId: 'take', from: second(from), to: second(to) })

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'crossbearing-segments-'))
  for (const id of ['left', 'right']) await makeNumberedClip(at(`${id}.mp4`), { width: 270, height: 480, frames: 300, fps: 30, gop: 30, bframes: 2, texture: true })
  const [left, right] = await Promise.all(['left', 'right'].map((id) => stageClip(id, at(`${id}.mp4`))))
  await writeWav(at('talk.wav'), talk(seconds))
  const line = mark('line', 'right', { points: [imagePoint(40, 400), imagePoint(230, 400)], span: { from: tickOf(right!.frames, 200), to: tickOf(right!.frames, 240) } })
  const rows: LogRow[] = [[0, { type: 'play', motion: { rate: 1, moving: 'both', loop: null } }], [500, { type: 'chapter', title: 'Grip' }], [5000, { type: 'chapter', title: 'Top' }]]
  const take = { id: 'take', log: lesson([left!, right!], rows, { marks: { line } }), durationMs: seconds * 1000, soundPath: at('talk.wav') }
  request = { takes: [take], edits: untouched(take), clips: { left: { path: at('left.mp4') }, right: { path: at('right.mp4') } }, settings, segments: at('segments'), out: at('out.mp4') }
})
afterAll(() => rm(folder, { recursive: true, force: true }))

/** The number that each picture of a file shows in its left pane. */
async function numbersIn(path: string): Promise<(number | null)[]> {
  const { log } = request.takes[0]!
  const [view] = paneViews({ size, stage: log.header.initial, clips: log.header.clips })
  const [[x, y], [right, bottom]] = [apply(view!.place.transform, [0, 0]), apply(view!.place.transform, [270, 480])]
  const numbers: (number | null)[] = []
  await eachPicture(path, (picture) => void numbers.push(readFrameNumber(picture.data![0]!, size.width, size.height, { stride: picture.linesize[0]!, region: { x, y, width: right - x, height: bottom - y }, mirrored: false })))
  return numbers
}

describe('a lesson in segments', () => {
  let whole: Buffer
  it('is the same file however many are made at once, and made again of nothing but what was kept', async () => {
    const first = await renderHandoff(request, { workers: 2 })
    whole = await readFile(request.out)
    expect(first).toMatchObject({ frames: 270, segments: 5, reused: 0 })
    const again = await renderHandoff({ ...request, out: at('again.mp4') }, { workers: 2 })
    expect(again).toMatchObject({ segments: 5, reused: 5 })
    expect((await readFile(at('again.mp4'))).equals(whole)).toBe(true)
    const { segments: _, ...alone } = request
    expect(await renderHandoff({ ...alone, out: at('alone.mp4') }, { workers: 1 })).toMatchObject({ reused: 0 })
    expect((await readFile(at('alone.mp4'))).equals(whole)).toBe(true)
    expect((await readdir(folder)).filter((name) => name.endsWith('.part'))).toEqual([])
  })

  it('makes anew only what a late edit changed, and what lies behind a cut only where the cut falls', async () => {
    const title: Piece = { id: 'end', kind: 'card', title: 'See you in a week', lines: ['Film the drill'], lasts: second(1) }
    expect(await renderHandoff({ ...edited([...request.edits.pieces, title]), out: at('card.mp4') })).toMatchObject({ frames: 300, segments: 6, reused: 5 })
    // 1.21 seconds go at 2.5: from 2 on is cut short, and the stretch that the sound goes on in; the rest has only moved.
    const cut = await renderHandoff({ ...edited([play('a', 0, 2.5), play('b', 3.71, seconds)]), out: at('cut.mp4') })
    expect(cut.frames).toBe(Math.ceil((seconds - 1.21) * 30))
    expect(cut.segments - cut.reused).toBeLessThanOrEqual(2)
    expect(cut.reused).toBeGreaterThanOrEqual(3)
    const numbers = await numbersIn(at('cut.mp4'))
    for (const [n, number] of numbers.entries()) {
      const heard = n / 30 < 2.5 ? n / 30 : n / 30 + 1.21
      expect(Math.abs(number! / 30 + 0.5 / 30 - (heard + 0.5 / 30)), `picture ${n} shows ${number}`).toBeLessThanOrEqual(0.5 / 30 + 1 / 30 + 1e-6)
    }
    const fix = { id: 'fix', over: [{ takeId: 'take', from: 0, to: second(seconds) }], change: { kind: 'change', markId: 'line', patch: { weight: 12 } } } as const
    const fixed = await renderHandoff({ ...edited(request.edits.pieces, { fixes: [fix] }), out: at('fixed.mp4') })
    // The mark shows from 6.67 to 8 seconds: one segment, and the first picture of the next at most.
    expect(fixed.segments - fixed.reused).toBeLessThanOrEqual(2)
    expect(fixed.segments - fixed.reused).toBeGreaterThanOrEqual(1)
  })

  it('holds a picture, and has the sound of its pieces with silence between', async () => {
    const hold: Piece = { id: 'h', kind: 'hold', takeId: 'take', at: second(3), lasts: second(1) }
    await renderHandoff({ ...edited([play('a', 0, 3), hold, play('b', 3, 5)]), out: at('held.mp4') })
    const numbers = await numbersIn(at('held.mp4'))
    expect(numbers.length).toBe(180)
    expect(new Set(numbers.slice(90, 120)).size).toBe(1)
    expect(numbers[150]).toBe(120)
    const heard = await readSound(at('held.mp4'))
    const loudest = (from: number, to: number): number => heard.subarray(second(from), second(to)).reduce((most, sample) => Math.max(most, Math.abs(sample)), 0)
    expect(loudest(3.05, 3.95)).toBeLessThan(0.01)
    expect(loudest(1, 3)).toBeGreaterThan(0.1)
    expect(loudest(4, 6)).toBeGreaterThan(0.1)
  })

  it('goes on from finished segments after a broken-off render, and makes a broken one again', async () => {
    await rm(at('segments'), { recursive: true })
    const cancel = new AbortController()
    const broken = renderHandoff({ ...request, out: at('broken.mp4') }, { workers: 1, signal: cancel.signal, onProgress: ({ framesDone }) => framesDone > 100 && cancel.abort() })
    await expect(broken).rejects.toMatchObject({ fault: { kind: 'cancelled' } })
    const kept = (await readdir(at('segments'))).filter((name) => name.endsWith('.segment'))
    expect(kept.length).toBeGreaterThan(0)
    await truncate(join(at('segments'), kept[0]!), 1000)
    const result = await renderHandoff({ ...request, out: at('broken.mp4') })
    expect(result.reused).toBe(kept.length - 1)
    expect((await readFile(at('broken.mp4'))).equals(whole)).toBe(true)
  })

  it('has its chapters as a list and as a track, and its captions as text', async () => {
    const captions = [{ fromMs: 400, toMs: 1900, text: 'Look at the elbow.' }, { fromMs: 4000, toMs: 6000, text: 'Zwei\nZeilen, ä' }]
    await renderHandoff({ ...request, captions, out: at('texts.mp4') })
    const bytes = await readFile(at('texts.mp4'))
    expect(await listedChapters(at('texts.mp4'))).toEqual([['Grip', 0], ['Top', 5000]])
    // The picture's track refers to track 4, whose samples lie where its table says.
    const reference = bytes.indexOf('chap')
    expect(bytes.toString('latin1', reference - 8, reference - 4)).toBe('tref')
    expect(bytes.readUInt32BE(reference + 4)).toBe(4)
    await using media = await openMedia(at('texts.mp4'))
    using packet = new Packet()
    packet.alloc()
    const texts: Record<number, [number, string][]> = {}
    while ((await media.format.readFrame(packet)) >= 0) {
      const { streamIndex, data } = packet
      if (streamIndex > 1 && data && data.readUInt16BE(0) > 0) (texts[streamIndex] ??= []).push([Number(packet.pts), data.toString('utf8', 2, 2 + data.readUInt16BE(0))])
      packet.unref()
    }
    expect(texts[2]).toEqual([[400, 'Look at the elbow.'], [4000, 'Zwei\nZeilen, ä']])
    const chunk = bytes.indexOf('stco', bytes.indexOf('text', reference))
    expect([0, 1].map((i) => bytes.readUInt32BE(chunk + 12 + 4 * i)).map((offset) => bytes.toString('utf8', offset + 2, offset + 2 + bytes.readUInt16BE(offset)))).toEqual(['Grip', 'Top'])
    // The picture is where it was.
    expect((await numbersIn(at('texts.mp4')))[200]).toBe(200)
  })

  it('meets a size', async () => {
    expect(whole.length).toBeGreaterThan(1_050_000)
    const small = await renderHandoff({ ...request, settings: { ...settings, sizeGoalMb: 1 }, out: at('small.mp4') })
    expect(small.bytes).toBeLessThanOrEqual(1_000_000)
    expect(small.bytes).toBeGreaterThan(600_000)
    expect(small.crf).toBeGreaterThan(20)
  })
})

describe('which pictures a lesson has', () => {
  it('as many as the sound needs, each nearest to what is heard, in segments without a gap', () => {
    const { log } = request.takes[0]!
    const piece = fc.tuple(fc.integer({ min: 0, max: 400_000 }), fc.integer({ min: 1, max: 200_000 }))
    fc.assert(fc.property(fc.array(piece, { minLength: 1, maxLength: 8 }), fc.constantFrom(30, 60), (spans, fps) => {
      const pieces = spans.map(([from, length], i): Piece => ({ id: String(i), kind: 'take', takeId: 'take', from, to: from + length }))
      const programme = new Programme([{ id: 'take', log, durationMs: 20_000 }], { ...request.edits, pieces })
      const frames = new LessonFrames(programme, fps)
      expect(frames.count).toBe(Math.ceil((programme.length * fps) / 48_000))
      let next = 0
      for (const { first, count } of frames.segments()) {
        expect(first).toBe(next)
        expect(count).toBeGreaterThan(0)
        next += count
      }
      expect(next).toBe(frames.count)
    }), { numRuns: 60 })
  })

  it('have names that change with what is seen and with nothing else', () => {
    const keys = (pieces: readonly Piece[]): string[] => {
      const frames = new LessonFrames(new Programme(request.takes, { ...request.edits, pieces }), 30)
      const namer = new SegmentKeys({ size, made: 'this program', content: { left: 'l', right: 'r' } })
      return frames.segments().map((segment) => namer.plan(frames, segment).key)
    }
    const plain = keys([play('a', 0, 9)])
    expect(new Set(plain).size).toBe(5)
    expect(keys([play('other', 0, 9)])).toEqual(plain)
    expect(keys([{ id: 'c', kind: 'card', title: 'Hello', lines: [], lasts: second(1.5) }, play('a', 0, 9)]).slice(1)).toEqual(plain)
    expect(keys([play('a', 2, 9)])).toEqual(plain.slice(1))
  })
})

describe('a size to be met', () => {
  /** Bytes of an encoder that halves its bits every `steps` of crf. */
  const encoded = (crf: number, steps: number): number => 40_000_000 * 2 ** (-(crf - 20) / steps)
  it('is met in a few tries whatever the film is like, and not by making it coarser than it needs to be', () => {
    fc.assert(fc.property(fc.double({ min: 5.2, max: 7, noNaN: true }), fc.double({ min: 10, max: 60, noNaN: true }), (steps, mb) => {
      const goal = new SizeGoal(mb * 1e6, 1_000_000, 3000, 30)
      let tries = 1
      while (!goal.met(encoded(goal.crf, steps))) tries++
      const bytes = encoded(goal.crf, steps) + 1_000_000
      expect(tries).toBeLessThanOrEqual(3)
      expect(bytes).toBeLessThanOrEqual(mb * 1e6)
      if (goal.crf > 20) expect(bytes).toBeGreaterThan(mb * 1e6 * 0.68)
    }))
  })

  it('is broken off early where it is plainly out of reach, and said to be out of reach where it is', () => {
    const goal = new SizeGoal(10e6, 1e6, 3000, 30)
    expect(goal.outgrown(5_000_000, 500)).toBe(false)
    expect(goal.outgrown(5_000_000, 500)).toBe(true)
    expect(goal.met(10_000_000)).toBe(false)
    expect(goal.crf).toBeGreaterThan(28)
    expect(() => new SizeGoal(1e6, 1_100_000, 3000, 30)).toThrow(/cannot be brought under 1 MB/)
    const hopeless = new SizeGoal(2e6, 1e6, 3000, 30)
    expect(() => hopeless.met(400_000_000)).toThrow(/cannot be brought under 2 MB/)
  })
})

describe('what is kept', () => {
  it('comes back as it was, or not at all', async () => {
    const run = { extradata: Buffer.from([1, 2, 3]), packets: [{ pts: 0, duration: 1, key: true, data: Buffer.from('abc') }, { pts: 3, duration: 1, key: false, data: Buffer.from('defg') }] }
    await writePackets(at('run'), run)
    expect(await readPackets(at('run'))).toEqual(run)
    const bytes = await readFile(at('run'))
    for (const spoilt of [bytes.subarray(0, -1), Buffer.concat([bytes, Buffer.from('x')]), bytes.with(bytes.length - 2, 0), Buffer.from('something else')]) {
      await writeFile(at('run'), spoilt)
      expect(await readPackets(at('run'))).toBeNull()
    }
    expect(await readPackets(at('nothing'))).toBeNull()
  })

  it('fits its limit: what was not used for longest goes, and what is half written', async () => {
    const inside = join(folder, 'swept')
    await rm(inside, { recursive: true, force: true })
    await mkdir(inside)
    for (const [i, name] of ['old.segment', 'new.segment', 'newest.segment', 'half.segment.part'].entries()) {
      await writeFile(join(inside, name), Buffer.alloc(1000))
      await utimes(join(inside, name), 1000 + i, 1000 + i)
    }
    await sweepSegments(inside, 2500)
    expect((await readdir(inside)).sort()).toEqual(['new.segment', 'newest.segment'])
  })

  it('is begun where decoders stand, else in the middle of the longest stretch left', () => {
    expect(nextOf(new Set([4, 5, 6]), 3)).toBe(4)
    expect(nextOf(new Set([1, 5, 6, 7, 8]), 9)).toBe(7)
    expect(nextOf(new Set([2]), 7)).toBe(2)
    expect(nextOf(new Set(), 7)).toBeNull()
  })
})
