import type { BodyLengths } from './body.ts'
import { timesOf } from './clubMotion.ts'
import { curve, type Curve } from './curve.ts'
import type { SwingSpec } from './swingSpec.ts'
import { add, along, ease, fromFrame, mix, radians, scale, squareTo, sub, turnAbout, unit, cross, type Frame, type Vec } from './vec.ts'

/** Trunk, girdle, feet and head at an instant; the arms hang on this. */
export interface Trunk {
  readonly hips: Vec
  readonly shoulders: Vec
  readonly pelvis: Frame
  readonly thorax: Frame
  /** Shoulder centres before the girdle reaches for the club. */
  readonly leadShoulder: Vec
  readonly trailShoulder: Vec
  readonly leadHip: Vec
  readonly trailHip: Vec
  readonly feet: { readonly lead: Foot; readonly trail: Foot }
  readonly head: Vec
  readonly skull: Frame
}
/** A foot: its ankle, and unit axes along the foot and square to the sole. */
export interface Foot {
  readonly ankle: Vec
  readonly ahead: Vec
  readonly up: Vec
}

const upward: Vec = [0, 1, 0]
/** A frame turned by `turn` about its own long axis, which leans forward by `lean` and away from the target by `side` (radians). */
function leaning(lean: number, side: number, turn: number): Frame {
  const up0 = turnAbout([0, Math.cos(lean), Math.sin(lean)], [0, 0, 1], side)
  const lead0 = squareTo([1, 0, 0], up0)
  const lead = turnAbout(lead0, up0, -turn)
  return { lead, up: up0, front: cross(lead, up0) }
}

/** Everything but the arms and the club, as a function of seconds from the takeaway; the hips sink by `give` metres about impact. */
export function bodyMotion(spec: SwingSpec, body: BodyLengths, give: number): (t: number) => Trunk {
  const { top, impact, finish } = timesOf(spec)
  const k = spec.statureM / 1.8
  const down = spec.downswingS
  const i0 = spec.inclinationDeg
  const stance = 0.215 * k
  const lost = -spec.inclinationChangeDeg
  const thoraxTurn = curve([
    { t: 0, x: 0 },
    { t: top - 0.015, x: spec.shoulderTurnDeg, a: -700 },
    { t: impact, x: -20, v: -430 },
    { t: impact + 0.28, x: -92 },
    { t: finish, x: -116 },
  ])
  const pelvisTurn = curve([
    { t: 0.04, x: 0 },
    { t: top - 0.07, x: spec.pelvisTurnDeg, a: -500 },
    { t: impact, x: -38, v: -300 },
    { t: impact + 0.28, x: -84 },
    { t: finish, x: -97 },
  ])
  const lean = curve([
    { t: 0, x: i0 },
    { t: top, x: i0 - lost * 0.3 },
    { t: impact, x: i0 - lost },
    { t: impact + 0.16, x: i0 - 5 - lost },
    { t: finish, x: 3 },
  ])
  // The spine leans away from the target: a little at address (the trail hand is the lower), more through impact.
  const headShare = (Math.asin(Math.min(0.5, spec.headSwayM / (body.trunk + body.neck))) * 180) / Math.PI
  const side = curve([
    { t: 0, x: 5 },
    { t: top, x: 3 + headShare },
    { t: impact, x: 10 },
    { t: impact + 0.12, x: 15, v: 0 },
    { t: finish, x: 5 },
  ])
  const hipX = curve([
    { t: 0, x: 0 },
    { t: top * 0.7, x: -0.022 * k, v: 0 },
    { t: top, x: -0.008 * k },
    { t: impact, x: 0.085 * k },
    { t: finish, x: 0.165 * k },
  ])
  const hipY = curve([
    { t: 0, x: -0.042 * k },
    { t: top, x: -0.05 * k },
    { t: top + down * 0.5, x: -0.062 * k - give * 0.55 },
    { t: impact, x: -0.045 * k - give },
    { t: impact + 0.2, x: -0.022 * k },
    { t: finish, x: -0.018 * k },
  ])
  const hipZ = curve([
    { t: 0, x: -0.125 * k },
    { t: top, x: (-0.125 + lost * 0.0015) * k },
    { t: impact, x: (-0.125 + lost * 0.0062) * k },
    { t: finish, x: -0.045 * k },
  ])
  const leadForward = curve([
    { t: 0, x: 8 },
    { t: top, x: 26 },
    { t: impact, x: 24 },
    { t: impact + 0.25, x: -10 },
    { t: finish, x: -4 },
  ])
  const trailForward = curve([
    { t: 0, x: 14 },
    { t: top, x: -6 },
    { t: impact, x: 20 },
    { t: impact + 0.25, x: 26 },
    { t: finish, x: 22 },
  ])
  const leadRaise = curve([
    { t: 0, x: -3 },
    { t: top, x: -2 },
    { t: impact, x: -12 },
    { t: impact + 0.25, x: 8 },
    { t: finish, x: 10 },
  ])
  const trailRaise = curve([
    { t: 0, x: -9 },
    { t: top, x: 9 },
    { t: impact, x: -10 },
    { t: impact + 0.25, x: 4 },
    { t: finish, x: 6 },
  ])
  const heel = curve([
    { t: impact - 0.1, x: 0 },
    { t: impact, x: 9 },
    { t: impact + 0.28, x: 42 },
    { t: finish, x: 62 },
  ])
  const trailToes = curve([
    { t: impact - 0.05, x: 6 },
    { t: impact + 0.1, x: 2 },
    { t: finish, x: -38 },
  ])

  const feetAt = (t: number) => ({
    lead: planted([stance, 0, 0], radians(-20), 0, body),
    trail: planted([-stance, 0, 0], radians(trailToes(t)), radians(heel(t)), body),
  })
  const legLength = (body.thigh + body.shank) * 0.985
  /** How high the middle of the hips may be for this leg to reach its ankle, bent a little. */
  const highest = (x: number, z: number, hip: Vec, ankle: Vec): number =>
    ankle[1] + Math.sqrt(legLength ** 2 - (x + hip[0] - ankle[0]) ** 2 - (z + hip[2] - ankle[2]) ** 2) - hip[1]
  const trunkAt = (t: number) => {
    const feet = feetAt(t)
    const thorax = leaning(radians(lean(t)), radians(side(t)), radians(thoraxTurn(t)))
    const pelvis = leaning(radians(lean(t) * 0.62), radians(side(t) * 0.25), radians(pelvisTurn(t)))
    const x = hipX(t)
    const z = hipZ(t)
    const wished = 0.53 * spec.statureM + hipY(t)
    const lead = highest(x, z, scale(pelvis.lead, body.hipHalf), feet.lead.ankle)
    const trail = highest(x, z, scale(pelvis.lead, -body.hipHalf), feet.trail.ankle)
    const hips: Vec = [x, softLeast(softLeast(wished, lead), trail), z]
    return { hips, thorax, pelvis, feet, shoulders: along(hips, thorax.up, body.trunk) }
  }
  const address = trunkAt(0)
  const headHome = along(address.shoulders, unit(add(address.thorax.up, [0, 0.12, 0.1])), body.neck)
  const gazeAt: Vec = [0.02, 0, 0.76 * k]

  return (t) => {
    const { hips, thorax, pelvis, feet, shoulders } = trunkAt(t)
    const girdle = (sideSign: 1 | -1, forward: Curve, raise: Curve): Vec => {
      const f = radians(forward(t))
      const r = radians(raise(t))
      const direction: Vec = [sideSign * Math.cos(f) * Math.cos(r), Math.sin(r), Math.sin(f) * Math.cos(r)]
      return along(shoulders, fromFrame(thorax, direction), body.clavicle)
    }
    // The neck lets the head stay where it was while the trunk turns beneath it; after the ball has gone the head comes up and round.
    const lookUp = ease(impact + 0.06, impact + 0.5, t)
    const swayed: Vec = [headHome[0] - spec.headSwayM * ease(0, top, t) * (1 - ease(top, impact, t)), headHome[1], headHome[2]]
    const still = unit(sub(swayed, shoulders))
    const risen = unit(add(thorax.up, [0.04, 0.25, 0]))
    const neck = unit(mix(still, risen, lookUp))
    const head = along(shoulders, neck, body.neck)
    // The eyes do part of the looking down; the head nods less than the line to the ball.
    const atBall = unit(along(unit(sub(gazeAt, head)), [0, 0.42, 0.5], 0.75))
    const atTarget = unit([1, -0.02, 0.12])
    const gaze = unit(mix(mix(atBall, unit(add(thorax.front, [0.3, 0, 0])), 0.12 * (1 - lookUp)), atTarget, lookUp))
    const skullUp = squareTo(unit(add(neck, scale(upward, 0.25 + lookUp))), gaze)
    const skull: Frame = { lead: cross(skullUp, gaze), up: skullUp, front: gaze }
    return {
      hips,
      shoulders,
      pelvis,
      thorax,
      feet,
      head,
      skull,
      leadShoulder: girdle(1, leadForward, leadRaise),
      trailShoulder: girdle(-1, trailForward, trailRaise),
      leadHip: along(hips, pelvis.lead, body.hipHalf),
      trailHip: along(hips, pelvis.lead, -body.hipHalf),
    }
  }
}

/** The lesser of two, with a round corner of a centimetre: the hips sink for a leg that would be too short, without a jerk. */
const softLeast = (a: number, b: number): number => (a + b - Math.hypot(a - b, 0.01)) / 2

/** A foot turned by `out` (positive away from the target) with its heel lifted by `lift`, turning about the ball of the foot, which stays. */
function planted(under: Vec, out: number, lift: number, body: BodyLengths): Foot {
  const rest: Vec = under[0] < 0 ? [-Math.sin(radians(6)), 0, Math.cos(radians(6))] : [-Math.sin(out), 0, Math.cos(out)]
  const pivot = along(under, rest, body.foot * 0.45)
  const flat: Vec = [-Math.sin(out), 0, Math.cos(out)]
  const across = cross(upward, flat)
  const ahead = turnAbout(flat, across, lift)
  const up = turnAbout(upward, across, lift)
  return { ankle: along(along(pivot, ahead, -body.foot * 0.45), up, body.ankleHeight), ahead, up }
}
