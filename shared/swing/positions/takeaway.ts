import { fitLeastSquares } from '../../signal/leastSquares.ts'
import { indexAt, type Rest, type Series } from './series.ts'

export interface Instant {
  readonly t: number
  readonly sigma: number
}

/** The power with which a clubhead leaves its place: 2 is a steady push (a recorded swing shows 1.9 to 2.3). */
export const usualPower = 2
export const powerSigma = 0.35
/** The push does not set in at once: what the start may be off the model, in shares of the shaft. */
const soft = 0.003

/**
 * When the clubhead first moves away and keeps moving: the start t0 of s = c (t - t0)^p, fitted to how far it has come
 * along its way until it has gone `reachShare` of the shaft. No threshold has to be passed, so the answer does not come
 * later where the placing is coarser. Where it lay is fitted as well: the stillness that was found runs a little into the
 * movement.
 * @param rest where it lay before @param length the shaft's, in the plane's unit @param until seconds, at most the top
 * @param reachShare a fifth face-on; less down the line, where the way bends in the picture
 */
export function findTakeaway(tip: Series, rest: Rest, length: number, until: number, reachShare: number): Instant | null {
  const far = Math.max(reachShare * length, 5 * tip.sigma)
  const away = (i: number) => Math.hypot(tip.u[i]! - rest.u, tip.v[i]! - rest.v)
  let end = indexAt(tip.t, rest.to)
  while (end < tip.t.length && tip.t[end]! < until && away(end) < far) end++
  if (end >= tip.t.length || tip.t[end]! >= until) return null
  const reach = away(end)
  const du = (tip.u[end]! - rest.u) / reach
  const dv = (tip.v[end]! - rest.v) / reach
  const start = indexAt(tip.t, Math.max(rest.from, rest.to - 0.25))
  const t = tip.t.slice(start, end + 1)
  const s = t.map((_, k) => (tip.u[start + k]! - rest.u) * du + (tip.v[start + k]! - rest.v) * dv)
  if (t.length < 5) return null
  const tEnd = t.at(-1)!
  // The path bends: what it is off a straight line grows with the way squared, on a circle about the hands.
  const sigma = s.map((way) => Math.hypot(tip.sigma, soft * length, (0.04 * way * way) / far))
  const first = Math.max(0, s.findLastIndex((way) => way < 3 * tip.sigma))
  const onset = t[first]!
  const startT = onset - (tEnd - onset) * 0.1
  const fit = fitLeastSquares(
    {
      count: t.length + 1,
      residuals: ([t0, size, p, lay], out) => {
        const span = Math.max(tEnd - t0!, 1e-6)
        t.forEach((time, k) => {
          const way = time > t0! ? size! * ((time - t0!) / span) ** p! : 0
          out[k] = (lay! + way - s[k]!) / sigma[k]!
        })
        out[t.length] = (p! - usualPower) / powerSigma
      },
    },
    [startT, reach, usualPower, 0],
    { maxIterations: 200 },
  )
  if (!fit.covariance) return null
  const t0 = fit.parameters[0]!
  if (!(t0 < tEnd) || t0 < t[0]! - 0.1) return null
  const misfit = Math.max(1, fit.sumOfSquares / Math.max(1, t.length - 3))
  return { t: t0, sigma: Math.sqrt(fit.covariance[0]! * misfit) }
}
