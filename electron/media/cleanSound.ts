import { rename, rm } from 'node:fs/promises'
import type { SoundCleaning } from '../../shared/walkthrough/edits.ts'
import { Decimator, findHum, type Hum } from './hum.ts'
import { throughFilters, type RawSound } from './rawSound.ts'
import { soundRate } from './soundDecoder.ts'
import { WavWriter } from './wav.ts'

export interface CleanRequest {
  readonly sound: RawSound
  readonly cleaning: SoundCleaning
  /** A 48 kHz mono 16-bit WAV to write; it comes under its name when it is whole. */
  readonly out: string
}

export interface CleanOptions {
  readonly signal?: AbortSignal | undefined
  readonly onProgress?: (progress: { readonly share: number; readonly step: string }) => void
}

export interface Cleaned {
  readonly samples: number
  readonly hum: Hum | null
  /** Level of what is left while nobody speaks and of the speech, before and after, dB of full scale. */
  readonly before: Levels
  readonly after: Levels
}

export interface Levels {
  readonly noiseDb: number
  readonly speechDb: number
}

/** afftdn holds back a fortieth of a second and does not say so: measured with clicks, the same at every setting. */
const denoiserDelay = soundRate / 40
/** Under the lowest voice. */
const rumble = 'highpass=f=65'
const reduction = { off: 0, light: 12, firm: 24 } as const

/**
 * Cleans a recording with FFmpeg's own filters, in step to the sample: as many samples come out as went in (counted at
 * 48 kHz), and none has moved. What is rumble or hum goes first, so that what is left while nobody speaks can be measured and
 * told to the denoiser; the evening comes last, so that it lifts words and not noise.
 */
export async function cleanSound({ sound, cleaning, out }: CleanRequest, { signal, onProgress }: CleanOptions = {}): Promise<Cleaned> {
  const half = `${out}.part`
  const between = `${out}.between`
  const step = (from: number, to: number, words: string) => (share: number) => onProgress?.({ share: from + (to - from) * share, step: words })
  try {
    const decimator = new Decimator(soundRate)
    const before = new LevelMeter()
    await throughFilters(sound, 'anull', (samples) => {
      decimator.add(samples)
      before.add(samples)
    }, { signal, onShare: step(0, 0.2, 'Listening for hum and noise') })
    const hum = cleaning.on && cleaning.hum ? findHum(decimator.samples) : null

    const first = cleaning.on ? [`aresample=${soundRate}`, rumble, ...notches(hum)].join(',') : 'anull'
    const middle = new LevelMeter()
    await toWav(sound, first, cleaning.on ? between : half, (samples) => middle.add(samples), signal, step(0.2, 0.5, 'Taking out hum'))
    const after = new LevelMeter()
    let samples = 0
    if (cleaning.on) {
      samples = await toWav({ path: between, sampleRate: soundRate, skip: 44 }, second(cleaning, middle.levels), half, (part) => after.add(part), signal, step(0.5, 1, 'Reducing noise and evening the level'))
    } else samples = middle.count
    await rename(half, out)
    return { samples, hum, before: before.levels, after: cleaning.on ? after.levels : middle.levels }
  } finally {
    await rm(half, { force: true })
    await rm(between, { force: true })
  }
}

async function toWav(sound: RawSound, filters: string, path: string, hear: (samples: Float32Array) => void, signal: AbortSignal | undefined, onShare: (share: number) => void): Promise<number> {
  const writer = await WavWriter.create(path, soundRate, 1)
  try {
    return await throughFilters(sound, filters, async (samples) => {
      hear(samples)
      await writer.write([samples])
    }, { signal, onShare })
  } finally {
    await writer.finish()
  }
}

/** A narrow stop at each line of the hum; wider at the higher ones, which stray further as the mains strays. */
export const notches = (hum: Hum | null): string[] =>
  hum ? hum.harmonics.map((harmonic) => `bandreject=f=${(hum.hz * harmonic).toFixed(2)}:width_type=h:width=${(2 + 0.3 * harmonic).toFixed(1)}`) : []

/** The denoiser, told what is left while nobody speaks, then the evening. */
function second({ noise, even }: SoundCleaning, { noiseDb, speechDb }: Levels): string {
  const filters: string[] = []
  // Where there is nothing to reduce, or nothing but noise, it would only do harm.
  if (noise !== 'off' && noiseDb > -85 && speechDb - noiseDb > 6) {
    const floor = Math.min(-20, Math.max(-80, noiseDb))
    filters.push(`apad=pad_len=${denoiserDelay}`, `afftdn=noise_reduction=${reduction[noise]}:noise_floor=${floor.toFixed(1)}`, `atrim=start_sample=${denoiserDelay}`, 'asetpts=N')
  }
  if (even) {
    // What stays under the threshold (the noise and what rises a little out of it) is not lifted.
    const threshold = Math.min(0.1, 10 ** ((noiseDb + 0.35 * (speechDb - noiseDb)) / 20))
    filters.push(`dynaudnorm=framelen=250:gausssize=15:peak=0.7:maxgain=5:threshold=${threshold.toFixed(6)}`)
  }
  return filters.length > 0 ? filters.join(',') : 'anull'
}

/** Levels of stretches of a fiftieth of a second: a tenth of them are quieter than the noise's, a tenth louder than the speech's. */
export class LevelMeter {
  readonly #each = soundRate / 50
  /** Stretches by whole dB, from 0 down to -120. */
  readonly #counts = new Uint32Array(121)
  #squares = 0
  #held = 0
  count = 0

  add(samples: Float32Array): void {
    this.count += samples.length
    for (const sample of samples) {
      this.#squares += sample * sample
      if (++this.#held < this.#each) continue
      const level = 10 * Math.log10(this.#squares / this.#held + 1e-12)
      this.#counts[Math.min(120, Math.max(0, Math.round(-level)))]!++
      this.#squares = 0
      this.#held = 0
    }
  }

  get levels(): Levels {
    // Dead silence (a pause in the recording) says nothing of the room.
    const total = this.#counts.subarray(0, 120).reduce((sum, n) => sum + n, 0)
    const below = (share: number): number => {
      let seen = 0
      for (let level = 119; level >= 0; level--) {
        seen += this.#counts[level]!
        if (seen > 0 && seen >= share * total) return -level
      }
      return -120
    }
    return total === 0 ? { noiseDb: -120, speechDb: -120 } : { noiseDb: below(0.1), speechDb: below(0.9) }
  }
}
