import type { PointName } from '../../contract/pointsFile.ts'
import { linear, measured, withError, type Uncertain } from '../../signal/uncertain.ts'
import { isMissing, pictureAt, type Position, type Swing } from '../reading.ts'
import { placeAt, type Track } from '../track.ts'
import type { SwingView } from '../viewOf.ts'
import { levelInstant, type Level } from './levels.ts'
import { perPx, type Rest } from './series.ts'

/** How far the clubhead's middle is short of the ball's as they meet, and by how much that differs, shares of the shaft: half a head and half a ball (common practice, no source). */
const ahead = 0.045
const aheadSigma = 0.02

/** Half of a step, of the distance from the frame before to the frame after, where the clubhead turns by up to a right angle a frame. */
const halfStep = 0.36
/** A clubhead that passes its place at a distance is nearest to it at no one instant: its way turns by about so much meanwhile, radians. */
const wayTurns = 0.3

/**
 * The clubhead is back at its address place (else it reaches the ball), nearest along its way. Both are of one picture, so
 * that neither level nor perspective comes in. The ball stays on the face for some .5 ms: which instant of it is meant is
 * the definition's, no error.
 * @param length the shaft's, in the plane's unit @param fast when the clubhead is fastest @param rest where it lay, or null
 */
export function findImpact(swing: Swing, view: SwingView, tip: PointName, length: number, fast: number, rest: Rest | null): Position | null {
  const track = view.tracks.get(tip)!
  const ball = view.tracks.get('ball')
  const lay = rest ? meanPlace(track, rest.to - 0.5 < rest.from ? rest.from : rest.to - 0.5, rest.to, view.clock.value) : ball ? meanPlace(ball, -Infinity, Infinity, 0) : null
  if (!lay) return null
  const t = (i: number) => track.times[i]! - view.clock.value
  const off = (i: number) => Math.hypot(track.x[i]! - lay.x, track.y[i]! - lay.y)
  let nearest = -1
  for (let i = 1; i + 1 < track.times.length; i++) if (Math.abs(t(i) - fast) <= 0.15 && (nearest < 0 || off(i) < off(nearest))) nearest = i
  if (nearest < 0) return null
  const frame = view.interval
  // The clubhead may have left the picture on one side of it.
  const before = t(nearest) - t(nearest - 1) < 1.5 * frame ? nearest - 1 : nearest
  const after = t(nearest + 1) - t(nearest) < 1.5 * frame ? nearest + 1 : nearest
  if (before === after) return null
  const step = [track.x[after]! - track.x[before]!, track.y[after]! - track.y[before]!] as const
  const lengthPx = length / perPx(view)
  // At few frames a second the clubhead leaps over its place: half of one step away from it is as near as a frame comes.
  if (off(nearest) > Math.max(0.5 * lengthPx, (halfStep * 2 * Math.hypot(...step)) / (after - before))) return null
  const short = rest ? 0 : ahead * lengthPx
  const placeError = measured(0, Math.hypot(lay.sigma, rest ? 0 : aheadSigma * lengthPx), swing.sources.of(`rest ${view.name}`))
  const passing = (way: readonly [number, number]): Uncertain | null => {
    const norm = Math.hypot(...way)
    const along = (x: number, y: number) => ((x - lay.x) * way[0] + (y - lay.y) * way[1]) / norm + short
    const past: Level = {
      value: (at) => {
        const p = placeAt(track, at + view.clock.value)
        return p ? along(p[0], p[1]) : Number.NaN
      },
      read: (at) => {
        const p = pictureAt(swing, view, tip, at)
        return isMissing(p) ? p : linear(along(p.x.value, p.y.value), [p.x, p.y, placeError], [way[0] / norm, way[1] / norm, 1])
      },
    }
    return levelInstant(past, t(nearest) - frame, t(nearest) + frame, frame / 8)
  }
  const about = passing(step)
  const way = about && pictureAt(swing, view, tip, about)
  if (!about || !way || isMissing(way)) return null
  // Between frames far apart the way has turned by much from one to the next: once more along what it is there.
  const speed = way.rate ?? step
  const met = passing(speed) ?? about
  // Seen along its way the clubhead hardly moves in the picture as it meets the ball.
  const unseen = view.name === 'down-the-line' ? Math.max(0.004, frame / 2) : 0
  const there = placeAt(track, met.value + view.clock.value)!
  const miss = Math.abs((there[1] - lay.y) * speed[0] - (there[0] - lay.x) * speed[1]) / Math.hypot(...speed)
  const vague = (wayTurns * Math.sqrt(Math.max(0, miss ** 2 - track.sigma[nearest]! ** 2))) / Math.hypot(...speed)
  return {
    t: withError(met, Math.hypot(unseen, vague), swing.sources.of(`found impact ${view.name}`)),
    basis: `found in the ${view.name} view: the clubhead ${rest ? 'is back at its address place' : 'reaches the ball'}, which stays on the face for some .5 ms`,
  }
}

/** Where a point that lies still is in the picture, pixels, over the frames between two instants of the swing's clock. */
function meanPlace({ times, x, y, sigma }: Track, from: number, to: number, clock: number): { x: number; y: number; sigma: number } | null {
  let [sx, sy, count, worst] = [0, 0, 0, 0]
  for (let i = 0; i < times.length; i++) {
    if (times[i]! - clock < from - 1e-9 || times[i]! - clock > to + 1e-9) continue
    sx += x[i]!
    sy += y[i]!
    worst = Math.max(worst, sigma[i]!)
    count++
  }
  return count === 0 ? null : { x: sx / count, y: sy / count, sigma: worst / Math.sqrt(count) }
}
