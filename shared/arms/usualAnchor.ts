import { add3, cross3, scale3, unit3, type Vec3 } from '../geometry/vec.ts'
import { chainOf, fromChest, leadReference, toChest, type Posture } from './chain.ts'
import { genericEase, weights } from './cost.ts'
import { LeastCost } from './leastCost.ts'
import { wristAt } from './model.ts'
import { isNoSwivel, swivelElbow, trailSwivelElbow } from './swivel.ts'
import type { Anchor, ArmsInput } from './types.ts'

const toRad = Math.PI / 180

export interface ShaftAndElbow {
  readonly azimuthDeg: number
  readonly elevationDeg: number
  readonly swivelDeg: number
}

/**
 * A pose for a body of which only the shaft's direction and the trail elbow are said: the club's turn about its own shaft and the
 * lead elbow are those of least generic cost. Null where the hands do not reach such a club.
 */
export function usualAnchor(input: Omit<ArmsInput, 'anchor'>, { azimuthDeg, elevationDeg, swivelDeg }: ShaftAndElbow): { readonly anchor: Anchor; readonly cost: number } | null {
  const az = azimuthDeg * toRad
  const el = elevationDeg * toRad
  const shaft: Vec3 = [Math.cos(el) * Math.cos(az), Math.sin(el), Math.cos(el) * Math.sin(az)]
  const first = unit3(cross3(shaft, Math.abs(shaft[1]) < 0.9 ? [0, 1, 0] : [1, 0, 0]))!
  const second = cross3(shaft, first)
  const sideAt = (roll: number): Vec3 => add3(scale3(first, Math.cos(roll)), scale3(second, Math.sin(roll)))
  const { axes } = input.chest
  const search = new LeastCost({ chain: chainOf(input), ease: { lead: genericEase('lead'), trail: genericEase('trail') }, weights })
  const along = Float64Array.from(toChest(axes, shaft))
  const cost = (roll: number, lead: number): number => {
    const posture: Posture = { shaft: along, side: Float64Array.from(toChest(axes, sideAt(roll))), lead, trail: swivelDeg * toRad }
    return search.cost(posture)
  }
  let best = { roll: 0, lead: 0, cost: Infinity }
  const look = (roll: number, lead: number): void => {
    const found = cost(roll, lead)
    if (found < best.cost) best = { roll, lead, cost: found }
  }
  const coarse = 30 * toRad
  for (let i = 0; i < 12; i++) for (let k = 0; k < 12; k++) look(i * coarse, k * coarse)
  if (!Number.isFinite(best.cost)) return null
  for (let size = coarse / 2; size > 1e-3; size /= 2)
    for (let around = 0; around < 2; around++) {
      const { roll, lead } = best
      for (const i of [-1, 0, 1]) for (const k of [-1, 0, 1]) look(roll + i * size, lead + k * size)
    }
  const side = sideAt(best.roll)
  const whole: ArmsInput = { ...input, anchor: null }
  const { lead, trail } = input.body.arms
  const leadElbow = swivelElbow(input.chest.leadShoulder, wristAt(whole, 'lead', shaft, side), lead.upperArm, lead.forearm, fromChest(axes, leadReference), best.lead)
  const trailElbow = trailSwivelElbow(input.chest.trailShoulder, wristAt(whole, 'trail', shaft, side), trail.upperArm, trail.forearm, swivelDeg)
  if (isNoSwivel(leadElbow) || isNoSwivel(trailElbow)) return null
  return { anchor: { filmed: false, shaft, side, leadElbow: leadElbow.elbow, trailElbow: trailElbow.elbow }, cost: best.cost }
}
