import { add3, cross3, scale3, unit3, type Vec3 } from '../geometry/vec.ts'
import { fromChest } from './chain.ts'
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

/** A usual hold: fists closed on the shaft side by side, palms facing each other, the face as the back of the lead hand. */
export function usualGrip(statureM: number): Body['grip'] {
  const fist = fistShare * fractions.hand * statureM
  const slant = (usualSlantDeg * Math.PI) / 180
  const hold = (middle: number) => ({ alongM: middle - fist * Math.cos(slant), awayM: fist * Math.sin(slant), roundDeg: 0 })
  return { lead: hold(-usualApart / 2), trail: hold(usualApart / 2), apartM: usualApart, faceDeg: 0 }
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

/** The usual top: shoulders square to the target line, on the address's inclination (common practice, no source). */
export const usualTop: TrunkAngles = { turnDeg: 90, inclinationDeg: 32, sideBendDeg: 5 }
/**
 * Where the hands are at the top, from the lead shoulder: across the chest by the published 125 degrees of lead-shoulder
 * horizontal adduction (Zheng et al. 2008), raised over the shoulders' level, at so much of the lead arm's stretch (common
 * practice, no source).
 */
export const usualHands = { acrossDeg: 125, raisedDeg: 18, stretch: 0.96 } as const

/** The middle of the hands from the lead shoulder, in the chest's axes. */
export function handsAt(chest: Chest, body: Body, { acrossDeg, raisedDeg, stretch }: { acrossDeg: number; raisedDeg: number; stretch: number }): Vec3 {
  const across = (acrossDeg * Math.PI) / 180
  const raised = (raisedDeg * Math.PI) / 180
  const { upperArm, forearm } = body.arms.lead
  // The hands lie about three quarters of a fist beyond the wrist.
  const fist = Math.hypot(body.grip.lead.awayM, body.grip.lead.alongM + body.grip.apartM / 2)
  const far = stretch * (upperArm + forearm) + 0.75 * fist
  const direction: Vec3 = [Math.cos(across) * Math.cos(raised), Math.sin(raised), Math.sin(across) * Math.cos(raised)]
  return add3(chest.leadShoulder, scale3(fromChest(chest.axes, direction), far))
}

/** A standing body of that stature at the top, nothing filmed. */
export function standardArms(statureM = 1.8): ArmsInput {
  const body = usualBody(statureM)
  const chest = chestOf(statureM, usualTop, [0, (fractions.hipHeight - 0.028) * statureM, -0.07 * statureM])
  return { body, chest, hands: handsAt(chest, body, usualHands), anchor: null, turning: null, lengthSigma: fractionSigma }
}
