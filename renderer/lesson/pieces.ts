import type { Level } from './soundSource.ts'

/** Mono 16-bit samples from planes of -1..1 floats, channels averaged; what lies outside is held at full scale. */
export function toPcm(planes: readonly Float32Array[]): Int16Array {
  const length = planes[0]?.length ?? 0
  const out = new Int16Array(length)
  for (let i = 0; i < length; i++) {
    let sum = 0
    for (const plane of planes) sum += plane[i]!
    const value = Math.max(-1, Math.min(1, sum / planes.length))
    out[i] = Math.round(value * 32767)
  }
  return out
}

/** Loudness of a piece. */
export function levelOf(samples: Int16Array): Level {
  let peak = 0
  let squares = 0
  for (const sample of samples) {
    const size = Math.abs(sample)
    if (size > peak) peak = size
    squares += sample * sample
  }
  const rms = samples.length ? Math.sqrt(squares / samples.length) : 0
  return { peakDb: toDb(peak / 32767), rmsDb: toDb(rms / 32767), clipped: peak >= 32767 }
}

const toDb = (ratio: number): number => (ratio > 0 ? 20 * Math.log10(ratio) : -Infinity)

/**
 * Turns timestamps into samples owed. A microphone's pieces carry the time of their first sample; under load some are lost.
 * The hole before a piece is filled with silence, so that sample n is always n / rate seconds after the first one.
 * Timestamps jitter by a few milliseconds: only a hole of more than `tolerance` counts.
 */
export class GapFiller {
  readonly #rate: number
  readonly #toleranceMs: number
  #expected: number | null = null

  constructor(sampleRate: number, toleranceMs = 15) {
    this.#rate = sampleRate
    this.#toleranceMs = toleranceMs
  }

  /** How many samples of silence belong before a piece that begins at `at` (milliseconds) and has `length` samples. */
  missingBefore(at: number, length: number): number {
    const hole = this.#expected === null ? 0 : at - this.#expected
    this.#expected = at + (length / this.#rate) * 1000
    return hole > this.#toleranceMs ? Math.round((hole / 1000) * this.#rate) : 0
  }
}

/**
 * A piece's time on the window's performance.now. Chromium stamps the first piece on the window's clock and the later ones on the
 * clock of the worker that reads them; a piece cannot have been sounded after it arrived, and arrives soon after: of the two
 * readings the one with the smaller delay that is not before the sound (a few milliseconds of slack) is right.
 *
 * @param stamp milliseconds as stamped
 * @param now when it arrived, on the window's clock
 * @param workerLead how much later the worker's clock began than the window's
 */
export function onWindowClock(stamp: number, now: number, workerLead: number): number {
  const readings = [stamp, stamp + workerLead].filter((at) => now - at > -5)
  return readings.length ? Math.max(...readings) : Math.min(stamp, now)
}
