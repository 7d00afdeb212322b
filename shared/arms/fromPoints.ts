import { add3, cross3, dot3, length3, scale3, sub3, unit3, type Vec3, type WorldPoint } from '../geometry/vec.ts'
import type { ArmsInput, Axes, Hold } from './types.ts'

/** Where the parts are in the world, metres: what a pose is put together from. */
export interface BodyPoints {
  readonly leadShoulder: WorldPoint
  readonly trailShoulder: WorldPoint
  readonly leadElbow: WorldPoint
  readonly trailElbow: WorldPoint
  readonly leadWrist: WorldPoint
  readonly trailWrist: WorldPoint
  readonly trailHip: WorldPoint
  /** The lower end of the trunk: the middle of the hips, or the base of the spine. */
  readonly trunkBase: WorldPoint
  /** On the shaft midway between the hands, and its unit direction, butt to head. */
  readonly hands: WorldPoint
  readonly shaft: Vec3
}

/** The chest's axes: up along the trunk, lead along the shoulders made square to it; null where they have no direction. */
export function axesFrom(leadShoulder: Vec3, trailShoulder: Vec3, trunkBase: Vec3): Axes | null {
  const up = unit3(sub3(scale3(add3(leadShoulder, trailShoulder), 0.5), trunkBase))
  if (!up) return null
  const across = sub3(leadShoulder, trailShoulder)
  const lead = unit3(sub3(across, scale3(up, dot3(across, up))))
  return lead && { lead, up, front: cross3(lead, up) }
}

/**
 * A wrist's place on the club in cylinder coordinates; `side` is where round is 0.
 * `round` is the angle of the part off the shaft, right-hand rule about it.
 */
export function holdOf(wrist: Vec3, hands: Vec3, shaft: Vec3, side: Vec3): Hold {
  const off = sub3(wrist, hands)
  const alongM = dot3(off, shaft)
  const flat = sub3(off, scale3(shaft, alongM))
  const a = dot3(flat, side)
  const b = dot3(flat, cross3(shaft, side))
  return { alongM, awayM: Math.hypot(a, b), roundDeg: (Math.atan2(b, a) * 180) / Math.PI }
}

/** Unit vector square to the shaft toward a wrist; null where the wrist lies on the shaft. */
export const sideOf = (wrist: Vec3, hands: Vec3, shaft: Vec3): Vec3 | null => {
  const off = sub3(wrist, hands)
  return unit3(sub3(off, scale3(shaft, dot3(off, shaft))))
}

/** The input whose anchor is the pose of these points just as they are; null where they make no body. */
export function inputFromPoints(
  p: BodyPoints, more: { readonly apartM: number; readonly faceDeg: number; readonly lengthM: number; readonly buttToHandsM: number; readonly lengthSigma: number; readonly turning: Vec3 | null },
): ArmsInput | null {
  const axes = axesFrom(p.leadShoulder, p.trailShoulder, p.trunkBase)
  const shaft = unit3(p.shaft)
  const side = shaft && sideOf(p.leadWrist, p.hands, shaft)
  if (!axes || !shaft || !side) return null
  const arm = (shoulder: Vec3, elbow: Vec3, wrist: Vec3) => ({ upperArm: length3(sub3(elbow, shoulder)), forearm: length3(sub3(wrist, elbow)) })
  const lead = holdOf(p.leadWrist, p.hands, shaft, side)
  return {
    body: {
      arms: { lead: arm(p.leadShoulder, p.leadElbow, p.leadWrist), trail: arm(p.trailShoulder, p.trailElbow, p.trailWrist) },
      grip: { lead: { ...lead, roundDeg: 0 }, trail: holdOf(p.trailWrist, p.hands, shaft, side), apartM: more.apartM, faceDeg: more.faceDeg },
      club: { lengthM: more.lengthM, buttToHandsM: more.buttToHandsM },
    },
    chest: { axes, leadShoulder: p.leadShoulder, trailShoulder: p.trailShoulder, trailHip: p.trailHip },
    hands: p.hands,
    anchor: { filmed: true, shaft, side, leadElbow: p.leadElbow, trailElbow: p.trailElbow },
    turning: more.turning,
    lengthSigma: more.lengthSigma,
  }
}
