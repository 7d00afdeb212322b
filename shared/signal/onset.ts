/** The sharpest beginning of a sound. */
export interface Onset {
  /** Seconds from the first sample. */
  readonly t: number
  /** One standard deviation, seconds: half of what the sound takes to rise, and the step that it is read in. */
  readonly sigma: number
  /** By how many decibels it rises above what was heard before it. */
  readonly riseDb: number
}

/** Energy is read in steps of this, seconds. */
const step = 5e-4
/** What is heard before an onset is taken over this long, and the onset over this long, seconds. */
const before = 0.03
const after = 0.002
/** Two onsets farther apart than this are two sounds, seconds: a room rings for less. */
const apart = 0.15
/** A rise of less is no blow, and a second blow within so much of the first leaves open which is meant, decibels. */
const leastRise = 14
const leastLead = 4

/** Energy of the sound's change from sample to sample, step by step: a blow is sharp, wind and voices are not. */
function sharpness(samples: ArrayLike<number>, rate: number): Float64Array {
  const perStep = rate * step
  const out = new Float64Array(Math.floor(samples.length / perStep))
  // Steps are cut by time, not by a whole number of samples: two rates must keep the same time.
  for (let k = 0; k < out.length; k++) {
    const [from, to] = [Math.max(1, Math.ceil(k * perStep)), Math.ceil((k + 1) * perStep)]
    let sum = 0
    for (let i = from; i < to; i++) sum += (samples[i]! - samples[i - 1]!) ** 2
    out[k] = sum / Math.max(1, to - from)
  }
  return out
}

const decibels = (ratio: number): number => 10 * Math.log10(ratio)

/**
 * Where a sound begins most sharply, or why that cannot be told, in words. The clubhead's meeting with the ball is the
 * sharpest sound that a swing makes.
 * @param samples from -1 to 1 @param rate of them, a second
 */
export function sharpestOnset(samples: ArrayLike<number>, rate: number): Onset | { readonly why: string } {
  const energy = sharpness(samples, rate)
  const [past, ahead] = [Math.round(before / step), Math.round(after / step)]
  if (energy.length < past + ahead + 2) return { why: 'the sound is too short to hear a blow in' }
  const sums = new Float64Array(energy.length + 1)
  for (let k = 0; k < energy.length; k++) sums[k + 1] = sums[k]! + energy[k]!
  const mean = (from: number, to: number): number => (sums[to]! - sums[from]!) / (to - from)
  // A floor of silence, so that the first click after digital nothing is not endlessly loud.
  const floor = Math.max(1e-12, 1e-3 * mean(0, energy.length))
  const loudness = (k: number): number => mean(k, k + ahead) + floor
  const rise = (k: number): number => decibels(loudness(k) / (mean(k - past, k) + floor))
  // How sharp and how loud together: a click close to the microphone is sharp too, but faint.
  const score = (k: number): number => rise(k) + decibels(loudness(k))
  let best = -1
  for (let k = past; k + ahead <= energy.length; k++) if (rise(k) >= leastRise && (best < 0 || score(k) > score(best))) best = k
  if (best < 0) return { why: 'no sound begins sharply enough to be the club meeting the ball' }
  let second = -1
  for (let k = past; k + ahead <= energy.length; k++)
    if (Math.abs(k - best) * step > apart && rise(k) >= leastRise && (second < 0 || score(k) > score(second))) second = k
  // Both terms of the score count a blow's strength, so that a lead of so many decibels shows twice.
  if (second >= 0 && score(best) - score(second) < 2 * leastLead)
    return { why: `two sounds begin alike, at ${(best * step).toFixed(2)} and ${(second * step).toFixed(2)} s, and either may be the club meeting the ball` }
  return edge(energy, best, past, ahead)
}

/** The instant at which the energy passes a tenth of its peak, between steps, and how long it takes to nine tenths. */
function edge(energy: Float64Array, best: number, past: number, ahead: number): Onset {
  let base = 0
  for (let k = best - past; k < best - 1; k++) base += energy[k]! / (past - 1)
  let peak = best
  for (let k = best - 1; k < Math.min(energy.length, best + 2 * ahead); k++) if (energy[k]! > energy[peak]!) peak = k
  const height = energy[peak]! - base
  const passes = (share: number): number => {
    const level = base + share * height
    // From before on: a blow that rings may be loudest well after it has begun.
    let k = Math.max(1, best - 2 * ahead)
    while (k < peak && energy[k]! <= level) k++
    const [low, high] = [energy[k - 1] ?? 0, energy[k]!]
    // Steps stand for their middles.
    return k - 0.5 + (high > low ? Math.min(1, Math.max(0, (level - low) / (high - low))) : 0)
  }
  const t = passes(0.1) * step
  const took = Math.max(0, passes(0.9) * step - t)
  return { t, sigma: Math.hypot(step / Math.sqrt(12), took / 2), riseDb: decibels((energy[peak]! + 1e-12) / (base + 1e-12)) }
}

/**
 * How much later the second sound has the same blow than the first, by cross-correlating the rises of their energy about
 * their onsets (parabolic peak), and its error: the step, and by how much the correlation and the onsets differ.
 * Null where the two do not sound alike.
 */
export function lagOfOnsets(one: ArrayLike<number>, oneRate: number, first: Onset, two: ArrayLike<number>, twoRate: number, second: Onset): { readonly lag: number; readonly sigma: number } | null {
  const rises = (samples: ArrayLike<number>, rate: number, about: number): Float64Array => {
    const energy = sharpness(samples, rate)
    const from = Math.round((about - reach) / step)
    return Float64Array.from({ length: Math.round((2 * reach) / step) }, (_, i) => {
      const [here, last] = [energy[from + i] ?? 0, energy[from + i - 1] ?? 0]
      return Math.max(0, Math.sqrt(here) - Math.sqrt(last))
    })
  }
  const a = rises(one, oneRate, first.t)
  const b = rises(two, twoRate, second.t)
  const most = Math.round(furthest / step)
  const at = (lag: number): number => {
    let [ab, aa, bb] = [0, 0, 0]
    for (let i = most; i < a.length - most; i++) {
      ab += a[i]! * b[i + lag]!
      aa += a[i]! ** 2
      bb += b[i + lag]! ** 2
    }
    return aa > 0 && bb > 0 ? ab / Math.sqrt(aa * bb) : 0
  }
  let best = -most
  for (let lag = -most; lag <= most; lag++) if (at(lag) > at(best)) best = lag
  const height = at(best)
  if (height < 0.3) return null
  const [low, high] = [at(best - 1), at(best + 1)]
  const bend = low - 2 * height + high
  const shift = best > -most && best < most && bend < 0 ? (low - high) / (2 * bend) : 0
  const rest = (best + shift) * step
  // Both were cut about their own onsets, which stand on steps of their own.
  const grid = (t: number): number => Math.round((t - reach) / step) * step + reach
  const lag = grid(second.t) - grid(first.t) + rest
  return { lag, sigma: Math.hypot(step / Math.sqrt(6), (lag - (second.t - first.t)) / 2) }
}

/** How much of either sound is compared, and how far one may be shifted against the other, seconds. */
const reach = 0.04
const furthest = 0.01
