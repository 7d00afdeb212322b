import type { Camera } from '../camera/projection.ts'
import type { SeenTwice } from '../camera/solve/refuse.ts'
import { meetSightlines } from '../camera/triangulation.ts'
import { sub3 } from '../geometry/vec.ts'

/** Step over which a gap's change with the clock is taken, seconds. */
const step = 1e-4
/** A point that misses by more than this many errors tells less of the clock (Huber 1964; from memory). */
const huber = 1.5
const rounds = 6

/** The second view's points as they would be with its clock so much later, seconds. */
export const withClock = (points: readonly SeenTwice[], late: number): SeenTwice[] =>
  points.map((p) => ({ one: p.one, two: { ...p.two, x: p.two.x + late * p.two.rate[0], y: p.two.y + late * p.two.rate[1] } }))

/**
 * By how much the second view's clock is likely off, seconds: what brings the sightlines of the moving points closest,
 * held to 0 by what is known of the clocks beforehand. Through cameras that are known.
 * @param sigma standard deviation of the clocks, seconds
 */
export function likelyClock(points: readonly SeenTwice[], one: Camera, two: Camera, sigma: number): number {
  if (sigma === 0) return 0
  const gaps = (late: number) => withClock(points, late).map((p) => meetSightlines(one, [p.one.x, p.one.y], two, [p.two.x, p.two.y]))
  const [low, high] = [gaps(-step), gaps(step)]
  const terms = points.flatMap((p, i) => {
    const [a, b] = [low[i], high[i]]
    if (!a || !b) return []
    const perPx = (c: Camera) => Math.hypot(...sub3(a.point, c.place)) / c.focalPx
    const error = Math.hypot(p.one.sigma * perPx(one), p.two.sigma * perPx(two))
    return [{ off: (a.gap + b.gap) / 2 / error, rate: (b.gap - a.gap) / (2 * step) / error }]
  })
  let late = 0
  for (let round = 0; round < rounds; round++) {
    let [top, bottom] = [0, 1 / sigma ** 2]
    for (const { off, rate } of terms) {
      const weight = Math.min(1, huber / Math.max(Math.abs(off + rate * late), 1e-9))
      top -= weight * off * rate
      bottom += weight * rate * rate
    }
    late = top / bottom
  }
  return late
}
