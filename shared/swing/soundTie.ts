import { lagOfOnsets, sharpestOnset, type Onset } from '../signal/onset.ts'

/** The speed of sound in air, metres a second: 343 at 20 degrees (from memory); 10 degrees either way are .6 m/s each. */
export const soundSpeed = 343
/** How far a phone usually stands from the ball, metres, and how far that varies: common practice, no source. */
export const usualBallDistance = { 'face-on': { m: 3.3, sigma: 0.8 }, 'down-the-line': { m: 4.2, sigma: 1 } } as const

/** The sound of one clip and how far its phone stood from the ball. */
export interface Listening {
  readonly samples: ArrayLike<number>
  readonly rate: number
  readonly distanceM: number
  readonly distanceSigmaM: number
}

/** When a clip's club met its ball, seconds from the first sample, the sound's way taken off. */
export interface HeardImpact {
  readonly t: number
  readonly sigma: number
}

export interface SoundTie {
  readonly first: HeardImpact
  readonly second: HeardImpact
  /** One standard deviation of the tie, seconds: the onset's and the distances' together. */
  readonly sigma: number
  /** What is said of it, in words. */
  readonly words: string
}

const ms = (seconds: number): string => (1000 * seconds).toFixed(1)
const isOnset = (onset: Onset | { readonly why: string }): onset is Onset => 't' in onset

/** Both clips' instant of impact by its sound, or why it cannot be told. */
export function tieBySound(first: Listening, second: Listening, names: readonly [string, string]): SoundTie | { readonly why: string } {
  const one = sharpestOnset(first.samples, first.rate)
  if (!isOnset(one)) return { why: `Impact cannot be heard in the ${names[0]} clip: ${one.why}.` }
  const two = sharpestOnset(second.samples, second.rate)
  if (!isOnset(two)) return { why: `Impact cannot be heard in the ${names[1]} clip: ${two.why}.` }
  const lag = lagOfOnsets(first.samples, first.rate, one, second.samples, second.rate, two)
  // Two phones hear one blow differently; where they do so beyond likeness, each onset stands for itself.
  const heard = lag ?? { lag: two.t - one.t, sigma: Math.hypot(one.sigma, two.sigma) }
  const way = (l: Listening): number => l.distanceM / soundSpeed
  const wayErrors = [first, second].map((l) => l.distanceSigmaM / soundSpeed) as [number, number]
  const share = heard.sigma / Math.SQRT2
  const impacts = [
    { t: one.t - way(first), sigma: Math.hypot(share, wayErrors[0]) },
    { t: one.t + heard.lag - way(second), sigma: Math.hypot(share, wayErrors[1]) },
  ] as const
  const sigma = Math.hypot(impacts[0].sigma, impacts[1].sigma)
  return {
    first: impacts[0], second: impacts[1], sigma,
    words: `Tied by the sound of impact, +-${ms(sigma)} ms: the sound itself +-${ms(heard.sigma)} ms, and ${ms(Math.hypot(...wayErrors))} ms for how far the phones stood from the ball (${first.distanceM.toFixed(1)} and ${second.distanceM.toFixed(1)} m; sound takes 3 ms a metre).`,
  }
}
