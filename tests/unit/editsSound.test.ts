import { readdirSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { cleanSound } from '../../electron/media/cleanSound.ts'
import { Decimator, findHum } from '../../electron/media/hum.ts'
import { readWav } from '../../electron/media/wav.ts'
import { asRecorded, type SoundCleaning } from '../../shared/walkthrough/edits.ts'
import { temporaryFolder } from '../fixtures/desk.ts'
import { clickNear, levelDb, roomSound, writeRaw, type RoomSound } from '../fixtures/roomSound.ts'

async function cleaned(folder: string, sound: RoomSound, cleaning: Partial<SoundCleaning>) {
  const raw = join(folder, 'sound.pcm')
  const rate = sound.rate ?? 48_000
  const samples = roomSound(sound)
  await writeRaw(raw, samples)
  const out = join(folder, 'clean.wav')
  const told = await cleanSound({ sound: { path: raw, sampleRate: rate }, cleaning: { ...asRecorded, on: true, ...cleaning }, out })
  const { channels, sampleRate } = await readWav(out)
  return { told, before: Float32Array.from(samples, (sample) => sample / 32_768), after: channels[0]!, sampleRate }
}

// Between syllables of the fixture's talk, and in the midst of it.
const pause = [7.4, 7.9] as const
const words = [8.1, 11.1] as const

describe('cleaning a sound', () => {
  test('takes out hum and noise by what can be measured, and leaves the words at their level', async () => {
    using folder = temporaryFolder()
    const { told, before, after, sampleRate } = await cleaned(folder.path, { seconds: 24, humHz: 50.04 }, { even: false })
    expect(sampleRate).toBe(48_000)
    expect(told.hum!.hz).toBeCloseTo(50.04, 1)
    expect(told.hum!.harmonics).toEqual(expect.arrayContaining([1, 3, 5]))
    expect(levelDb(before, 48_000, ...pause) - levelDb(after, 48_000, ...pause)).toBeGreaterThan(15)
    expect(Math.abs(levelDb(after, 48_000, ...words) - levelDb(before, 48_000, ...words))).toBeLessThan(1)
    expect(told.before.noiseDb - told.after.noiseDb).toBeGreaterThan(15)
    expect(Math.abs(told.before.speechDb - told.after.speechDb)).toBeLessThanOrEqual(1)
    expect(readdirSync(folder.path).sort()).toEqual(['clean.wav', 'sound.pcm'])
  })

  test.each([['everything on', 48_000, {}], ['noise firm', 48_000, { noise: 'firm' }], ['another rate', 44_100, {}], ['as recorded, another rate', 44_100, { on: false }]] as const)(
    'gives as many samples as it got, each click where it was: %s',
    async (_, rate, cleaning) => {
      using folder = temporaryFolder()
      const clicks = [0.7, 5.013, 12.4, 19.25, 23.1]
      const { after, told } = await cleaned(folder.path, { seconds: 24, rate, clicks }, cleaning)
      expect(after.length).toBe(24 * 48_000)
      expect(told.samples).toBe(24 * 48_000)
      // Within a fifth of a millisecond; a frame of a video is 33.
      for (const at of clicks) expect(Math.abs(clickNear(after, 48_000, at)! - at * 48_000)).toBeLessThan(10)
    },
  )

  test('brings quiet and loud words nearer to each other, and lifts them more than the noise', async () => {
    using folder = temporaryFolder()
    const raw = join(folder.path, 'sound.pcm')
    const samples = roomSound({ seconds: 40, humHz: null })
    for (let i = 0; i < 20 * 48_000; i++) samples[i] = Math.round(samples[i]! * 0.25)
    await writeRaw(raw, samples)
    const out = join(folder.path, 'even.wav')
    await cleanSound({ sound: { path: raw, sampleRate: 48_000 }, cleaning: { ...asRecorded, on: true }, out })
    const after = (await readWav(out)).channels[0]!
    const before = Float32Array.from(samples, (sample) => sample / 32_768)
    const apart = (of: Float32Array): number => levelDb(of, 48_000, 32.1, 35.1) - levelDb(of, 48_000, 8.1, 11.1)
    expect(apart(before)).toBeGreaterThan(11)
    expect(apart(after)).toBeLessThan(8)
    const clear = (of: Float32Array): number => levelDb(of, 48_000, ...words) - levelDb(of, 48_000, ...pause)
    expect(clear(after)).toBeGreaterThan(clear(before) + 3)
  })

  test('a silent recording, and one too short to be measured, come through as they are', async () => {
    using folder = temporaryFolder()
    const raw = join(folder.path, 'sound.pcm')
    for (const length of [0, 1, 480, 96_000]) {
      await writeRaw(raw, new Int16Array(length))
      const { samples, hum } = await cleanSound({ sound: { path: raw, sampleRate: 48_000 }, cleaning: { ...asRecorded, on: true }, out: join(folder.path, 'out.wav') })
      expect([samples, hum]).toEqual([length, null])
      expect((await readWav(join(folder.path, 'out.wav'))).channels[0]!.every((sample) => sample === 0)).toBe(true)
    }
  })

  test('leaves nothing behind when it is given up', async () => {
    using folder = temporaryFolder()
    const raw = join(folder.path, 'sound.pcm')
    await writeRaw(raw, roomSound({ seconds: 20 }))
    const stop = new AbortController()
    const work = cleanSound({ sound: { path: raw, sampleRate: 48_000 }, cleaning: { ...asRecorded, on: true }, out: join(folder.path, 'out.wav') }, { signal: stop.signal, onProgress: ({ share }) => share > 0.3 && stop.abort() })
    await expect(work).rejects.toMatchObject({ kind: 'cancelled' })
    expect(readdirSync(folder.path)).toEqual(['sound.pcm'])
  })
})

describe('hum', () => {
  const humOf = (sound: RoomSound) => {
    const decimator = new Decimator(48_000)
    decimator.add(Float32Array.from(roomSound(sound), (sample) => sample / 32_768))
    return findHum(decimator.samples)
  }
  test('is told by its mains, and not found where there is none, however much is said', () => {
    expect(humOf({ seconds: 20, humHz: 59.97 })!.hz).toBeCloseTo(59.97, 1)
    expect(humOf({ seconds: 20, humHz: 50 })!.hz).toBeCloseTo(50, 1)
    expect(humOf({ seconds: 20, humHz: null })).toBeNull()
    expect(humOf({ seconds: 3, humHz: 50 })).toBeNull()
  })
})
