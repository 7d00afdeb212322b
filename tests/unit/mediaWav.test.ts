import { mkdtemp, rm, truncate, stat } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { MediaError } from '../../electron/media/mediaError.ts'
import { decodeSound, measureLoudness, normaliseSpeech } from '../../electron/media/sound.ts'
import { readWav, writeWav } from '../../electron/media/wav.ts'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'

let folder = ''
beforeAll(async () => { folder = await mkdtemp(join(tmpdir(), 'crossbearing-sound-')) })
afterAll(() => rm(folder, { recursive: true, force: true }))

/** Bursts of a voice-like buzz with clicks between, quiet on the whole: what a headset in a garage gives. */
function speechLike(seconds: number): Float32Array<ArrayBuffer> {
  let seed = 1
  const random = () => {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0
    return seed / 2 ** 31 - 1
  }
  return Float32Array.from({ length: seconds * 48_000 }, (_, i) => {
    const swell = Math.max(0, Math.sin(i / 48_000 * 2 * Math.PI * 1.7)) ** 4
    return 0.08 * swell * (0.3 * random() + Math.sin(i / 48_000 * 2 * Math.PI * 140)) + (i % 60_000 < 20 ? 0.5 * random() : 0)
  })
}

describe('WAV files', () => {
  it('come back as written, to the rounding of 16 bits', async () => {
    const path = join(folder, 'two.wav')
    const left = Float32Array.from({ length: 1000 }, (_, i) => Math.sin(i / 9))
    const right = left.map((sample) => -sample / 3)
    await writeWav(path, { sampleRate: 44_100, channels: [left, right] })
    const read = await readWav(path)
    expect(read.sampleRate).toBe(44_100)
    expect(read.channels.length).toBe(2)
    for (let i = 0; i < 1000; i++) {
      expect(Math.abs(read.channels[0]![i]! - left[i]!)).toBeLessThan(1 / 32_767)
      expect(Math.abs(read.channels[1]![i]! - right[i]!)).toBeLessThan(1 / 32_767)
    }
  })

  it('are read to their end when a recording was cut off', async () => {
    const path = join(folder, 'cut.wav')
    await writeWav(path, { sampleRate: 48_000, channels: [new Float32Array(1000).fill(0.5)] })
    await truncate(path, (await stat(path)).size - 501)
    expect((await readWav(path)).channels[0]!.length).toBe(749)
  })
})

describe('normaliseSpeech', () => {
  it('changes a calm recording by one gain only', async () => {
    const [from, to] = [join(folder, 'calm.wav'), join(folder, 'calm-out.wav')]
    const samples = Float32Array.from({ length: 48_000 * 3 }, (_, i) => 0.05 * Math.sin(2 * Math.PI * 300 * i / 48_000))
    await writeWav(from, { sampleRate: 48_000, channels: [samples] })
    const done = await normaliseSpeech(from, to)
    expect(done.limited).toBe(false)
    expect(done.after.integrated).toBeCloseTo(-16, 1)
    const out = (await readWav(to)).channels[0]!
    expect(out.length).toBe(samples.length)
    const gain = 10 ** (done.gain / 20)
    // Rounded to 16 bits twice: before the gain, and after.
    expect(out.every((sample, i) => Math.abs(sample - samples[i]! * gain) <= (0.5 * gain + 0.51) / 32_768)).toBe(true)
  })

  it('holds clicks under the peak, reaches the loudness and keeps every sample in its place', async () => {
    const [from, to] = [join(folder, 'clicks.wav'), join(folder, 'clicks-out.wav')]
    const samples = speechLike(6)
    await writeWav(from, { sampleRate: 48_000, channels: [samples] })
    const done = await normaliseSpeech(from, to)
    expect(done.limited).toBe(true)
    expect(Math.abs(done.after.integrated + 16)).toBeLessThanOrEqual(0.2)
    expect(done.after.truePeak).toBeLessThanOrEqual(-1)
    const out = (await readWav(to)).channels[0]!
    expect(out.length).toBe(samples.length)
    const correlation = (shift: number) => samples.reduce((sum, sample, i) => sum + sample * (out[i + shift] ?? 0), 0)
    const correlations = Array.from({ length: 41 }, (_, k) => correlation(k - 20))
    expect(correlations.indexOf(Math.max(...correlations))).toBe(20)
  })

  it('leaves silence silent', async () => {
    const [from, to] = [join(folder, 'silence.wav'), join(folder, 'silence-out.wav')]
    await writeWav(from, { sampleRate: 48_000, channels: [new Float32Array(48_000)] })
    expect((await normaliseSpeech(from, to)).gain).toBe(0)
    expect((await readWav(to)).channels[0]!.every((sample) => sample === 0)).toBe(true)
  })
})

describe('decodeSound', () => {
  it('gives a clip\'s sound without gaps, with the beep where it belongs', async () => {
    const path = join(folder, 'beep.mp4')
    await makeNumberedClip(path, { width: 64, height: 64, frames: 60, fps: 30, sound: 'beep' })
    const all: number[] = []
    for await (const piece of decodeSound(path, { channels: 1 })) {
      expect(piece.at).toBe(all.length)
      all.push(...piece.channels[0]!)
    }
    expect(all.length).toBeGreaterThanOrEqual(96_000)
    const onset = all.findIndex((sample, i) => i > 24_000 && Math.abs(sample) > 0.25)
    expect(Math.abs(onset - 48_000)).toBeLessThan(48)
  })

  it('refuses a clip without sound in one sentence', async () => {
    const path = join(folder, 'mute.mp4')
    await makeNumberedClip(path, { width: 64, height: 64, frames: 4 })
    await expect(measureLoudness(path)).rejects.toSatisfy((error: unknown) => error instanceof MediaError && error.kind === 'no-sound')
  })
})
