import { cross3, dot3, length3, scale3, sub3, unit3, type Vec3 } from '../geometry/vec.ts'
import { toChest } from './chain.ts'
import { genericEase, residualsPerArm, rootsOf, weights, writeResiduals } from './cost.ts'
import type { Seen } from './fitBody.ts'
import { axesFrom } from './fromPoints.ts'
import { armAngles, rowLength } from './joints.ts'
import { usualApart } from './standard.ts'
import type { ArmLengths, Side } from './types.ts'

/**
 * How far from its middle each joint of a body stands, for the fit of what one view shows: a joint is somewhere in its range. The
 * walls at the limits are left out: a mark that is off is no reason to bend all the others to it.
 */
const joints = 7
export const likelyCount = 2 * joints

const row = new Float64Array(rowLength)
const all = new Float64Array(residualsPerArm)
const vectors = new Float64Array(12)
const ease = { lead: genericEase('lead'), trail: genericEase('trail') }
const roots = { lead: rootsOf(weights.lead), trail: rootsOf(weights.trail) }

/** The joint angles of one arm of a body as seen; false where they cannot be told. */
export function anglesSeen(out: Float64Array, seen: Seen, side: Side, { upperArm, forearm }: ArmLengths): boolean {
  const axes = axesFrom(seen.leadShoulder, seen.trailShoulder, seen.trunkBase)
  const [shoulder, elbow, wrist] = side === 'lead' ? [seen.leadShoulder, seen.leadElbow, seen.leadWrist] : [seen.trailShoulder, seen.trailElbow, seen.trailWrist]
  const n = unit3(sub3(wrist, shoulder))
  if (!axes || !n) return false
  const off = sub3(elbow, shoulder)
  const e = unit3(sub3(off, scale3(n, dot3(off, n)))) ?? unit3(cross3(n, axes.front))
  const fist = scale3(seen.shaft, (side === 'lead' ? -0.5 : 0.5) * usualApart)
  const hand = unit3(sub3([seen.hands[0] + fist[0], seen.hands[1] + fist[1], seen.hands[2] + fist[2]], wrist))
  if (!e || !hand) return false
  const put = (k: number, v: Vec3): void => vectors.set(toChest(axes, v), k)
  put(0, n)
  put(3, e)
  put(6, hand)
  put(9, seen.shaft)
  const distance = Math.min(length3(sub3(wrist, shoulder)), 0.9999 * (upperArm + forearm))
  return armAngles(out, side === 'lead' ? 1 : -1, vectors, distance, upperArm, forearm)
}

export function writeLikely(out: Float64Array, from: number, seen: Seen, lengths: ArmLengths): void {
  out.fill(0, from, from + likelyCount)
  for (const [i, side] of (['lead', 'trail'] as const).entries())
    if (anglesSeen(row, seen, side, lengths)) {
      writeResiduals(all, 0, row, ease[side], roots[side], side)
      // Twice off counts as twice, ten times off as no more than about three.
      for (let k = 0; k < joints; k++) out[from + i * joints + k] = all[k]! / Math.sqrt(1 + (all[k]! / 3) ** 2)
    }
}
