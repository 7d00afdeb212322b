import { existsSync, readFileSync } from 'node:fs'
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { frameOfTimestamp } from '../../electron/media/frameIndex.ts'
import { MediaError } from '../../electron/media/mediaError.ts'
import { openPictures } from '../../electron/media/pictures.ts'
import { probe } from '../../electron/media/probe.ts'
import { makeReviewCopy, sameFrames } from '../../electron/media/reviewCopy.ts'
import { measureLoudness } from '../../electron/media/sound.ts'
import { writeWav } from '../../electron/media/wav.ts'

/** Real clips of awkward kinds, and what ffprobe says of each (manifest.json beside them). */
const data = new URL('../../../shared/data/', import.meta.url).pathname
const present = existsSync(join(data, 'media/manifest.json'))
if (!present) console.log('skipped: ../shared/data/media is not on this machine')

interface Fact {
  file: string
  ffprobe: {
    duration: string | null, nvideo?: number, codec?: string, w?: number, h?: number, sar?: string | null, avg?: string, npk?: number, ndisc?: number
    pts0?: number, dmed?: number, audio: string, trc?: string | null, prim?: string | null, range?: string | null, side?: [string, number | null, string][]
  }
}
const facts = present ? JSON.parse(readFileSync(join(data, 'media/manifest.json'), 'utf8')) as Fact[] : []
const good = facts.filter((fact) => fact.ffprobe.nvideo)
const clips = [
  ...good.map((fact) => join(data, 'media', fact.file)),
  ...['face-on', 'down-the-line'].map((view) => join(data, 'clips/dev-1', `${view}.mp4`)).filter((path) => existsSync(path)),
]
const refusals: Record<string, string> = {
  'mp_chunk_out_of_range.mp4': 'damaged-index', 'x_truncated_no_moov.mp4': 'truncated', 'x_zero_bytes.mp4': 'empty', 'x_text_renamed.mp4': 'not-a-video',
}

let folder = ''
beforeAll(async () => { folder = await mkdtemp(join(tmpdir(), 'crossbearing-outside-')) })
afterAll(() => rm(folder, { recursive: true, force: true }))

describe.skipIf(!present)('real clips', () => {
  it.each(good)('$file is described as ffprobe describes it', async ({ file, ffprobe }) => {
    const { description, index } = await probe(join(data, 'media', file))
    const turn = ffprobe.side?.find(([name]) => name === 'Display Matrix')?.[1] ?? 0
    expect(description.codec).toBe(ffprobe.codec)
    expect(description.stored).toEqual({ width: ffprobe.w, height: ffprobe.h })
    // ffprobe counts a turn anticlockwise.
    expect(description.orientation.rotation).toBe((360 - turn) % 360)
    const [num, den] = (ffprobe.sar ?? '1:1').split(':').map(Number)
    const width = ffprobe.w! * num! / den!
    expect(description.display).toEqual(turn % 180 ? { width: ffprobe.h, height: width } : { width, height: ffprobe.h })
    expect(description.sound?.codec ?? 'none').toBe(ffprobe.audio)
    expect(description.colour.hdr).toBe(ffprobe.trc === 'arib-std-b67' || ffprobe.trc === 'smpte2084')
    expect(description.colour.fullRange).toBe(ffprobe.range === 'pc')
    if (ffprobe.npk !== undefined) expect(index.ticks.length).toBe(ffprobe.npk - ffprobe.ndisc!)
    if (ffprobe.dmed) expect(Math.abs(1000 / description.playRate - ffprobe.dmed)).toBeLessThan(0.6)
    // The container's duration covers the longest track, so only a silent clip's is its pictures'.
    // A movie header may count in milliseconds.
    if (ffprobe.audio === 'none') expect(Math.abs(index.endTick / index.timescale - Number(ffprobe.duration))).toBeLessThan(0.001)
  })

  it('sees the tags that matter', async () => {
    const of = async (file: string) => (await probe(join(data, 'media', file))).description
    expect((await of('am_sample_android_slow_motion.mp4')).captureRate).toEqual({ rate: 240, basis: 'tag', from: 'com.android.capture.fps' })
    expect((await of('am_hlg10-color-test.mp4')).hasLocation).toBe(true)
    expect((await of('am_portrait_4k60.mp4')).hasLocation).toBe(false)
    expect((await of('am_portrait_4k60.mp4')).filmedAt).toBe(Date.UTC(2023, 2, 16, 15, 26, 24))
  })

  it.each(Object.entries(refusals))('%s is refused as %s, in one sentence', async (file, kind) => {
    const error: unknown = await probe(join(data, 'media', file)).then(() => null, (thrown: unknown) => thrown)
    expect(error).toBeInstanceOf(MediaError)
    expect(error).toMatchObject({ kind })
    expect((error as MediaError).message).toMatch(/^[^.]+\.mp4 is [^.]+\.$/)
  })

  it.each(clips)('%s: its index is what decoding gives, and its review copy keeps every tick', async (path) => {
    const probed = await probe(path)
    const { index } = probed
    expect(index.ticks.every((tick, i) => i === 0 || tick > index.ticks[i - 1]!)).toBe(true)
    await using pictures = await openPictures(path)
    let count = 0
    // The long clip is decoded in part here; its copy goes through all of it when speed is measured.
    const most = 500
    while (count < most) {
      using frame = await pictures.next()
      if (!frame) break
      expect(frameOfTimestamp(index, frame.pts)).toBe(count)
      count++
    }
    expect(count).toBe(Math.min(most, index.ticks.length))
    if (index.ticks.length > most) return
    const out = join(folder, 'review.mp4')
    const copy = await makeReviewCopy({ path, ...probed, out })
    const again = await probe(out)
    expect(sameFrames(again.index, index)).toBe(true)
    expect(again.description.hasLocation).toBe(false)
    expect(Math.max(copy.width, copy.height)).toBeLessThanOrEqual(1280)
    expect(Math.abs(copy.width / copy.height / (probed.description.display.width / probed.description.display.height) - 1)).toBeLessThan(0.02)
  })
})

describe('loudness (ITU-R BS.1770)', () => {
  const tone = (hertz: number, amplitude: number, seconds: number) => Float32Array.from({ length: seconds * 48_000 }, (_, i) => amplitude * Math.sin(2 * Math.PI * hertz * i / 48_000))

  it('reads -3.01 LUFS for 997 Hz at full scale in one channel', async () => {
    const path = join(folder, 'mono.wav')
    await writeWav(path, { sampleRate: 48_000, channels: [tone(997, 1, 5)] })
    const read = await measureLoudness(path)
    expect(Math.abs(read.integrated + 3.01)).toBeLessThan(0.05)
    expect(Math.abs(read.truePeak)).toBeLessThan(0.1)
  })

  it('reads -23 LUFS, +/- 0.1, for 1 kHz at -23 dBFS in both channels', async () => {
    const path = join(folder, 'stereo.wav')
    const samples = tone(1000, 10 ** (-23 / 20), 10)
    await writeWav(path, { sampleRate: 48_000, channels: [samples, samples] })
    expect(Math.abs((await measureLoudness(path)).integrated + 23)).toBeLessThan(0.1)
  })
})
