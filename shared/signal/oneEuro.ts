/** Casiez, Roussel & Vogel 2012: a low-pass filter for live tracks whose cutoff rises with speed. */
export interface OneEuroOptions {
  /** Cutoff at rest, Hz. */
  readonly minCutoff: number
  /** Hz more for each unit a second of speed. */
  readonly beta: number
  /** Cutoff for the speed itself, Hz. */
  readonly speedCutoff: number
}

export interface OneEuroState {
  readonly t: number
  readonly value: number
  readonly speed: number
}

/** The share of the new sample that enters: 1 / (1 + tau / period), tau = 1 / (2 pi cutoff). */
export const smoothingFactor = (cutoff: number, period: number): number => 1 / (1 + 1 / (2 * Math.PI * cutoff * period))

/** The state after a sample at time t seconds; the first sample is taken as it is. */
export function oneEuroStep(state: OneEuroState | null, t: number, sample: number, options: OneEuroOptions): OneEuroState {
  if (!state) return { t, value: sample, speed: 0 }
  const period = t - state.t
  if (!(period > 0)) throw new RangeError('samples must come one after another')
  const a = smoothingFactor(options.speedCutoff, period)
  const speed = state.speed + a * ((sample - state.value) / period - state.speed)
  const share = smoothingFactor(options.minCutoff + options.beta * Math.abs(speed), period)
  return { t, value: state.value + share * (sample - state.value), speed }
}
