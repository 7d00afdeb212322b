import { cross3, dot3, scale3, sub3, unit3, type Vec3 } from '../../geometry/vec.ts'
import { hasSpace, placeInSpace, type Swing } from '../reading.ts'
import { shaftPoints } from '../shaft.ts'
import { turnAxis } from '../shaftAtLevel.ts'
import type { Instant } from './takeaway.ts'
import { findTop, type Reversal, type ShaftTurn } from './top.ts'
import { polynomialWeights } from '../../signal/localPolynomial.ts'
import { indexAt } from './series.ts'

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
  const top = findTop(turn, near - reach, near + reach)
  if (!top) return null
  const off = directions.map((d) => Math.asin(Math.max(-1, Math.min(1, dot3(d, axis)))))
  return { t: top.t, sigma: Math.hypot(top.sigma, vagueness(times, off, noise, top)) }
}

/**
 * A shaft that still turns out of its plane while it reverses in it has no one instant of reversal: it is spread over
 * what it takes to make up that speed; half of it stands for one standard deviation.
 */
function vagueness(times: number[], off: readonly number[], noise: readonly number[], top: Reversal): number {
  const i = indexAt(times, top.t - 0.04)
  const j = indexAt(times, top.t + 0.04)
  if (j - i < 3) return 0
  const weights = polynomialWeights(times.slice(i, j), top.t, 1, 1)
  let rate = 0
  let variance = 0
  for (let k = 0; k < weights.length; k++) {
    rate += weights[k]! * off[i + k]!
    variance += (weights[k]! * noise[i + k]!) ** 2
  }
  return (0.5 * Math.sqrt(Math.max(0, rate * rate - variance))) / top.sharpness
}
