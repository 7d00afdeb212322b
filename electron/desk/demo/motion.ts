import { armKeys } from './armKeys.ts'
import { bodyFor, type BodyLengths } from './body.ts'
import { bodyMotion, type Foot, type Trunk } from './bodyMotion.ts'
import { clubMotion, clubPoints, handsAt, leadGripAt, timesOf, trailGripAt, type ClubFrame, type SwingTimes } from './clubMotion.ts'
import { curve } from './curve.ts'
import type { SwingSpec } from './swingSpec.ts'
import { middleJoint, swivelPole } from './twoBone.ts'
import {
  add,
  along,
  cross,
  distance,
  dot,
  fromFrame,
  radians,
  scale,
  squareTo,
  sub,
  toFrame,
  turnAbout,
  unit,
  type Frame,
  type Vec,
} from './vec.ts'

/** One arm: joint centres, the point of the shaft that the fist closes on, and how far it is stretched (1 is straight). */
export interface Arm {
  readonly shoulder: Vec
  readonly elbow: Vec
  readonly wrist: Vec
  readonly grip: Vec
  readonly stretch: number
}
export interface Leg {
  readonly hip: Vec
  readonly knee: Vec
  readonly foot: Foot
}

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

export interface Swing {
  readonly spec: SwingSpec
  readonly body: BodyLengths
  readonly times: SwingTimes
  readonly poseAt: (t: number) => Pose
}

export const ballRadius = 0.02135
/** How far a fully stretched arm is let go: short of straight, where an elbow's speed would have no bound. */
const fullest = 0.984
/** How far the lead arm is stretched at address. */
const addressStretch = 0.950
/** Between the line from the wrist to the middle of the fist and the shaft: held in the fingers. */
const slant = radians(60)
/** The two wrists lie so far from each other round the shaft: the palms face each other, each bone of the hand behind its fist's hollow. */
const apartRound = radians(47)
/** Ball flight of a seven-iron, near enough to watch it leave: 47 m/s at 17 degrees. */
const launch: Vec = [45, 13.7, 0]

/** The swing of a specification, ready to be asked for any instant; t in seconds from the takeaway, before it the golfer stands at address. */
export function swingOf(spec: SwingSpec): Swing {
  const body = bodyFor(spec.statureM)
  const times = timesOf(spec)
  let trunkAt = bodyMotion(spec, body, 0)
  const keys = armKeys(spec, times)
  const clubAt = clubMotion(spec, curve(keys.map(({ t, roll }) => ({ t, x: roll }))))
  const { impact } = times
  const length = spec.club.lengthM
  const k = spec.statureM / 1.8
  const reach = body.upperArm + body.forearm

  /** The wrist of a fist on the shaft: the club is held as one piece, so that it lies at one place of the club always. */
  const wristOn = (grip: Vec, { shaft }: ClubFrame, side: Vec): Vec =>
    along(along(grip, shaft, -body.fist * Math.cos(slant)), side, body.fist * Math.sin(slant))
  const leadWristAt = (hands: Vec, club: ClubFrame) => wristOn(along(hands, club.shaft, leadGripAt - handsAt), club, club.leadSide)

  // Hands at address: on the shaft's own slope above the ball's line, as far out as the arms hang comfortably.
  const clubAddress = clubAt(0)
  const trunkAddress = trunkAt(0)
  const rise = -(length - handsAt) * clubAddress.shaft[1]
  let near = trunkAddress.leadShoulder[2]
  let far = 0.9
  for (let i = 0; i < 60; i++) {
    const z = (near + far) / 2
    const hands: Vec = [0.035 * k, rise, z]
    if (distance(trunkAddress.leadShoulder, leadWristAt(hands, clubAddress)) > addressStretch * reach) far = z
    else near = z
  }
  const handsAddress: Vec = [0.035 * k, rise, near]
  const headOf = (hands: Vec, club: ClubFrame) => clubPoints(length, along(hands, club.shaft, -handsAt), club).clubhead
  const headAddress = headOf(handsAddress, clubAddress)
  const ballHome: Vec = [headAddress[0] + 0.004 + 0.011 + ballRadius, ballRadius, headAddress[2]]
  const clubImpact = clubAt(times.impact)
  const headImpact: Vec = [headAddress[0] + 0.004, headAddress[1], headAddress[2]]
  const handsImpact = sub(headImpact, headOf([0, 0, 0], clubImpact))
  // The knees give at impact by as much as the lead arm, almost straight, needs to bring the head down to the ball.
  let none = 0
  let most = 0.16
  for (let i = 0; i < 40; i++) {
    const give = (none + most) / 2
    trunkAt = bodyMotion(spec, body, give)
    const trunk = trunkAt(impact)
    if (distance(trunk.leadShoulder, leadWristAt(handsImpact, clubImpact)) > 0.983 * reach) none = give
    else most = give
  }

  // The hands' path is kept as a direction from the lead shoulder in the thorax's own axes, and a stretch of the lead arm: so the turn of
  // the trunk carries the arms, as it does in life. The two keys that the ball says are put into those axes here.
  const local = (t: number, hands: Vec): [number, number, number] => {
    const trunk = trunkAt(t)
    const v = toFrame(trunk.thorax, unit(sub(hands, trunk.leadShoulder)))
    return [Math.atan2(v[2], v[0]), Math.asin(v[1]), distance(trunk.leadShoulder, leadWristAt(hands, clubAt(t))) / reach]
  }
  const path = keys.map(({ t, hands }) => ({
    t, at: hands ? ([radians(hands[0]), radians(hands[1]), hands[2]] as const) : local(t, t === 0 ? handsAddress : handsImpact),
  }))
  const azimuth = curve(path.map(({ t, at }) => ({ t, x: at[0] })))
  const height = curve(path.map(({ t, at }) => ({ t, x: at[1] })))
  const stretch = curve(path.map(({ t, at }) => ({ t, x: Math.min(at[2], fullest) })))

  /** Club and both arms' ends at t; the elbows come after. */
  const reachAt = (t: number) => {
    const trunk = trunkAt(t)
    const club = clubAt(t)
    const cosH = Math.cos(height(t))
    const direction = fromFrame(trunk.thorax, [cosH * Math.cos(azimuth(t)), Math.sin(height(t)), cosH * Math.sin(azimuth(t))])
    const wanted = stretch(t) * reach
    let r = wanted
    for (let i = 0; i < 40; i++) {
      const miss = wanted - distance(trunk.leadShoulder, leadWristAt(along(trunk.leadShoulder, direction, r), club))
      r += miss
      if (Math.abs(miss) < 1e-12) break
    }
    const hands = along(trunk.leadShoulder, direction, r)
    const butt = along(hands, club.shaft, -handsAt)
    const trailGrip = along(butt, club.shaft, trailGripAt)
    let trailShoulder = trunk.trailShoulder
    // The trail shoulder reaches after the club where the arm would be too short: the girdle turns, its length stays.
    const wrist = wristOn(trailGrip, club, turnAbout(club.leadSide, club.shaft, apartRound))
    for (let i = 0; i < 4; i++) {
      const over = softExcess(distance(trailShoulder, wrist) - 0.962 * reach)
      const pulled = along(trailShoulder, unit(sub(wrist, trailShoulder)), over * 1.3)
      trailShoulder = along(trunk.shoulders, unit(sub(pulled, trunk.shoulders)), body.clavicle)
    }
    const leadGrip = along(butt, club.shaft, leadGripAt)
    return {
      trunk,
      club,
      hands,
      butt,
      lead: { shoulder: trunk.leadShoulder, wrist: leadWristAt(hands, club), grip: leadGrip },
      trail: { shoulder: trailShoulder, wrist, grip: trailGrip },
    }
  }
  const leadElbow = curve(keys.map(({ t, leadElbow: x }) => ({ t, x: radians(x) })))
  const trailElbow = curve(keys.map(({ t, trailElbow: x }, i) => {
    if (x !== null) return { t, x: radians(x) }
    const { shoulder, wrist } = reachAt(t).trail
    const angle = angleOf(trailBackward, shoulder, wrist, swivelPole(shoulder, wrist, radians(spec.trailElbowSwivelDeg)))
    const before = radians(keys[i - 1]!.trailElbow!)
    return { t, x: angle + 2 * Math.PI * Math.round((before - angle) / (2 * Math.PI)) }
  }))

  const poseAt = (t: number): Pose => {
    const { trunk, club, hands, butt, lead, trail } = reachAt(t)
    return {
      trunk,
      lead: arm(lead, poleAt(leadBackward, lead.shoulder, lead.wrist, leadElbow(t)), body),
      trail: arm(trail, poleAt(trailBackward, trail.shoulder, trail.wrist, trailElbow(t)), body),
      leadLeg: leg(trunk.leadHip, trunk.feet.lead, trunk.pelvis, body),
      trailLeg: leg(trunk.trailHip, trunk.feet.trail, trunk.pelvis, body),
      club: { ...club, butt, hands, ...clubPoints(length, butt, club) },
      ball: t <= impact ? ballHome : along(along(ballHome, launch, t - impact), [0, -4.9, 0], (t - impact) ** 2),
    }
  }
  return { spec, body, times, poseAt }
}

/**
 * Directions that no arm points along at any time of a swing. An elbow's way round its arm is kept as an angle from such a direction, which
 * stays well defined from address, where the arm hangs, to the top and the finish, where it does not.
 */
const leadBackward: Vec = [0.3, -0.3, -0.9]
const trailBackward: Vec = [0, -0.45, -0.9]

/** Pole of an elbow at an angle about the line shoulder to wrist, 0 toward `from`. */
function poleAt(from: Vec, shoulder: Vec, wrist: Vec, angle: number): Vec {
  const n = unit(sub(wrist, shoulder))
  const e = squareTo(from, n)
  return add(scale(e, Math.cos(angle)), scale(cross(n, e), Math.sin(angle)))
}

/** The angle of a pole about the line shoulder to wrist; inverse of `poleAt`. */
function angleOf(from: Vec, shoulder: Vec, wrist: Vec, pole: Vec): number {
  const n = unit(sub(wrist, shoulder))
  const e = squareTo(from, n)
  const p = squareTo(pole, n)
  return Math.atan2(dot(p, cross(n, e)), dot(p, e))
}

/** max(0, x) with a round corner of a centimetre, so that the girdle starts to reach without a jerk. */
const softExcess = (x: number): number => (x + Math.hypot(x, 0.01)) / 2

function arm({ shoulder, wrist, grip }: { shoulder: Vec; wrist: Vec; grip: Vec }, pole: Vec, body: BodyLengths): Arm {
  const stretch = distance(shoulder, wrist) / (body.upperArm + body.forearm)
  return { shoulder, wrist, grip, stretch, elbow: middleJoint(shoulder, wrist, body.upperArm, body.forearm, pole) }
}

/** Knees bend where the toes point, drawn some way after the pelvis. */
function leg(hip: Vec, foot: Foot, pelvis: Frame, body: BodyLengths): Leg {
  const pole = add(scale(unit([foot.ahead[0], Math.max(0, foot.ahead[1]), foot.ahead[2] + 0.02]), 1), scale(pelvis.front, 0.5))
  return { hip, foot, knee: middleJoint(hip, foot.ankle, body.thigh, body.shank, pole) }
}
