import { bodyFor, type BodyLengths } from './body.ts'
import { bodyMotion, type Foot, type Trunk } from './bodyMotion.ts'
import { clubMotion, clubPoints, handsAt, leadGripAt, timesOf, trailGripAt, type ClubFrame, type SwingTimes } from './clubMotion.ts'
import { curve } from './curve.ts'
import type { SwingSpec } from './swingSpec.ts'
import { middleJoint, swivelPole } from './twoBone.ts'
import { add, along, distance, dot, ease, fromFrame, mix, radians, scale, squareTo, sub, toFrame, unit, type Frame, type Vec } from './vec.ts'

/** One arm: joint centres, the point of the shaft that the fist closes on, and how far it is stretched (1 is straight). */
export interface Arm { readonly shoulder: Vec; readonly elbow: Vec; readonly wrist: Vec; readonly grip: Vec; readonly stretch: number }
export interface Leg { readonly hip: Vec; readonly knee: Vec; readonly foot: Foot }

/** A golfer at an instant, in the world of the swing: X to the target, Y up, Z to the ball. */
export interface Pose {
  readonly trunk: Trunk
  readonly lead: Arm
  readonly trail: Arm
  readonly leadLeg: Leg
  readonly trailLeg: Leg
  readonly club: ClubFrame & { readonly butt: Vec; readonly hands: Vec; readonly shaftEnd: Vec; readonly sole: Vec; readonly clubhead: Vec }
  readonly ball: Vec
}

export interface Swing { readonly spec: SwingSpec; readonly body: BodyLengths; readonly times: SwingTimes; readonly poseAt: (t: number) => Pose }

export const ballRadius = 0.02135
/** How far a fully stretched arm is let go: short of straight, where an elbow's speed would have no bound. */
const fullest = 0.985
/** Ball flight of a seven-iron, near enough to watch it leave: 47 m/s at 17 degrees. */
const launch: Vec = [45, 13.7, 0]

/** The swing of a specification, ready to be asked for any instant; t in seconds from the takeaway, before it the golfer stands at address. */
export function swingOf(spec: SwingSpec): Swing {
  const body = bodyFor(spec.statureM)
  const times = timesOf(spec)
  const trunkAt = bodyMotion(spec, body)
  const clubAt = clubMotion(spec)
  const length = spec.club.lengthM
  const k = spec.statureM / 1.8
  const reach = body.upperArm + body.forearm

  /** The wrist of a fist on the shaft: the hand lies off the shaft on the side its arm comes from, less so the straighter arm and club are. */
  const wristOf = (shoulder: Vec, grip: Vec, shaft: Vec): Vec => {
    const toArm = unit(sub(shoulder, grip))
    const butt = scale(shaft, -1)
    const between = Math.acos(Math.max(-1, Math.min(1, dot(toArm, butt))))
    const own = radians(46) + between * 0.36
    return along(along(grip, butt, body.fist * Math.cos(own)), squareTo(toArm, butt), body.fist * Math.sin(own))
  }
  const leadWristAt = (trunk: Trunk, hands: Vec, club: ClubFrame) => wristOf(trunk.leadShoulder, along(hands, club.shaft, leadGripAt - handsAt), club.shaft)

  // Hands at address: on the shaft's own slope above the ball's line, as far out as the arms hang comfortably.
  const clubAddress = clubAt(0)
  const trunkAddress = trunkAt(0)
  const rise = -(length - handsAt) * clubAddress.shaft[1]
  let near = 0.05
  let far = 0.9
  for (let i = 0; i < 60; i++) {
    const z = (near + far) / 2
    const hands: Vec = [0.035 * k, rise, z]
    if (distance(trunkAddress.leadShoulder, leadWristAt(trunkAddress, hands, clubAddress)) > 0.95 * reach) far = z
    else near = z
  }
  const handsAddress: Vec = [0.035 * k, rise, near]
  const headOf = (hands: Vec, club: ClubFrame) => clubPoints(length, along(hands, club.shaft, -handsAt), club).clubhead
  const headAddress = headOf(handsAddress, clubAddress)
  const ballHome: Vec = [headAddress[0] + 0.004 + 0.011 + ballRadius, ballRadius, headAddress[2]]
  const clubImpact = clubAt(times.impact)
  const headImpact: Vec = [headAddress[0] + 0.004, headAddress[1], headAddress[2]]
  const handsImpact = add(sub(headImpact, headOf([0, 0, 0], clubImpact)), [0, 0, 0])

  // The hands' path is kept as a direction from the lead shoulder in the thorax's own axes, and a stretch of the lead arm: so the turn of
  // the trunk carries the arms, as it does in life. The keys that must be met in the world are put into those axes here.
  const local = (t: number, hands: Vec) => {
    const trunk = trunkAt(t)
    const v = toFrame(trunk.thorax, unit(sub(hands, trunk.leadShoulder)))
    return { t, azimuth: Math.atan2(v[2], v[0]), height: Math.asin(v[1]), stretch: distance(trunk.leadShoulder, leadWristAt(trunk, hands, clubAt(t))) / reach }
  }
  const { top, impact, finish } = times
  const high = spec.trailElbowSwivelDeg * 0.0006 * k
  const keys = [
    local(0, handsAddress),
    { t: top, azimuth: radians(133 + (92 - spec.shoulderTurnDeg) * 0.5), height: radians(17) + high * 2, stretch: 0.965 },
    local(impact, handsImpact),
    local(impact + 0.07, [0.5 * k, 1.0 * k, 0.27 * k]),
    local(impact + 0.2, [0.44 * k, 1.5 * k, -0.02 * k]),
    local(finish, [0.17 * k, 1.63 * k, -0.19 * k]),
  ]
  const azimuth = curve(keys.map(({ t, azimuth: x }) => ({ t, x })))
  const height = curve(keys.map(({ t, height: x }) => ({ t, x })))
  const stretch = curve(keys.map(({ t, stretch: x }) => ({ t, x: Math.min(x, fullest) })))

  const poseAt = (t: number): Pose => {
    const trunk = trunkAt(t)
    const club = clubAt(t)
    const cosH = Math.cos(height(t))
    const direction = fromFrame(trunk.thorax, [cosH * Math.cos(azimuth(t)), Math.sin(height(t)), cosH * Math.sin(azimuth(t))])
    const wanted = stretch(t) * reach
    let r = wanted
    for (let i = 0; i < 40; i++) {
      const miss = wanted - distance(trunk.leadShoulder, leadWristAt(trunk, along(trunk.leadShoulder, direction, r), club))
      r += miss
      if (Math.abs(miss) < 1e-12) break
    }
    const hands = along(trunk.leadShoulder, direction, r)
    const butt = along(hands, club.shaft, -handsAt)
    const points = clubPoints(length, butt, club)

    const trailGrip = along(butt, club.shaft, trailGripAt)
    let trailShoulder = trunk.trailShoulder
    // The trail shoulder reaches after the club where the arm would be too short: the girdle turns, its length stays.
    for (let i = 0; i < 4; i++) {
      const wrist = wristOf(trailShoulder, trailGrip, club.shaft)
      const over = softExcess(distance(trailShoulder, wrist) - 0.962 * reach)
      const pulled = along(trailShoulder, unit(sub(wrist, trailShoulder)), over * 1.3)
      trailShoulder = along(trunk.shoulders, unit(sub(pulled, trunk.shoulders)), body.clavicle)
    }
    const leadGrip = along(butt, club.shaft, leadGripAt)
    const leadWrist = wristOf(trunk.leadShoulder, leadGrip, club.shaft)
    const trailWrist = wristOf(trailShoulder, trailGrip, club.shaft)
    const atTop = ease(top * 0.35, top * 0.8, t) * (1 - ease(top + spec.downswingS * 0.25, impact - 0.01, t))
    const after = ease(impact + 0.02, impact + 0.3, t)
    const tucked = mix(fromFrame(trunk.thorax, [-0.45, -0.75, -0.5]), [0.3, -0.9, 0.1], after)
    const trailPole = atTop > 0 ? mix(tucked, swivelPole(trailShoulder, trailWrist, radians(spec.trailElbowSwivelDeg)), atTop) : tucked
    const leadPole = mix(fromFrame(trunk.thorax, [0.5, -0.8, -0.35]), [0.45, -0.9, -0.15], after)
    const ankleLead = trunk.feet.lead
    const ankleTrail = trunk.feet.trail
    return {
      trunk,
      lead: arm(trunk.leadShoulder, leadWrist, leadGrip, leadPole, body),
      trail: arm(trailShoulder, trailWrist, trailGrip, trailPole, body),
      leadLeg: leg(trunk.leadHip, ankleLead, trunk.pelvis, body),
      trailLeg: leg(trunk.trailHip, ankleTrail, trunk.pelvis, body),
      club: { ...club, butt, hands, ...points },
      ball: t <= impact ? ballHome : along(along(ballHome, launch, t - impact), [0, -4.9, 0], (t - impact) ** 2),
    }
  }
  return { spec, body, times, poseAt }
}

/** max(0, x) with a round corner of a centimetre, so that the girdle starts to reach without a jerk. */
const softExcess = (x: number): number => (x + Math.hypot(x, 0.01)) / 2

function arm(shoulder: Vec, wrist: Vec, grip: Vec, pole: Vec, body: BodyLengths): Arm {
  const stretch = distance(shoulder, wrist) / (body.upperArm + body.forearm)
  return { shoulder, wrist, grip, stretch, elbow: middleJoint(shoulder, wrist, body.upperArm, body.forearm, pole) }
}

/** Knees bend where the toes point, drawn some way after the pelvis. */
function leg(hip: Vec, foot: Foot, pelvis: Frame, body: BodyLengths): Leg {
  const pole = add(scale(unit([foot.ahead[0], Math.max(0, foot.ahead[1]), foot.ahead[2] + 0.02]), 1), scale(pelvis.front, 0.5))
  return { hip, foot, knee: middleJoint(hip, foot.ankle, body.thigh, body.shank, pole) }
}
