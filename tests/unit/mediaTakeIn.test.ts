import { existsSync } from 'node:fs'
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { loadImage, createCanvas } from '@napi-rs/canvas'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { FrameReader } from '../../electron/media/decodeFrames.ts'
import { MediaClient } from '../../electron/media/mediaClient.ts'
import { MediaError } from '../../electron/media/mediaError.ts'
import { OriginalFrames } from '../../electron/media/originalFrame.ts'
import { openPictures } from '../../electron/media/pictures.ts'
import { probe } from '../../electron/media/probe.ts'
import { makeReviewCopy, sameFrames } from '../../electron/media/reviewCopy.ts'
import { cornerColours, makeNumberedClip, readFrameNumber, unevenTimes, type NumberedClip } from '../fixtures/numberedClip.ts'

let folder = ''
beforeAll(async () => { folder = await mkdtemp(join(tmpdir(), 'crossbearing-media-')) })
afterAll(() => rm(folder, { recursive: true, force: true }))

const kinds: Record<string, NumberedClip> = {
  'constant rate': { width: 320, height: 180, frames: 40, fps: 60 },
  'uneven times with B-frames': { width: 180, height: 320, frames: 50, times: unevenTimes(50), bframes: 2, gop: 20 },
  'turned by 90, frames hidden by the edit list': { width: 320, height: 180, frames: 40, times: unevenTimes(40), bframes: 2, rotate: 90, hidden: 7, gop: 12 },
  'turned by 180 with sound': { width: 180, height: 320, frames: 60, fps: 30, rotate: 180, sound: 'beep' },
  'turned by 270, larger than the copy': { width: 1080, height: 1920, frames: 6, fps: 30, rotate: 270 },
  'oblong pixels': { width: 240, height: 180, frames: 12, fps: 25, sampleAspect: [4, 3] },
  'a coarse timescale': { width: 160, height: 120, frames: 30, fps: 30, timescale: 600 },
  'HDR in HEVC': { width: 320, height: 180, frames: 16, fps: 30, hlg: true },
}

/** All frame numbers that can be read from a file's pictures as they are stored. */
async function numbersIn(path: string): Promise<(number | null)[]> {
  await using pictures = await openPictures(path)
  const numbers: (number | null)[] = []
  for (;;) {
    using frame = await pictures.next()
    if (!frame) return numbers
    numbers.push(readFrameNumber(frame.data![0]!, frame.width, frame.height, { stride: frame.linesize[0]! }))
  }
}

describe.each(Object.entries(kinds))('take-in of a clip: %s', (name, clip) => {
  const hidden = clip.hidden ?? 0
  const wanted = Array.from({ length: clip.frames - hidden }, (_, i) => i + hidden)
  let original = ''
  let made: Awaited<ReturnType<typeof makeNumberedClip>>
  beforeAll(async () => {
    original = join(folder, `${name.replaceAll(/\W+/g, '-')}.mp4`)
    made = await makeNumberedClip(original, clip)
  })

  it('indexes exactly the shown frames at their ticks', async () => {
    const { index, description } = await probe(original)
    expect(index.ticks).toEqual(made.times.slice(hidden))
    expect(index.endTick).toBe(made.endTick)
    expect(index.timescale).toBe(made.timescale)
    expect(description.orientation).toEqual({ rotation: clip.rotate ?? 0, mirrored: false })
    expect(description.display).toEqual(clip.sampleAspect ? { width: clip.width * 4 / 3, height: clip.height } : { width: clip.width, height: clip.height })
    expect(description.colour.hdr).toBe(clip.hlg ?? false)
    expect(description.sound !== null).toBe(clip.sound === 'beep')
  })

  it('makes a review copy with each frame once, upright, in order, at the same ticks', async () => {
    const probed = await probe(original)
    const out = `${original}.review`
    const progress: number[] = []
    const copy = await makeReviewCopy({ path: original, ...probed, out, onProgress: ({ framesDone }) => progress.push(framesDone) })
    expect(await numbersIn(out)).toEqual(wanted)
    const again = await probe(out)
    expect(sameFrames(again.index, probed.index)).toBe(true)
    expect(again.description).toMatchObject({
      codec: 'h264', stored: { width: copy.width, height: copy.height }, orientation: { rotation: 0, mirrored: false }, sampleAspect: { num: 1, den: 1 }, hasLocation: false,
      colour: { primaries: 'bt709', transfer: 'bt709', matrix: 'bt709', fullRange: false },
    })
    expect(again.index.keyFrames.length).toBe(wanted.length)
    expect(progress).toEqual(wanted.map((_, i) => i + 1))
    // The strip's frames are the ones it says.
    const strip = await loadImage(copy.stills.filmstrip.jpeg)
    const { frameWidth, frameHeight, frames } = copy.stills.filmstrip
    expect([strip.width, strip.height]).toEqual([frameWidth * frames.length, frameHeight])
    const canvas = createCanvas(strip.width, strip.height)
    const context = canvas.getContext('2d')
    context.drawImage(strip, 0, 0)
    const pixels = context.getImageData(0, 0, strip.width, strip.height).data
    frames.forEach((frame, k) => {
      expect(readFrameNumber(pixels, strip.width, strip.height, { step: 4, region: { x: k * frameWidth, y: 0, width: frameWidth, height: frameHeight } })).toBe(frame + hidden)
    })
    // The beep at one second of file time stands in the envelope at one second.
    if (clip.sound === 'beep') {
      expect(again.description.sound).toMatchObject({ codec: 'aac', sampleRate: 48_000 })
      const onset = copy.envelope!.findIndex((peak, step) => step > 50 && peak > 0.25)
      expect(Math.abs(onset - 100)).toBeLessThanOrEqual(1)
    } else expect(copy.envelope).toBeNull()
  })

  it('gives any frame of the original upright at full size, in any order', async () => {
    const probed = await probe(original)
    await using originals = new OriginalFrames()
    const last = wanted.length - 1
    for (const frame of [last, 0, Math.floor(last / 2), Math.floor(last / 2) - 1, Math.floor(last / 2) + 1, last]) {
      const picture = await originals.get({ path: original, ...probed, frame })
      expect(picture.data.length).toBe(picture.width * picture.height + 2 * Math.ceil(picture.width / 2) * Math.ceil(picture.height / 2))
      expect(readFrameNumber(picture.data, picture.width, picture.height)).toBe(frame + hidden)
      expect(picture.tick).toBe(probed.index.ticks[frame])
      if (clip.hlg) continue
      const at = (x: number, y: number) => {
        const [w, h] = [picture.width, picture.height]
        const chroma = Math.floor(y / 2) * Math.ceil(w / 2) + Math.floor(x / 2)
        return [picture.data[y * w + x]!, picture.data[w * h + chroma]!, picture.data[w * h + Math.ceil(w / 2) * Math.ceil(h / 2) + chroma]!]
      }
      const [right, bottom] = [picture.width - 7, picture.height - 7]
      for (const [colour, x, y] of [['topLeft', 6, 6], ['topRight', right, 6], ['bottomLeft', 6, bottom], ['bottomRight', right, bottom]] as const) {
        at(x, y).forEach((sample, plane) => expect(Math.abs(sample - cornerColours[colour][plane]!), `${colour} ${plane}`).toBeLessThanOrEqual(6))
      }
    }
  })
})

describe('FrameReader', () => {
  it('finds the right frame in a thousand steps and jumps with a cache of a few frames', async () => {
    const path = join(folder, 'reader.mp4')
    await makeNumberedClip(path, { width: 160, height: 120, frames: 120, times: unevenTimes(120), bframes: 2, gop: 30 })
    await using reader = await FrameReader.open(path, undefined, { cacheBytes: 8 * 160 * 120 * 1.5 })
    let seed = 3
    let at = 0
    for (let n = 0; n < 1000; n++) {
      seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0
      const choice = seed >>> 28
      at = choice < 7 ? Math.min(119, at + 1) : choice < 14 ? Math.max(0, at - 1) : (seed >>> 8) % 120
      using frame = await reader.frameAt(at)
      expect(readFrameNumber(frame.data![0]!, 160, 120, { stride: frame.linesize[0]! })).toBe(at)
      expect(Number(frame.pts)).toBe(reader.index.ticks[at])
    }
    await expect(reader.frameAt(120)).rejects.toThrow(RangeError)
  })
})

describe('bad ends', () => {
  const damagedClip = async () => {
    const path = join(folder, 'whole.mp4')
    await makeNumberedClip(path, { width: 320, height: 180, frames: 60, fps: 30, texture: true, gop: 30 })
    return { path, bytes: await readFile(path) }
  }
  const kindOf = (work: Promise<unknown>) => work.then(() => 'no error', (error: unknown) => error instanceof MediaError ? error.kind : String(error))

  it('refuses a copy of a clip with a broken middle, and leaves nothing', async () => {
    const { bytes } = await damagedClip()
    const path = join(folder, 'broken.mp4')
    bytes.fill(0x55, Math.floor(bytes.length * 0.4), Math.floor(bytes.length * 0.6))
    await writeFile(path, bytes)
    const out = `${path}.review`
    const error: unknown = await probe(path).then((probed) => makeReviewCopy({ path, ...probed, out })).then(() => null, (thrown: unknown) => thrown)
    expect(error).toBeInstanceOf(MediaError)
    expect(error).toMatchObject({ kind: 'damaged' })
    expect((error as MediaError).message).toMatch(/^broken\.mp4 is damaged from \d\.\d\d s on \(frame \d+ of 60 cannot be decoded\): .*\.$/)
    expect(existsSync(out)).toBe(false)
  })

  it('tells the kinds of bad file apart', async () => {
    const { bytes } = await damagedClip()
    const write = async (name: string, content: Buffer | string) => {
      await writeFile(join(folder, name), content)
      return join(folder, name)
    }
    const soundOnly = join(folder, 'voice.mp4')
    const { writeWav } = await import('../../electron/media/wav.ts')
    await writeWav(soundOnly, { sampleRate: 48_000, channels: [new Float32Array(48_000)] })
    expect(await kindOf(probe(await write('empty.mp4', '')))).toBe('empty')
    expect(await kindOf(probe(await write('notes.mp4', 'Dear coach, the clip is attached.\n'.repeat(50))))).toBe('not-a-video')
    expect(await kindOf(probe(await write('notes.txt', 'Dear coach, the clip is attached.\n'.repeat(50))))).toBe('not-a-video')
    expect(await kindOf(probe(await write('picture.mp4', createCanvas(20, 20).toBuffer('image/png'))))).toBe('not-a-video')
    expect(await kindOf(probe(await write('list.mp4', `ffconcat version 1.0\nfile '${join(folder, 'whole.mp4')}'\n`)))).toBe('not-a-video')
    expect(await kindOf(probe(await write('half.mp4', bytes.subarray(0, bytes.length / 2))))).toBe('truncated')
    expect(await kindOf(probe(soundOnly))).toBe('only-sound')
    expect(await kindOf(probe(join(folder, 'nowhere.mp4')))).toBe('absent')
    expect(await kindOf(probe(folder))).toBe('not-a-file')
  })

  it('stops when cancelled and leaves nothing', async () => {
    const { path } = await damagedClip()
    const probed = await probe(path)
    const cancel = new AbortController()
    const out = `${path}.review`
    const work = makeReviewCopy({ path, ...probed, out, signal: cancel.signal, onProgress: ({ framesDone }) => { if (framesDone === 5) cancel.abort() } })
    expect(await kindOf(work)).toBe('cancelled')
    expect(existsSync(out)).toBe(false)
  })

  it('answers only the latest of overlapping requests of one pane', async () => {
    const { path } = await damagedClip()
    const probed = await probe(path)
    await using originals = new OriginalFrames()
    const answers = await Promise.all([50, 10, 40].map((frame) => originals.get({ path, ...probed, frame }).then((picture) => picture.frame, (error: MediaError) => error.kind)))
    expect(answers).toEqual(['superseded', 'superseded', 40])
  })

  it('stops on the way to a frame that nobody waits for any more, and gives the next one right', async () => {
    const path = join(folder, 'far.mp4')
    await makeNumberedClip(path, { width: 1280, height: 720, frames: 240, fps: 60, gop: 240, preset: 'ultrafast' })
    const probed = await probe(path)
    const numberOf = (picture: { data: Uint8Array; width: number; height: number }): number | null => readFrameNumber(picture.data, picture.width, picture.height)
    await using originals = new OriginalFrames()
    expect(numberOf(await originals.get({ path, ...probed, frame: 0 }))).toBe(0)
    const gone = new AbortController()
    const far = originals.get({ path, ...probed, frame: 230 }, 'left', gone.signal).then(() => 'came', (error: MediaError) => error.kind)
    setTimeout(() => gone.abort(), 5)
    expect(await far).toBe('superseded')
    expect(numberOf(await originals.get({ path, ...probed, frame: 120 }, 'left', new AbortController().signal))).toBe(120)
    await expect(originals.get({ path, ...probed, frame: 9 }, 'left', AbortSignal.abort())).rejects.toMatchObject({ kind: 'superseded' })

    await using client = new MediaClient()
    await client.originalFrame({ path, ...probed, frame: 0 })
    const left = new AbortController()
    const asked = client.originalFrame({ path, ...probed, frame: 231 }, 'only', left.signal).then(() => 'came', (error: MediaError) => error.kind)
    setTimeout(() => left.abort(), 5)
    expect(await asked).not.toBe('came')
    expect(numberOf(await client.originalFrame({ path, ...probed, frame: 60 }))).toBe(60)
  }, 30_000)
})

describe('the media process', () => {
  it('does the work elsewhere with progress, cancels, and survives a crash with nothing left behind', async () => {
    const path = join(folder, 'elsewhere.mp4')
    await makeNumberedClip(path, { width: 1280, height: 720, frames: 300, fps: 60, preset: 'ultrafast' })
    await using client = new MediaClient()
    const probed = await client.probe(path)
    expect(probed.index).toEqual((await probe(path)).index)
    const out = `${path}.review`
    const kindOfCopy = (signal: AbortSignal | null, onProgress: () => void) =>
      client.makeReviewCopy({ path, ...probed, out, onProgress, ...(signal ? { signal } : {}) }).then(() => 'done', (error: MediaError) => error.kind)

    const cancel = new AbortController()
    expect(await kindOfCopy(cancel.signal, () => cancel.abort())).toBe('cancelled')
    expect(existsSync(out)).toBe(false)

    const first = client.pid!
    let killed = false
    expect(await kindOfCopy(null, () => {
      if (!killed) process.kill(first, 'SIGKILL')
      killed = true
    })).toBe('crashed')
    expect(existsSync(out)).toBe(false)

    const seen: number[] = []
    const copy = await client.makeReviewCopy({ path, ...probed, out, onProgress: ({ framesDone }) => seen.push(framesDone) })
    expect(client.pid).not.toBe(first)
    expect(seen.at(-1)).toBe(300)
    expect(copy.bytes).toBeGreaterThan(0)
    expect((await loadImage(Buffer.from(copy.stills.poster))).width).toBe(640)
    expect(await client.probe(join(folder, 'nowhere.mp4')).catch((error: MediaError) => [error.kind, error.message]))
      .toEqual(['absent', 'nowhere.mp4 is not there any more: it was moved, renamed or deleted.'])
    const picture = await client.originalFrame({ path, ...probed, frame: 123 })
    expect(readFrameNumber(picture.data, picture.width, picture.height)).toBe(123)
  })
})
