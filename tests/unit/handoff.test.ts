import { mkdir, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { AV_CODEC_ID_AAC, AV_CODEC_ID_H264, AV_PIX_FMT_YUV420P, AVCOL_PRI_BT709, AVCOL_RANGE_MPEG, AVCOL_SPC_BT709, AVCOL_TRC_BT709, FFmpegError, Packet } from 'node-av'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { HandoffClip } from '../../electron/handoff/openClips.ts'
import { asHandoffError } from '../../electron/handoff/handoffError.ts'
import { renderHandoff, type HandoffResult } from '../../electron/handoff/renderHandoff.ts'
import { findLevel, measureLoudness } from '../../electron/handoff/speech.ts'
import { openMedia } from '../../electron/media/openMedia.ts'
import { DeskError } from '../../shared/contract/errors.ts'
import { handoffSize, type HandoffSettings } from '../../shared/contract/walkthrough.ts'
import { apply } from '../../shared/geometry/affine.ts'
import { imagePoint } from '../../shared/geometry/vec.ts'
import { paneViews } from '../../shared/picture/drawInstant.ts'
import { inkColours } from '../../shared/picture/palette.ts'
import { stateAt, type Log, type LogRow } from '../../shared/walkthrough/log.ts'
import { tickOf } from '../../shared/walkthrough/motion.ts'
import type { StageClip } from '../../shared/walkthrough/stage.ts'
import { eachPicture, lesson, mark, readSound, rgbAt, stageClip, talk, wholeTake, writeWav } from '../fixtures/lesson.ts'
import { cornerColours, makeNumberedClip, readFrameNumber, unevenTimes } from '../fixtures/numberedClip.ts'

const settings: HandoffSettings = { size: '720p', orientation: 'landscape', fps: 30, title: 'What to change first' }
const seconds = 6.02
const clickAt = 2
const rgbOf = (hex: string): number[] => [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16))

let folder = ''
let clips: Record<string, HandoffClip>
let left: StageClip
let right: StageClip
let sound = ''
const at = (name: string): string => join(folder, name)

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'crossbearing-handoff-'))
  // One constant with B-frames, one of uneven times that a player must turn.
  await makeNumberedClip(at('left.mp4'), { width: 270, height: 480, frames: 240, fps: 60, gop: 30, bframes: 2, texture: true })
  await makeNumberedClip(at('right.mp4'), { width: 270, height: 480, frames: 160, times: unevenTimes(160), gop: 25, rotate: 90, texture: true })
  clips = { left: { path: at('left.mp4') }, right: { path: at('right.mp4') } }
  left = await stageClip('left', at('left.mp4'), 240)
  right = await stageClip('right', at('right.mp4'))
  sound = at('talk.wav')
  const samples = talk(seconds)
  samples.fill(0, (clickAt - 0.2) * 48_000, (clickAt + 0.2) * 48_000)
  for (let i = 0; i < 96; i++) samples[clickAt * 48_000 + i] = 0.9 * (i % 8 < 4 ? 1 : -1)
  await writeWav(sound, samples)
})
afterAll(() => rm(folder, { recursive: true, force: true }))

/** Seeks both ways, a quarter, a loop, a tie, a zoom in steps, a mirror, a span's mark, one at the click, a pointer. */
function script(): Log {
  const frame = (clip: StageClip, n: number): number => tickOf(clip.frames, n)
  const head = mark('head', 'left', { shape: 'box', points: [imagePoint(60, 60), imagePoint(200, 160)], ink: 'head', weight: 12, span: { from: frame(left, 20), to: frame(left, 60) } })
  const line = mark('line', 'right', { points: [imagePoint(40, 400), imagePoint(230, 400)], ink: 'body', weight: 12 })
  const rows: LogRow[] = [
    [0, { type: 'tie', tie: { left: frame(left, 100), right: frame(right, 50) } }],
    [100, { type: 'seek', ticks: [frame(left, 12), frame(right, 80)] }],
    [300, { type: 'seek', ticks: [frame(left, 11), frame(right, 30)] }],
    [333, { type: 'pane', pane: 0, patch: { tick: frame(left, 10) } }],
    [500, { type: 'play', motion: { rate: 0.25, moving: 0, loop: { from: frame(left, 15), to: frame(left, 70) } } }],
    [clickAt * 1000, { type: 'marks', diff: { added: { line }, updated: {}, removed: {} } }],
    [2200, { type: 'stop' }],
    [2300, { type: 'pane', pane: 1, patch: { mirror: true } }],
    ...Array.from({ length: 12 }, (_, i): LogRow => [2500 + i * 33.4, { type: 'pane', pane: 0, patch: { zoom: 1 + (i + 1) / 24 } }]),
    [3000, { type: 'play', motion: { rate: 0.25, moving: 'both', loop: null } }],
    [3600, { type: 'pointer', pointer: { pane: 1, at: imagePoint(135, 100) } }],
    [4100, { type: 'pointer', pointer: null }],
    [4200, { type: 'swap' }],
    [4600, { type: 'seek', ticks: [frame(right, 159), frame(left, 239)] }],
    [4800, { type: 'seek', ticks: [frame(right, 3), frame(left, 200)] }],
    [5000, { type: 'play', motion: { rate: 1, moving: 'both', loop: null } }],
    [5500, { type: 'layout', layout: 'single', active: 0 }],
  ]
  return lesson([left, right], rows, { marks: { head } })
}

describe('a hand-off', () => {
  let log: Log
  let result: HandoffResult
  const told: number[] = []
  beforeAll(async () => {
    log = script()
    result = await renderHandoff({ ...await wholeTake(log, sound), clips, settings, out: at('lesson.mp4') }, { onProgress: ({ share }) => told.push(share) })
  })

  it('shows on every frame what the log says at that time, with the marks over it', async () => {
    const size = handoffSize(settings)
    const wrong: string[] = []
    let numbersRead = 0
    let inked = 0
    const count = await eachPicture(result.path, (picture, n, time) => {
      if (Math.abs(time - n / 30) > 1e-6) wrong.push(`frame ${n} stands at ${time}`)
      const stage = stateAt(log, (n / 30) * 1000)
      for (const view of paneViews({ size, stage, clips: log.header.clips })) {
        const clip = log.header.clips[view.clipId]!
        const [[x0, y0], [x1, y1]] = [apply(view.place.transform, [0, 0]), apply(view.place.transform, [clip.width, clip.height])]
        const region = { x: Math.min(x0, x1), y: y0, width: Math.abs(x1 - x0), height: y1 - y0 }
        const number = readFrameNumber(picture.data![0]!, size.width, size.height, { stride: picture.linesize[0]!, region, mirrored: stage.panes[view.pane].mirror })
        numbersRead++
        if (number !== view.frame) wrong.push(`frame ${n}, pane ${view.pane}: reads ${number}, should be ${view.frame}`)
        const probes = [
          { id: 'head', clipId: 'left', point: [130, 60] as const, ink: inkColours.head, on: view.frame >= 20 && view.frame <= 60 },
          { id: 'line', clipId: 'right', point: [135, 400] as const, ink: inkColours.body, on: n >= clickAt * 30 },
        ]
        for (const { id, clipId, point, ink, on } of probes) {
          if (clipId !== view.clipId) continue
          const [x, y] = apply(view.place.transform, point).map(Math.round) as [number, number]
          if (x < view.rect.x + 4 || x >= view.rect.x + view.rect.width - 4 || y < view.rect.y + 4 || y >= view.rect.y + view.rect.height - 4) continue
          const off = Math.max(...rgbAt(picture, x, y).map((c, i) => Math.abs(c - rgbOf(ink)[i]!)))
          if (on) inked++
          if (on ? off > 24 : off < 40) wrong.push(`frame ${n}: mark ${id} ${on ? 'missing' : 'there'} (${off.toFixed(0)} off)`)
        }
      }
    })
    expect(wrong.slice(0, 12)).toEqual([])
    expect(count).toBe(Math.ceil(seconds * 30))
    expect(result.frames).toBe(count)
    expect(numbersRead).toBeGreaterThan(300)
    expect(inked).toBeGreaterThan(150)
  })

  it('keeps the colours of what was filmed', async () => {
    const size = handoffSize(settings)
    let worst = 0
    let seen = 0
    await eachPicture(result.path, (picture, n) => {
      if (n % 30 !== 2) return
      const stage = stateAt(log, (n / 30) * 1000)
      for (const view of paneViews({ size, stage, clips: log.header.clips })) {
        if (stage.panes[view.pane].zoom > 1) continue
        const corners = [['topLeft', 12, 12], ['topRight', 258, 12], ['bottomLeft', 12, 468], ['bottomRight', 258, 468]] as const
        for (const [name, x, y] of corners) {
          const [cx, cy] = apply(view.place.transform, [x, y]).map(Math.round) as [number, number]
          const [luma, u, v] = cornerColours[name]
          const [Y, Pb, Pr] = [((luma - 16) * 255) / 219, ((u - 128) * 255) / 224, ((v - 128) * 255) / 224]
          const [red, blue] = [Y + 1.5748 * Pr, Y + 1.8556 * Pb]
          const wanted = [red, (Y - 0.2126 * red - 0.0722 * blue) / 0.7152, blue].map((c) => Math.min(255, Math.max(0, c)))
          rgbAt(picture, cx, cy).forEach((c, i) => (worst = Math.max(worst, Math.abs(c - wanted[i]!))))
          seen++
        }
      }
    })
    expect(seen).toBeGreaterThan(20)
    expect(worst).toBeLessThan(6)
  })

  it('has sound and picture in step, and speech at -16 LUFS under -1 dBTP', async () => {
    const heard = await readSound(result.path)
    let loudest = 0
    for (let i = (clickAt - 0.19) * 48_000; i < (clickAt + 0.19) * 48_000; i++) if (Math.abs(heard[i]!) > Math.abs(heard[loudest]!)) loudest = i
    expect(Math.abs(loudest / 48_000 - clickAt)).toBeLessThan(0.004)
    expect(heard.length / 48_000).toBeGreaterThanOrEqual(seconds - 0.001)
    expect(heard.length / 48_000).toBeLessThan(seconds + 0.05)
    const before = await measureLoudness(result.path)
    expect(before.integrated).toBeGreaterThan(-16.5)
    expect(before.integrated).toBeLessThan(-15.5)
    expect(before.truePeak).toBeLessThan(-1)
  })

  it('is the file that every phone plays: High 3.1, BT.709, AAC-LC, keys within two seconds, index first, no tags but the title', async () => {
    await using media = await openMedia(result.path)
    const video = media.video!.codecpar
    expect([video.codecId, video.format, video.profile, video.level]).toEqual([AV_CODEC_ID_H264, AV_PIX_FMT_YUV420P, 100, 31])
    expect([video.colorPrimaries, video.colorTrc, video.colorSpace, video.colorRange]).toEqual([AVCOL_PRI_BT709, AVCOL_TRC_BT709, AVCOL_SPC_BT709, AVCOL_RANGE_MPEG])
    expect([video.width, video.height]).toEqual([1280, 720])
    const speech = media.sound!.codecpar
    expect([speech.codecId, speech.profile, speech.sampleRate, speech.channels]).toEqual([AV_CODEC_ID_AAC, 1, 48_000, 2])
    const tags = media.format.metadata?.getAll() ?? {}
    expect(tags['title']).toBe(settings.title)
    expect(Object.keys(tags).filter((name) => !['title', 'major_brand', 'minor_version', 'compatible_brands'].includes(name))).toEqual([])
    using packet = new Packet()
    packet.alloc()
    const keys: number[] = []
    for (let n = 0; (await media.format.readFrame(packet)) >= 0; packet.unref()) {
      if (packet.streamIndex !== media.video!.index) continue
      if (packet.isKeyframe) keys.push(n)
      n++
    }
    expect(keys[0]).toBe(0)
    expect(Math.max(...keys.map((key, i) => (keys[i + 1] ?? result.frames) - key))).toBeLessThanOrEqual(60)
    const bytes = await readFile(result.path)
    expect(bytes.length).toBe(result.bytes)
    expect(bytes.indexOf('moov')).toBeLessThan(bytes.indexOf('mdat'))
    expect(bytes.indexOf('colr')).toBeGreaterThan(0)
  })

  it('tells how far it is, evenly and to the end', () => {
    expect(told[0]).toBe(0)
    expect(told.at(-1)).toBe(1)
    expect(told.every((share, i) => i === 0 || share >= told[i - 1]!)).toBe(true)
    expect(told.filter((share) => share > 0 && share < 0.96).length).toBeGreaterThan(3)
  })
})

describe('a hand-off that cannot be finished', () => {
  const short = (): Log => lesson([left, right], [[0, { type: 'play', motion: { rate: 1, moving: 'both', loop: null } }]])

  it('leaves nothing when it is cancelled, and what stood there before stays', async () => {
    const inside = at('cancelled')
    await mkdir(inside)
    const out = join(inside, 'lesson.mp4')
    await writeFile(out, 'the one from before')
    const cancel = new AbortController()
    let frames = 0
    const render = renderHandoff({ ...await wholeTake(short(), sound), clips, settings, out }, {
      signal: cancel.signal,
      onProgress: ({ framesDone }) => {
        frames = framesDone
        if (framesDone > 0) cancel.abort()
      },
    })
    await expect(render).rejects.toMatchObject({ fault: { kind: 'cancelled' } })
    expect(frames).toBeGreaterThan(0)
    expect(frames).toBeLessThan(181)
    expect(await readdir(inside)).toEqual(['lesson.mp4'])
    expect(await readFile(out, 'utf8')).toBe('the one from before')
  })

  it('names the clip that is gone, a folder that is gone, and sound that is not there', async () => {
    const out = at('never.mp4')
    const request = { ...await wholeTake(short(), sound), clips, settings, out }
    await expect(renderHandoff({ ...request, clips: { ...clips, right: { path: at('gone.mp4') } } })).rejects.toMatchObject({ kind: 'absent', path: at('gone.mp4') })
    await expect(renderHandoff({ ...request, clips: { left: clips['left']! } })).rejects.toMatchObject({ fault: { kind: 'not-found', where: 'right' } })
    await expect(renderHandoff({ ...request, out: at('no/such/folder.mp4') })).rejects.toMatchObject({ fault: { kind: 'not-found' } })
    await writeWav(at('empty.wav'), new Float32Array(0))
    await expect(renderHandoff({ ...request, ...await wholeTake(short(), at('empty.wav')) })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    expect((await readdir(folder)).filter((name) => name.startsWith('never'))).toEqual([])
  })

  it('says in words that the disk is full', () => {
    let full: unknown
    try {
      FFmpegError.throwIfError(-28, 'write')
    } catch (error) {
      full = error
    }
    const fault = asHandoffError(full, '/somewhere/lesson.mp4')
    expect(fault).toBeInstanceOf(DeskError)
    expect((fault as DeskError).fault).toMatchObject({ kind: 'disk-full', where: '/somewhere/lesson.mp4' })
    expect(fault.message).toMatch(/^The disk filled up/)
  })
})

describe('the level of a sound', () => {
  it.each([
    ['loud', 0.9, 3], ['quiet', 0.02, 3],
  ] as const)('is -16 LUFS for a %s voice', async (name, level, length) => {
    await writeWav(at(`${name}.wav`), talk(length, 48_000, level))
    const { after } = await findLevel(at(`${name}.wav`))
    expect(Math.abs(after.integrated + 16)).toBeLessThan(0.5)
    expect(after.truePeak).toBeLessThan(-1)
  })

  it('leaves silence alone, and does not blow up a whisper of noise or a tenth of a second', async () => {
    await writeWav(at('silence.wav'), new Float32Array(48_000))
    expect(await findLevel(at('silence.wav'))).toMatchObject({ gainDb: 0, limited: false, samples: 48_000, after: { integrated: -Infinity } })
    await writeWav(at('blip.wav'), talk(0.1))
    const blip = await findLevel(at('blip.wav'))
    expect(blip.after.truePeak).toBeLessThan(-1)
    expect(blip.gainDb).toBeLessThanOrEqual(30)
    const hiss = Float32Array.from({ length: 96_000 }, (_, i) => 0.0006 * Math.sin(i * i * 0.37))
    await writeWav(at('hiss.wav'), hiss)
    const { gainDb, after } = await findLevel(at('hiss.wav'))
    expect(gainDb).toBeLessThanOrEqual(30)
    expect(after.integrated).toBeLessThan(-25)
  })

  it('takes sound of another rate, and measures what an independent reckoning of the tone gives', async () => {
    // A sine of 997 Hz at -23 dBFS in both channels measures -23 LUFS (EBU Tech 3341, case 1, has 1 kHz stereo at -23).
    const tone = Float32Array.from({ length: 44_100 * 3 }, (_, i) => 10 ** (-23 / 20) * Math.sin((2 * Math.PI * 997 * i) / 44_100))
    await writeWav(at('tone.wav'), tone, 44_100)
    const { before, samples } = await findLevel(at('tone.wav'))
    expect(Math.abs(before.integrated + 23)).toBeLessThan(0.1)
    expect(Math.abs(samples - 144_000)).toBeLessThanOrEqual(2)
  })
})
