import { curve, type Curve } from './curve.ts'
import type { SwingSpec } from './swingSpec.ts'
import { add, along, cross, degrees, radians, scale, type Vec } from './vec.ts'

/** Where along the shaft things are, metres from the butt. */
export const leadGripAt = 0.055
export const trailGripAt = 0.14
export const handsAt = (leadGripAt + trailGripAt) / 2
/** Above the sole: where the shaft meets the head, and the head's centre. */
export const hoselAboveSole = 0.035
const centreAboveSole = 0.027
/** Shaft line to the head's centre, toward the toe. */
const centreTowardToe = 0.036

/** How the club lies: unit vectors butt to head, out of the face, heel to toe, and square to the shaft toward the lead wrist. */
export interface ClubFrame {
  readonly shaft: Vec
  readonly face: Vec
  readonly toe: Vec
  readonly leadSide: Vec
}

/** The lead wrist lies so many degrees round the shaft from where the toe points, right-hand rule: a weak hold for a minus. */
const strong = -9

/** Times of the swing's turning points in seconds from the takeaway. */
export interface SwingTimes {
  readonly takeaway: 0
  readonly top: number
  readonly impact: number
  readonly finish: number
}

export function timesOf(spec: SwingSpec): SwingTimes {
  const impact = spec.backswingS + spec.downswingS
  return { takeaway: 0, top: spec.backswingS, impact, finish: impact + 0.78 }
}

/**
 * Direction of the club at any time. The club turns by phi in a plane of slope beta through the line of azimuth yaw: phi 0 points down the
 * slope at the ball, 90 away from the target, 180 up the slope, 270 at the target. At the top phi is 270 less the angle short of level, and
 * yaw is what makes the azimuth come out as asked: a shaft gamma short of level in an unturned plane has azimuth -atan(tan gamma cos beta).
 * @param roll of the club about its own shaft, degrees: 0 with the toe square to the plane, 90 with it against the way it turns
 */
export function clubMotion(spec: SwingSpec, roll: Curve): (t: number) => ClubFrame {
  const { top, impact, finish } = timesOf(spec)
  const addressSlope = addressSlopeDeg(spec)
  const short = radians(spec.shortOfLevelDeg)
  const laidByShort = degrees(Math.atan(Math.tan(short) * Math.cos(radians(spec.topPlaneSlopeDeg))))
  const phi: Curve = curve([
    { t: 0, x: 2, v: 0, a: 350 },
    { t: top, x: 270 - spec.shortOfLevelDeg, v: 0, a: -2200 },
    { t: impact, x: 6, v: -spec.impactShaftRateDegS, a: 5000 },
    { t: impact + 0.2, x: -205, v: -620, a: 2600 },
    { t: finish - 0.1, x: -304, v: 0, a: 0 },
  ])
  const slope: Curve = curve([
    { t: 0, x: addressSlope, v: 0 },
    { t: top * 0.5, x: addressSlope - 1 },
    { t: top, x: spec.topPlaneSlopeDeg, v: 0 },
    { t: top + spec.downswingS * 0.62, x: addressSlope - 6, v: 0 },
    // Who loses inclination lifts the handle.
    { t: impact, x: addressSlope - 2 - spec.inclinationChangeDeg * 0.3 },
    { t: impact + 0.2, x: addressSlope - 2 },
    { t: finish, x: 56 },
  ])
  const yaw: Curve = curve([
    { t: 0, x: 0 },
    { t: top * 0.42, x: 0 },
    { t: top, x: spec.shaftAzimuthTopDeg + laidByShort, v: 0 },
    { t: top + spec.downswingS * 0.75, x: -2 },
    { t: impact, x: 0 },
    { t: impact + 0.1, x: 0 },
    { t: finish, x: -28 },
  ])
  return (t) => {
    const angle = radians(phi(t))
    const beta = radians(slope(t))
    const turn = radians(yaw(t))
    const line: Vec = [Math.cos(turn), 0, Math.sin(turn)]
    const upSlope: Vec = [Math.cos(beta) * Math.sin(turn), Math.sin(beta), -Math.cos(beta) * Math.cos(turn)]
    const outOfPlane = cross(line, upSlope)
    const c = Math.cos(angle)
    const s = Math.sin(angle)
    const shaft = add(scale(upSlope, -c), scale(line, -s))
    const ahead = add(scale(line, c), scale(upSlope, -s))
    const rolled = radians(roll(t))
    const toeSquare = add(scale(outOfPlane, Math.cos(rolled)), scale(ahead, -Math.sin(rolled)))
    const face = add(scale(ahead, Math.cos(rolled)), scale(outOfPlane, Math.sin(rolled)))
    const held = radians(roll(t) + strong)
    const leadSide = add(scale(outOfPlane, Math.cos(held)), scale(ahead, -Math.sin(held)))
    const lie = radians(addressSlope)
    return { shaft, face, leadSide, toe: add(scale(shaft, Math.cos(lie)), scale(toeSquare, Math.sin(lie))) }
  }
}

const lowHandle = 13
/** Slope of the shaft at address: under its lie, for the hands hang where the arms let them, lower for the shorter player. */
function addressSlopeDeg(spec: SwingSpec): number {
  return degrees(Math.asin(Math.sin(radians(spec.club.lieDeg - lowHandle)) * (spec.statureM / 1.8)))
}

/** Points of a club whose butt and directions are known. */
export function clubPoints(lengthM: number, butt: Vec, frame: ClubFrame): { shaftEnd: Vec; sole: Vec; clubhead: Vec } {
  return {
    shaftEnd: along(butt, frame.shaft, lengthM - hoselAboveSole),
    sole: along(butt, frame.shaft, lengthM),
    clubhead: along(along(butt, frame.shaft, lengthM - centreAboveSole), frame.toe, centreTowardToe),
  }
}
