import { cross3, dot3, scale3, sub3, unit3, type Vec3 } from '../../geometry/vec.ts'
import { hasSpace, placeInSpace, type Swing } from '../reading.ts'
import { shaftPoints } from '../shaft.ts'
import { turnAxis } from '../shaftAtLevel.ts'
import type { Instant } from './takeaway.ts'
import { findTop, type ShaftTurn } from './top.ts'

/** What of the shaft's path before the top shows the axis it turns round there, seconds before. */
const axisFrom = 0.2
const axisTo = 0.04

/**
 * The top in the world: where the shaft's turning about the axis of its last way back reverses, near an instant that
 * one picture gave. Null where the shaft is not to be had in space there.
 */
export function findTopInSpace(swing: Swing, near: number, reach: number): Instant | null {
  const shaft = hasSpace(swing) ? shaftPoints(swing.views) : null
  if (!shaft) return null
  const [one] = swing.views
  const times: number[] = []
  const directions: Vec3[] = []
  const noise: number[] = []
  // On frames of the first view; the second is read at the same instant, between its own frames if need be.
  for (const time of one!.times) {
    const t = time - one!.clock.value
    if (t < near - axisFrom - reach || t > near + reach) continue
    const tail = placeInSpace(swing, shaft.tail, t)
    const tip = placeInSpace(swing, shaft.tip, t)
    if (!tail || !tip) continue
    const d = sub3(tip, tail)
    const length = Math.hypot(...d)
    times.push(t)
    directions.push(scale3(d, 1 / length))
    const metresPerPx = Math.hypot(...sub3(tip, one!.camera!.place)) / one!.camera!.focalPx
    noise.push((Math.SQRT2 * one!.sigmaPx * metresPerPx) / length)
  }
  const path = directions.filter((_, i) => times[i]! >= near - axisFrom && times[i]! <= near - axisTo)
  if (path.length < 3) return null
  const axis = unit3(turnAxis(path))
  const zero = axis && unit3(sub3(path.at(-1)!, scale3(axis, dot3(axis, path.at(-1)!))))
  if (!axis || !zero) return null
  const side = cross3(axis, zero)
  const turn: ShaftTurn = { t: times, angle: directions.map((d) => Math.atan2(dot3(d, side), dot3(d, zero))), sigma: noise }
  return findTop(turn, near - reach, near + reach)
}
