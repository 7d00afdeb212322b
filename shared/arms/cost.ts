import { at, wrapAngle } from './joints.ts'
import { acrossChestDeg, highestElevation, margins, ranges } from './ranges.ts'
import type { Side } from './types.ts'

/**
 * What a posture costs: see MODEL.md, where each term and its reason stands. The sum of the squares of these residuals:
 * how far each joint is from its easy middle in half-ranges, times the root of its weight, and a wall at each limit.
 * The numbers below were fixed before any result was looked at, and are not to be tuned to one.
 */
const toRad = Math.PI / 180
const half = ([low, high]: readonly [number, number]): number => (toRad * (high - low)) / 2
const middle = ([low, high]: readonly [number, number]): number => (toRad * (high + low)) / 2

/** Terms of one arm: the upper arm's direction counts two residuals with one weight. */
export const termNames = ['swing', 'rotation', 'elbow', 'pronation', 'wristFlexion', 'ulnar'] as const
export type TermName = (typeof termNames)[number]
export type Weights = Readonly<Record<Side, Readonly<Record<TermName, number>>>>

/** No source says that one joint minds half of its range more than another does. */
const alike = { swing: 1, rotation: 1, elbow: 1, pronation: 1, wristFlexion: 1, ulnar: 1 } as const
export const weights: Weights = { lead: alike, trail: alike }

/** The deviation that costs 1, radians. */
const scales: Readonly<Record<Side, Readonly<Record<TermName, number>>>> = (() => {
  const own = {
    // Abduction's 180 degrees, halved; isotropic, since a direction has no axis of its own.
    swing: 90 * toRad,
    rotation: half(ranges.rotation), elbow: half(ranges.elbowFlexion), pronation: half(ranges.pronation),
    wristFlexion: half(ranges.wristFlexion), ulnar: half(ranges.ulnarDeviation),
  }
  // The lead arm is meant to be nearly straight (common practice, no source): 15 degrees cost what half a range costs elsewhere.
  return { lead: { ...own, elbow: 15 * toRad }, trail: own }
})()

/** At the limit itself the wall costs 1, 16 as far past it as its margin is wide. */
const wallHeight = 1

/** The easy middle and the limits of one arm's joints, radians. */
export interface Ease {
  /** The upper arm's easy direction (front, up, outward) and two unit vectors square to it. */
  readonly direction: readonly [number, number, number]
  readonly across: readonly [number, number, number]
  readonly upward: readonly [number, number, number]
  readonly rotation: number
  readonly elbow: number
  readonly pronation: number
  readonly wristFlexion: number
  readonly ulnar: number
  readonly limits: Limits
}
export interface Limits {
  readonly acrossChest: number
  /** Added to the elevation's own limit. */
  readonly raisedMore: number
  readonly rotation: readonly [number, number]
  readonly elbow: readonly [number, number]
  readonly pronation: readonly [number, number]
  readonly wristFlexion: readonly [number, number]
  readonly ulnar: readonly [number, number]
}

const inRad = ([low, high]: readonly [number, number]): readonly [number, number] => [toRad * low, toRad * high]

export const publishedLimits: Limits = {
  acrossChest: toRad * acrossChestDeg, raisedMore: 0,
  rotation: inRad(ranges.rotation), elbow: inRad(ranges.elbowFlexion), pronation: inRad(ranges.pronation),
  wristFlexion: inRad(ranges.wristFlexion), ulnar: inRad(ranges.ulnarDeviation),
}

function squareTo([x, y, z]: readonly [number, number, number]): Pick<Ease, 'across' | 'upward'> {
  // The axis that the direction is farthest from keeps the two well defined.
  const flat = Math.abs(y) < 0.9
  const [hx, hy, hz] = flat ? [0, 1, 0] : [1, 0, 0]
  const k = hx! * x + hy! * y + hz! * z
  const size = Math.sqrt(1 - k * k)
  const upward = [(hx! - k * x) / size, (hy! - k * y) / size, (hz! - k * z) / size] as const
  return { upward, across: [y * upward[2] - z * upward[1], z * upward[0] - x * upward[2], x * upward[1] - y * upward[0]] }
}

/** Resting position of the shoulder: 55 degrees raised, 30 forward of the side (manual therapy's loose-packed place; from memory). */
const restElevation = 55 * toRad
const restPlane = 30 * toRad
/** Nearly straight: common practice, no source. */
const leadElbowMiddle = 8 * toRad

/** Where nothing was filmed: the middle of each range, the shoulder's resting place, the lead arm nearly straight. */
export function genericEase(side: Side): Ease {
  const s = Math.sin(restElevation)
  const direction = [s * Math.sin(restPlane), -Math.cos(restElevation), s * Math.cos(restPlane)] as const
  return {
    direction, ...squareTo(direction), rotation: 0, elbow: side === 'lead' ? leadElbowMiddle : middle(ranges.elbowFlexion),
    pronation: middle(ranges.pronation), wristFlexion: middle(ranges.wristFlexion), ulnar: middle(ranges.ulnarDeviation), limits: publishedLimits,
  }
}

/**
 * The easy middle of a filmed pose: its own angles. Who was filmed near a limit, or past it, has that much and a margin
 * more: so the filmed pose costs nothing and is the least there is at its own elbow place.
 */
export function filmedEase(row: Float64Array): Ease {
  const direction = [row[at.front]!, row[at.up]!, row[at.outward]!] as const
  const widen = ([low, high]: readonly [number, number], value: number, margin: number): readonly [number, number] =>
    [Math.min(low, value - toRad * margin), Math.max(high, value + toRad * margin)]
  const p = publishedLimits
  return {
    direction, ...squareTo(direction), rotation: row[at.rotation]!, elbow: row[at.elbow]!, pronation: row[at.pronation]!,
    wristFlexion: row[at.wristFlexion]!, ulnar: row[at.ulnar]!,
    limits: {
      acrossChest: Math.max(p.acrossChest, row[at.plane]! + toRad * margins.planeOfElevation),
      raisedMore: Math.max(0, row[at.elevation]! + toRad * margins.elevation - highestElevation(row[at.plane]!)),
      rotation: widen(p.rotation, row[at.rotation]!, margins.rotation),
      // An elbow does not go past straight, whatever was filmed: near it, the wall only starts later.
      elbow: widen(p.elbow, row[at.elbow]!, margins.elbowFlexion),
      pronation: widen(p.pronation, row[at.pronation]!, margins.pronation),
      wristFlexion: widen(p.wristFlexion, row[at.wristFlexion]!, margins.wristFlexion),
      ulnar: widen(p.ulnar, row[at.ulnar]!, margins.ulnarDeviation),
    },
  }
}

/**
 * Where nobody was filmed, an easy middle is hardly known: one standard deviation of it as a share of half the joint's range. A quarter
 * lets it be anywhere in the middle half of the range; common practice gives none, so this is wide.
 */
const middleShare = 1 / 4

/** Other easy middles for an arm that nobody filmed, each drawn about its own. */
export function drawnEase(ease: Ease, side: Side, random: { readonly normal: () => number }): Ease {
  const scale = scales[side]
  const off = (of: number): number => middleShare * of * random.normal()
  const [a, u] = [off(scale.swing), off(scale.swing)]
  const angle = Math.hypot(a, u)
  const [c, s] = angle > 0 ? [Math.cos(angle), Math.sin(angle) / angle] : [1, 0]
  const part = (k: 0 | 1 | 2): number => c * ease.direction[k] + s * (a * ease.across[k] + u * ease.upward[k])
  const direction = [part(0), part(1), part(2)] as const
  return {
    ...ease, direction, ...squareTo(direction), rotation: ease.rotation + off(scale.rotation), elbow: ease.elbow + off(scale.elbow), pronation: ease.pronation + off(scale.pronation),
    wristFlexion: ease.wristFlexion + off(scale.wristFlexion), ulnar: ease.ulnar + off(scale.ulnar),
  }
}

export const residualsPerArm = 14

/** How far past the start of a limit's margin, in margins; 1 at the limit. */
const into = (value: number, [low, high]: readonly [number, number], margin: number): number =>
  Math.max(0, (value - high) / margin + 1, (low - value) / margin + 1)
const wall = (depth: number): number => wallHeight * depth * depth

/** Writes one arm's residuals at `start`. */
export function writeResiduals(out: Float64Array, start: number, row: Float64Array, ease: Ease, roots: Float64Array, side: Side): void {
  const scale = scales[side]
  const x = row[0]!
  const y = row[1]!
  const z = row[2]!
  const [dx, dy, dz] = ease.direction
  const [ax, ay, az] = ease.across
  const [ux, uy, uz] = ease.upward
  const along = x * dx + y * dy + z * dz
  const a = x * ax + y * ay + z * az
  const u = x * ux + y * uy + z * uz
  const sine = Math.sqrt(a * a + u * u)
  // The angle itself along its direction; 1 where the two agree.
  const stretch = sine > 1e-12 ? Math.atan2(sine, along) / sine : 1
  const swing = (roots[0]! * stretch) / scale.swing
  out[start] = swing * a
  out[start + 1] = swing * u
  out[start + 2] = (roots[1]! * wrapAngle(row[at.rotation]! - ease.rotation)) / scale.rotation
  out[start + 3] = (roots[2]! * (row[at.elbow]! - ease.elbow)) / scale.elbow
  out[start + 4] = (roots[3]! * wrapAngle(row[at.pronation]! - ease.pronation)) / scale.pronation
  out[start + 5] = (roots[4]! * (row[at.wristFlexion]! - ease.wristFlexion)) / scale.wristFlexion
  out[start + 6] = (roots[5]! * wrapAngle(row[at.ulnar]! - ease.ulnar)) / scale.ulnar
  const { limits } = ease
  out[start + 7] = wall(into(row[at.rotation]!, limits.rotation, toRad * margins.rotation))
  out[start + 8] = wall(into(row[at.elbow]!, limits.elbow, toRad * margins.elbowFlexion))
  out[start + 9] = wall(into(row[at.pronation]!, limits.pronation, toRad * margins.pronation))
  out[start + 10] = wall(into(row[at.wristFlexion]!, limits.wristFlexion, toRad * margins.wristFlexion))
  out[start + 11] = wall(into(row[at.ulnar]!, limits.ulnar, toRad * margins.ulnarDeviation))
  const plane = row[at.plane]!
  // An arm that hangs has no plane: the limit across the chest fades with its elevation.
  out[start + 12] = wall(Math.max(0, (plane - limits.acrossChest) / (toRad * margins.planeOfElevation) + 1)) * Math.sin(row[at.elevation]!) ** 2
  out[start + 13] = wall(Math.max(0, (row[at.elevation]! - highestElevation(plane) - limits.raisedMore) / (toRad * margins.elevation) + 1))
}

/** Roots of the weights in the order of `termNames`. */
export const rootsOf = (of: Readonly<Record<TermName, number>>): Float64Array => Float64Array.from(termNames, (name) => Math.sqrt(of[name]))
