import { frameTimeSigma } from '../../camera/captureRate.ts'
import { polynomialWeights } from '../../signal/localPolynomial.ts'
import { findRoot } from '../../signal/crossing.ts'
import { indexAt, paired, type Series } from './series.ts'
import type { Instant } from './takeaway.ts'

export interface Reversal extends Instant {
  /** How sharply it reverses, radians a second squared, positive. */
  readonly sharpness: number
}

export interface ShaftTurn {
  readonly t: number[]
  /** Radians from hanging straight down, growing as the club goes back, unwrapped. */
  readonly angle: number[]
  readonly sigma: number[]
}

/** The shaft's turn in the face-on picture. */
export function shaftTurn(tail: Series, tip: Series): ShaftTurn {
  const both = paired(tail, tip)
  const angle: number[] = []
  const sigma: number[] = []
  let last = 0
  both.t.forEach((_, i) => {
    const du = both.b[i]![0] - both.a[i]![0]
    const dv = both.b[i]![1] - both.a[i]![1]
    const raw = Math.atan2(-du, -dv)
    last = i === 0 ? raw : last + Math.atan2(Math.sin(raw - last), Math.cos(raw - last))
    angle.push(last)
    sigma.push(Math.hypot(tail.sigma, tip.sigma) / Math.hypot(du, dv))
  })
  return { t: both.t, angle, sigma }
}

const halfWindows = [0.07, 0.045, 0.03]
/** Frames farther apart fill the narrowest window too thinly for its cubic, seconds. */
const sparse = 0.011

/**
 * Where the shaft's turning reverses: the greatest turn between two instants, by a cubic through the widest window
 * that it fits, so that a slow stop and a quick start down do not pull it aside.
 */
export function findTop(turn: ShaftTurn, from: number, to: number): Reversal | null {
  const first = indexAt(turn.t, from)
  const end = Math.min(indexAt(turn.t, to), turn.t.length - 1)
  if (end - first < 3) return null
  let peak = first
  for (let i = first; i <= end; i++) if (turn.angle[i]! > turn.angle[peak]!) peak = i
  peak = smoothPeak(turn, peak, first, end)
  if (peak === first || peak === end) return null
  const candidates = halfWindows.flatMap((half) => {
    const i = indexAt(turn.t, turn.t[peak]! - half - 1e-9)
    const j = indexAt(turn.t, turn.t[peak]! + half + 1e-9)
    const found = j - i < 6 || i === 0 ? null : reversal(turn, peak, i, j, 3)
    return found?.isSharp ? [found] : []
  })
  const interval = (turn.t[end]! - turn.t[first]!) / (end - first)
  const nearest = interval > sparse ? reversal(turn, peak, Math.max(peak - 1, 0), Math.min(peak + 2, turn.t.length), 2) : null
  // Three frames say nothing of how lopsided it is: it is known no better than to the frame, and no worse.
  if (nearest) candidates.push({ ...nearest, sigma: Math.hypot(Math.min(nearest.sigma, interval / 2), frameTimeSigma(interval)) })
  // A stop that is slower than the start down pulls a wide window early: it may not differ from the next narrower one by
  // more than that one's error, and what it differs by is its own.
  for (const [k, found] of candidates.entries()) {
    const narrower = candidates[k + 1]
    if (!narrower) return found
    const shift = Math.abs(found.t - narrower.t)
    if (found.holds && shift <= narrower.sigma) return { ...found, sigma: Math.hypot(found.sigma, shift) }
  }
  return null
}

/** Half a window over which the greatest turn is looked for, seconds, where it holds as many frames as `enough`. */
const smoothing = 0.03
const enough = 7

/** The frame of the greatest turn near `peak`, by parabolas: of many frames near the top the noise alone makes one the greatest. */
function smoothPeak(turn: ShaftTurn, peak: number, first: number, end: number): number {
  const at = turn.t[peak]!
  let [best, most] = [peak, -Infinity]
  for (let k = Math.max(first, indexAt(turn.t, at - 2 * smoothing)); k <= Math.min(end, indexAt(turn.t, at + 2 * smoothing)); k++) {
    const t = turn.t[k]!
    const i = indexAt(turn.t, t - smoothing - 1e-9)
    const j = indexAt(turn.t, t + smoothing + 1e-9)
    const here = j - i < enough ? turn.angle[k]! : polynomialWeights(turn.t.slice(i, j), t, 2).reduce((sum, w, n) => sum + w * turn.angle[i + n]!, 0)
    if (here > most) [best, most] = [k, here]
  }
  return best
}

/** A reversal whose sharpness is known no better than to this share tells no instant: its error is no straight line's. */
const sharpEnough = 0.2

/** The vertex of the polynomial through the window [i, j). */
function reversal(turn: ShaftTurn, peak: number, i: number, j: number, degree: number): (Reversal & { readonly holds: boolean; readonly isSharp: boolean }) | null {
  const t = turn.t.slice(i, j)
  if (t.length <= degree) return null
  const y = turn.angle.slice(i, j)
  const rate = (at: number) => polynomialWeights(t, at, degree, 1).reduce((sum, w, k) => sum + w * y[k]!, 0)
  const step = (t.at(-1)! - t[0]!) / (t.length - 1)
  const centre = turn.t[peak]!
  let root: number | null = null
  for (let reach = 1; reach <= Math.max(3, t.length / 3) && root === null; reach++) root = findRoot(rate, centre - reach * step, centre + reach * step)
  if (root === null) return null
  const rates = polynomialWeights(t, root, degree, 1)
  const bends = polynomialWeights(t, root, degree, 2)
  let bend = 0
  let variance = 0
  let bendVariance = 0
  for (let k = 0; k < t.length; k++) {
    bend += bends[k]! * y[k]!
    variance += (rates[k]! * turn.sigma[i + k]!) ** 2
    bendVariance += (bends[k]! * turn.sigma[i + k]!) ** 2
  }
  if (!(bend < 0)) return null
  let misfit = 0
  const values = [0, 1, 2, 3].slice(0, degree + 1).map((d) => polynomialWeights(t, root, degree, d).reduce((sum, w, k) => sum + w * y[k]!, 0))
  for (let k = 0; k < t.length; k++) {
    const d = t[k]! - root
    const fit = values.reduce((sum, c, p) => sum + (c * d ** p) / [1, 1, 2, 6][p]!, 0)
    misfit += ((y[k]! - fit) / turn.sigma[i + k]!) ** 2
  }
  const freedom = t.length - degree - 1
  return { t: root, sigma: Math.sqrt(variance) / -bend, sharpness: -bend, isSharp: Math.sqrt(bendVariance) < -sharpEnough * bend, holds: misfit <= freedom + Math.sqrt(2 * freedom) }
}

/**
 * Down the line alone, where the shaft points along the line of sight at the top: the instant of least change of the
 * shaft in the picture, coarse.
 */
export function findTopAlong(tail: Series, tip: Series, from: number, to: number): Instant | null {
  const both = paired(tail, tip)
  const half = 0.035
  let best: { t: number; speed: number } | null = null
  let worst = 0
  for (const t of both.t) {
    if (t < from || t > to) continue
    const i = indexAt(both.t, t - half)
    const j = indexAt(both.t, t + half + 1e-9)
    if (j - i < 3) continue
    const w = polynomialWeights(both.t.slice(i, j), t, 1, 1)
    let u = 0
    let v = 0
    for (let k = 0; k < w.length; k++) {
      u += w[k]! * (both.b[i + k]![0] - both.a[i + k]![0])
      v += w[k]! * (both.b[i + k]![1] - both.a[i + k]![1])
    }
    const speed = Math.hypot(u, v)
    worst = Math.max(worst, speed)
    if (!best || speed < best.speed) best = { t, speed }
  }
  if (!best || best.speed > 0.5 * worst) return null
  return { t: best.t, sigma: 0.02 }
}
