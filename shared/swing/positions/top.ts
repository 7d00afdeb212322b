import { polynomialWeights } from '../../signal/localPolynomial.ts'
import { fitLeastSquares } from '../../signal/leastSquares.ts'
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

/** What is looked at before the reversal and after it, seconds. */
const before = 0.12
const after = 0.1
/**
 * The powers of time with which the turn comes to its stop and starts down: 2 is a steady pull, more a pause. The arms of
 * a recorded swing show 1.9 to 2.5 and 1.9 to 2.6.
 */
export const stopPower = 2.15
export const stopSigma = 0.25
export const startPower = 2.2
export const startSigma = 0.25

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

/**
 * Where the shaft's turning reverses, between two instants. Coming to a stop and starting down are two things: the turn
 * falls off the greatest, g, as c (t0 - t)^p before it and as d (t - t0)^q after it, fitted together. So a slow stop and a
 * quick start do not pull t0 aside, and what cannot be told of p and q is in its error, between frames far apart as well.
 */
export function findTop(turn: ShaftTurn, from: number, to: number): Reversal | null {
  const first = indexAt(turn.t, from)
  const end = Math.min(indexAt(turn.t, to), turn.t.length - 1)
  if (end - first < 3) return null
  let peak = first
  for (let i = first; i <= end; i++) if (turn.angle[i]! > turn.angle[peak]!) peak = i
  peak = smoothPeak(turn, peak, first, end)
  if (peak === first || peak === end) return null
  const near = fitReversal(turn, turn.t[peak]!)
  // Once more about what was found: the frame of the greatest turn may lie well beside it.
  return near && fitReversal(turn, near.t)
}

function fitReversal(turn: ShaftTurn, about: number): Reversal | null {
  const i = Math.max(0, indexAt(turn.t, about - before) - 1)
  const j = Math.min(turn.t.length, indexAt(turn.t, about + after) + 1)
  const t = turn.t.slice(i, j)
  const y = turn.angle.slice(i, j)
  const sigma = turn.sigma.slice(i, j)
  if (t.length < 5) return null
  const most = Math.max(...y)
  const fit = fitLeastSquares(
    {
      count: t.length + 2,
      residuals: ([greatest, t0, fall, drop, p, q], out) => {
        t.forEach((time, k) => {
          const late = time - t0!
          const short = late < 0 ? fall! * (-late / before) ** p! : drop! * (late / after) ** q!
          out[k] = (greatest! - short - y[k]!) / sigma[k]!
        })
        out[t.length] = (p! - stopPower) / stopSigma
        out[t.length + 1] = (q! - startPower) / startSigma
      },
    },
    [most, about, Math.max(most - y[0]!, 1e-3), Math.max(most - y.at(-1)!, 1e-3), stopPower, startPower],
    { maxIterations: 100 },
  )
  const [, t0, fall, drop] = fit.parameters
  if (!fit.covariance || !(fall! > 0 && drop! > 0) || !(t0! > t[0]! && t0! < t.at(-1)!)) return null
  // More scatter than the placing explains counts as the placing's.
  const misfit = Math.max(1, fit.sumOfSquares / Math.max(1, t.length - 4))
  return { t: t0!, sigma: Math.sqrt(fit.covariance[7]! * misfit), sharpness: fall! / before ** 2 + drop! / after ** 2 }
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
