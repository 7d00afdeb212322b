/** Peaks of the absolute sound, one for each 10 ms of file time from zero on. */
export const envelopeStepSeconds = 0.01

/** Gathers peaks as samples pass by. */
export class Envelope {
  #peaks: number[] = []
  readonly #samplesPerStep: number

  constructor(sampleRate: number) {
    this.#samplesPerStep = sampleRate * envelopeStepSeconds
  }

  /** @param at number of the first sample, counted from time zero */
  add(samples: Float32Array, at: number): void {
    for (let i = 0; i < samples.length; i++) {
      const step = Math.floor((at + i) / this.#samplesPerStep)
      if (step < 0) continue
      while (this.#peaks.length <= step) this.#peaks.push(0)
      const size = Math.abs(samples[i]!)
      if (size > this.#peaks[step]!) this.#peaks[step] = size
    }
  }

  /** Peaks from 0 (silence) to 1 (full scale; a decoder may go a little over). */
  peaks(): Float32Array<ArrayBuffer> {
    return Float32Array.from(this.#peaks)
  }
}
