import { depthOf, type Camera } from '../camera/projection.ts'
import { length3, sub3, type Vec3 } from '../geometry/vec.ts'
import { elbowRadius } from './elbowMove.ts'
import { offOf, type FitPoint, type Observation } from './fitChain.ts'
import { pixelSigma } from './fitObserve.ts'
import type { Seen } from './fitBody.ts'
import { fractions, usualApart } from './standard.ts'
import type { ArmsInput, ArmsPose, FitResult, Side } from './types.ts'

/** What of the marked points cannot hold together, in words; the fitted pose is the nearest that can. */

const words = (name: string): string => name.replace(/([A-Z])/g, ' $1').toLowerCase()
/** A point is contradicted when the model is this many of its deviations off and this far in the world, metres. */
const wayOff = 5
const wayOffM = 0.03
/** Wrists bend no farther than this against their forearms, degrees (flexion's 80 with a margin). */
const mostBend = 100
/** Metres that a segment may have. */
const plausible = { upperArm: [0.2, 0.42], forearm: [0.17, 0.35], shoulders: [0.22, 0.55] } as const

/** A marked point that the fitted body cannot have where it was marked, and how far off that is, metres. */
export interface Doubt {
  readonly point: FitPoint
  readonly label: string
  readonly view: string
  readonly metres: number
}

/** The points that the fitted body is too far from, the farthest first. */
export function doubtsOf(seen: Seen, marked: readonly Observation[], cameras: readonly Camera[]): Doubt[] {
  return marked.flatMap((o): Doubt[] => {
    if (o.kind !== 'picture') return []
    const off = Math.hypot(...offOf(seen, o, cameras))
    const camera = cameras[o.camera]!
    const metres = (off * depthOf(camera, seen[o.point])) / camera.focalPx
    return off > wayOff * pixelSigma(o) * Math.SQRT2 && metres > wayOffM ? [{ point: o.point, label: o.label, view: o.view, metres }] : []
  }).toSorted((a, b) => b.metres - a.metres)
}

/** Points that stand at either end of something with a length. */
const apart = [
  ['trailShoulder', 'trailElbow', 'trail upper arm', 'upperArm'], ['trailElbow', 'trailWrist', 'trail forearm', 'forearm'], ['leadShoulder', 'leadElbow', 'lead upper arm', 'upperArm'],
  ['leadElbow', 'leadWrist', 'lead forearm', 'forearm'], ['leadShoulder', 'trailShoulder', 'line of the shoulders', 'shoulderWidth'],
] as const
/** Nearer than this two points are one, metres. */
const onePlaceM = 0.015

/** What has no length as both views place its ends, each with the nearest that holds. @param placed of a point that both views show */
export function withoutLength(placed: (point: FitPoint) => Vec3 | undefined, statureM: number): { readonly why: string; readonly nearest: string }[] {
  const near = (a: FitPoint, b: FitPoint): boolean => {
    const [one, two] = [placed(a), placed(b)]
    return one !== undefined && two !== undefined && length3(sub3(one, two)) < onePlaceM
  }
  const out = apart.flatMap(([a, b, name, part]) => (near(a, b) ? [{
    why: `The ${words(a)} and the ${words(b)} are marked at one place, so that the ${name} has no length.`,
    nearest: `a ${name} of about ${(100 * fractions[part] * statureM).toFixed(0)} cm, as usual for ${statureM.toFixed(2)} m`,
  }] : []))
  if (near('leadWrist', 'trailWrist')) out.push({ why: 'Both wrists are marked at one place, where two hands on one club have no room.', nearest: `wrists about ${(100 * usualApart).toFixed(0)} cm apart along the grip` })
  return out
}

const clubPoints: ReadonlySet<FitPoint> = new Set(['hands', 'butt', 'shaftEnd'])

/**
 * Errors with marks that contradict the body: whichever of them is wrong, the elbow may stand off by as far as they disagree; the shaft's
 * end too, where they are the club's own or there is no second view to hold it.
 */
export function withDoubts(sigma: FitResult['sigma'], doubts: readonly Doubt[], pose: ArmsPose, isOneView: boolean): FitResult['sigma'] {
  const farthest = (of: readonly Doubt[]): number => Math.max(0, ...of.map(({ metres }) => metres))
  const degrees = (metres: number, arm: number): number => Math.min(90, ((metres / arm) * 180) / Math.PI)
  const elbowM = farthest(doubts)
  const shaftDeg = degrees(farthest(isOneView ? doubts : doubts.filter(({ point }) => clubPoints.has(point))), length3(sub3(pose.club.end, pose.hands)))
  return {
    azimuthDeg: Math.hypot(sigma.azimuthDeg, shaftDeg), azimuthAtLevelDeg: sigma.azimuthAtLevelDeg === null ? null : Math.hypot(sigma.azimuthAtLevelDeg, shaftDeg), elevationDeg: Math.hypot(sigma.elevationDeg, shaftDeg),
    swivelDeg: Math.hypot(sigma.swivelDeg, degrees(elbowM, elbowRadius(pose))), elbowOutCm: Math.hypot(sigma.elbowOutCm, 100 * elbowM),
  }
}

export function contradictionsOf(doubts: readonly Doubt[], input: ArmsInput, pose: ArmsPose, shouldersM: number): string[] {
  const out = doubts.map(({ label, view, metres }) => `The ${words(label)} as marked ${view.replaceAll('-', ' ')} lies ${(100 * metres).toFixed(1)} cm from where a body that holds the club can have it.`)
  const length = (name: string, value: number, [low, high]: readonly [number, number]): void => {
    if (value < low || value > high) out.push(`The ${name} comes out ${(100 * value).toFixed(0)} cm long, which nobody’s is: a joint at its end, the stature or a camera is off.`)
  }
  length('upper arm', input.body.arms.trail.upperArm, plausible.upperArm)
  length('forearm', input.body.arms.trail.forearm, plausible.forearm)
  length('line of the shoulders', shouldersM, plausible.shoulders)
  for (const side of ['lead', 'trail'] as const satisfies readonly Side[]) {
    const { wristFlexion, ulnarDeviation } = pose[side].angles
    const cos = Math.cos((wristFlexion * Math.PI) / 180) * Math.cos((ulnarDeviation * Math.PI) / 180)
    const bend = (Math.acos(Math.max(-1, Math.min(1, cos))) * 180) / Math.PI
    if (bend > mostBend) out.push(`The ${side} hand as marked bends ${bend.toFixed(0)} degrees against its forearm, farther than wrists do: look at the ${side} wrist and the hands again.`)
  }
  return out
}
