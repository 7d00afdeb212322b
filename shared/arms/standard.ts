import { add3, cross3, length3, scale3, sub3, unit3, type Vec3 } from '../geometry/vec.ts'
import { fromChest } from './chain.ts'
import { fistHollow } from './joints.ts'
import { wristAt } from './model.ts'
import { usualAnchor } from './usualAnchor.ts'
import type { ArmsInput, Axes, Body, Chest } from './types.ts'

/**
 * A body from stature and the trunk from its angles, where nothing was fitted.
 * Segment lengths as fractions of stature: Drillis & Contini 1966, reproduced in Winter, Biomechanics and Motor Control of
 * Human Movement, fig. 4.1: upper arm .186, forearm .146, hand .108, shoulder width .259, hip width .191, heights of shoulder
 * .818 and hip .530.
 */
export const fractions = { upperArm: 0.186, forearm: 0.146, hand: 0.108, shoulderWidth: 0.259, hipWidth: 0.191, shoulderHeight: 0.818, hipHeight: 0.53 } as const

/** How far people are off these fractions, relatively: from memory. */
export const fractionSigma = 0.04
/** The published widths are the outline's; joint centres lie a limb's radius inside it (common practice, no source). */
const shoulderInside = 0.022
const hipInside = 0.041
/** Wrist to the middle of a closed fist, of the hand's length; common practice, no source. */
export const fistShare = 0.47
/** Between the middles of the fists, metres; common practice, no source. */
export const usualApart = 0.085
/** Between the hand's long axis and the shaft with the wrist in its middle, degrees; common practice, no source. */
export const usualSlantDeg = 65

/**
 * A usual hold: fists closed on the shaft side by side, the palms facing each other, the face as the back of the lead hand
 * (common practice, no source). Each wrist lies the hollow of its fist to the back of its own hand, so that the two are twice that
 * apart round the shaft.
 */
export function usualGrip(statureM: number): Body['grip'] {
  const fist = fistShare * fractions.hand * statureM
  const slant = (usualSlantDeg * Math.PI) / 180
  const hollow = (fistHollow * 180) / Math.PI
  const hold = (middle: number, roundDeg: number) => ({ alongM: middle - fist * Math.cos(slant), awayM: fist * Math.sin(slant), roundDeg })
  return { lead: hold(-usualApart / 2, 0), trail: hold(usualApart / 2, 2 * hollow), apartM: usualApart, faceDeg: hollow }
}

/** @param club butt to sole; a seven-iron unless told (37 in, common practice, no source) */
export function usualBody(statureM: number, lengthM = 0.94): Body {
  const arm = { upperArm: fractions.upperArm * statureM, forearm: fractions.forearm * statureM }
  // The lead hand starts a thumb's width down from the butt.
  return { arms: { lead: arm, trail: arm }, grip: usualGrip(statureM), club: { lengthM, buttToHandsM: 0.055 + usualApart / 2 } }
}

export interface TrunkAngles {
  /** Of the shoulders away from the target, degrees. */
  readonly turnDeg: number
  /** Forward from upright. */
  readonly inclinationDeg: number
  /** Of the trunk's own axis away from the target. */
  readonly sideBendDeg: number
}

function turnAbout(v: Vec3, axis: Vec3, degrees: number): Vec3 {
  const a = (degrees * Math.PI) / 180
  const x = cross3(axis, v)
  const k = (axis[0] * v[0] + axis[1] * v[1] + axis[2] * v[2]) * (1 - Math.cos(a))
  return add3(add3(scale3(v, Math.cos(a)), scale3(x, Math.sin(a))), scale3(axis, k))
}

/** The trunk's axis bent forward and to the side, the shoulders turned about it: as the trade turns on an inclination. */
export function axesOf({ turnDeg, inclinationDeg, sideBendDeg }: TrunkAngles): Axes {
  const i = (inclinationDeg * Math.PI) / 180
  const up = turnAbout([0, Math.cos(i), Math.sin(i)], [0, 0, 1], sideBendDeg)
  const flat = unit3([1 - up[0] * up[0], -up[0] * up[1], -up[0] * up[2]])!
  const lead = turnAbout(flat, up, -turnDeg)
  return { lead, up, front: cross3(lead, up) }
}

/** @param hips the middle of the hips, world */
export function chestOf(statureM: number, trunk: TrunkAngles, hips: Vec3): Chest {
  const axes = axesOf(trunk)
  const middle = add3(hips, scale3(axes.up, (fractions.shoulderHeight - fractions.hipHeight) * statureM))
  const half = (fractions.shoulderWidth / 2 - shoulderInside) * statureM
  // The pelvis turns about half as far as the shoulders (common practice, no source).
  const pelvis = axesOf({ ...trunk, turnDeg: trunk.turnDeg / 2, inclinationDeg: trunk.inclinationDeg * 0.6 })
  const hipHalf = (fractions.hipWidth / 2 - hipInside) * statureM
  return { axes, leadShoulder: add3(middle, scale3(axes.lead, half)), trailShoulder: add3(middle, scale3(axes.lead, -half)), trailHip: add3(hips, scale3(pelvis.lead, -hipHalf)) }
}

/** The trunk at the top, rounded from a recorded swing (mocap.cs.cmu.edu, funded by NSF EIA-0196217: 78, 19 and 0). */
export const usualTop: TrunkAngles = { turnDeg: 80, inclinationDeg: 20, sideBendDeg: 0 }
/**
 * Where the hands are at the top, from the lead shoulder in the chest's axes: rounded from the same recorded swing (160 across,
 * 39 raised), with the lead arm stretched to so much of its length (common practice, no source).
 */
export const usualHands = { acrossDeg: 155, raisedDeg: 38, stretch: 0.97 } as const
/** The trail elbow between hanging and where that swing has it (70): common practice, no source. */
export const usualSwivelDeg = 40
/** Slope of the shaft's plane at the top: common practice, no source. */
const usualSlope = (50 * Math.PI) / 180

export interface HandsPlace {
  readonly acrossDeg: number
  readonly raisedDeg: number
  readonly stretch: number
}

/** A point so far from the lead shoulder, across the chest and raised over the shoulders' level; world. */
function handsAt(chest: Chest, { acrossDeg, raisedDeg }: HandsPlace, far: number): Vec3 {
  const across = (acrossDeg * Math.PI) / 180
  const raised = (raisedDeg * Math.PI) / 180
  const direction: Vec3 = [Math.cos(across) * Math.cos(raised), Math.sin(raised), Math.sin(across) * Math.cos(raised)]
  return add3(chest.leadShoulder, scale3(fromChest(chest.axes, direction), far))
}

export interface UsualPose {
  readonly body: Body
  readonly chest: Chest
  readonly hands: HandsPlace
  readonly swivelDeg: number
  /** The plane that the shaft lies in: its slope, and the azimuth of its level line. */
  readonly slopeDeg: number
  readonly atLevelDeg: number
}

/**
 * A pose at the top put together from a few numbers: the shaft lies in a plane of that slope, so far short of level in it, and
 * the hands are as far out as the lead arm's stretch makes them. Null where no such pose closes.
 * Short of level by gamma in a plane of slope beta, the shaft's elevation is asin(sin gamma sin beta), its azimuth from the
 * plane's level line -atan(tan gamma cos beta).
 */
export function usualPose({ body, chest, hands, swivelDeg, slopeDeg, atLevelDeg }: UsualPose, shortDeg: number): { readonly input: ArmsInput; readonly cost: number } | null {
  const beta = (slopeDeg * Math.PI) / 180
  const gamma = (shortDeg * Math.PI) / 180
  const shaft = { elevationDeg: (Math.asin(Math.sin(gamma) * Math.sin(beta)) * 180) / Math.PI, azimuthDeg: atLevelDeg - (Math.atan(Math.tan(gamma) * Math.cos(beta)) * 180) / Math.PI, swivelDeg }
  const { upperArm, forearm } = body.arms.lead
  const wanted = hands.stretch * (upperArm + forearm)
  let far = wanted
  for (let i = 0; i < 8; i++) {
    const input: ArmsInput = { body, chest, hands: handsAt(chest, hands, far), anchor: null, turning: null, lengthSigma: fractionSigma }
    const best = usualAnchor(input, shaft)
    if (best) {
      const miss = wanted - length3(sub3(wristAt(input, 'lead', best.anchor.shaft, best.anchor.side), chest.leadShoulder))
      if (Math.abs(miss) < 0.005) return { input: { ...input, anchor: best.anchor }, cost: best.cost }
      far += 0.9 * miss
    } else far *= 0.94
  }
  return null
}

/** The same, as far short of level as costs the body least. */
export function usualPoseOfLeastCost(of: UsualPose): ArmsInput | null {
  let found: { readonly input: ArmsInput; readonly cost: number } | null = null
  for (let shortDeg = 0; shortDeg <= 70; shortDeg += 10) {
    const pose = usualPose(of, shortDeg)
    if (pose && (!found || pose.cost < found.cost)) found = pose
  }
  return found?.input ?? null
}

/** A standing body of that stature at a usual top; nobody filmed it, so that what comes out is a sketch. */
export function standardArms(statureM = 1.8): ArmsInput {
  const body = usualBody(statureM)
  const chest = chestOf(statureM, usualTop, [-0.09 * statureM, 0.512 * statureM, 0.02 * statureM])
  const pose = usualPoseOfLeastCost({ body, chest, hands: usualHands, swivelDeg: usualSwivelDeg, slopeDeg: (usualSlope * 180) / Math.PI, atLevelDeg: 0 })
  return pose ?? { body, chest, hands: handsAt(chest, usualHands, 0.9 * usualHands.stretch * (body.arms.lead.upperArm + body.arms.lead.forearm)), anchor: null, turning: null, lengthSigma: fractionSigma }
}
