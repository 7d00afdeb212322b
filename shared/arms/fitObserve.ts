import { usualClubLengths } from '../camera/scale.ts'
import { meetPlane, type Camera } from '../camera/projection.ts'
import { meetSightlines } from '../camera/triangulation.ts'
import type { PointName, PositionName } from '../contract/pointsFile.ts'
import { add3, length3, scale3, sub3, type Vec3 } from '../geometry/vec.ts'
import { add, measured, sigmaOf, type Uncertain } from '../signal/uncertain.ts'
import { positionAt } from '../swing/definition.ts'
import { isMissing, missing, pictureAt, type Missing, type Swing } from '../swing/reading.ts'
import { isTwoSwings, otherInstant, repeatabilityM } from '../swing/twoSwings.ts'
import type { SwingView } from '../swing/viewOf.ts'
import type { FitPoint, Observation } from './fitChain.ts'
import type { Deep } from './fitUsual.ts'

/** The points of the file by which a body's point is known, the better one first. */
const named: Readonly<Record<FitPoint, readonly PointName[]>> = {
  leadShoulder: ['leadShoulder'], trailShoulder: ['trailShoulder'], leadElbow: ['leadElbow'], trailElbow: ['trailElbow'],
  leadWrist: ['leadWrist'], trailWrist: ['trailWrist'], leadHip: ['leadHip'], trailHip: ['trailHip'], trunkBase: ['spineBase'],
  hands: ['hands'], butt: ['butt'], shaftEnd: ['shaftEnd', 'clubhead'],
  // Nobody marks the middle of a fist apart from the hands.
  leadFist: [], trailFist: [],
}
export const fitPoints = Object.keys(named) as FitPoint[]

/**
 * Where only the head is marked, the shaft is the line from the hands to the head, as the measures take it; how far off that line
 * the head may be is then no error of the shaft but part of what it is called. What is left is the marking, metres.
 */
const headOffShaft = 0.005
/** The shaft's end, or the head's centre, above the sole. */
const endAboveSole = 0.03
export const usualClubLength = 0.98

export const clubLengthOf = (swing: Swing): { readonly lengthM: number; readonly known: boolean } => {
  const { club } = swing.file
  const known = club?.lengthM ?? (club?.kind ? usualClubLengths[club.kind.toLowerCase()] : undefined)
  return { lengthM: known ?? usualClubLength, known: known !== undefined }
}
export const endToHands = (lengthM: number, buttM: number): number => lengthM - endAboveSole - buttM

/** The views that can be used: those whose camera is known, given or solved. */
export interface SeenView {
  readonly view: SwingView
  readonly camera: Camera
  readonly t: Uncertain
  readonly alone: boolean
}

export function seenViews(swing: Swing, at: PositionName): SeenView[] | Missing {
  const first = positionAt(swing, swing.views[0]!.name, at)
  if (isMissing(first)) return first
  const out: SeenView[] = []
  const why: string[] = []
  for (const view of swing.views) {
    const solved = swing.solved.alone.get(view.name)
    const camera = view.camera ?? solved?.camera
    if (!camera) {
      why.push(swing.solved.why ?? `the ${view.name} camera is not known`)
      continue
    }
    const t = view === swing.views[0] || swing.file.sameSwing ? first.t : otherInstant(swing, first.t)
    if (!t) why.push('the two swings share no position')
    else out.push({ view, camera, t, alone: !view.camera })
  }
  if (swing.solved.refused && out.length > 1) return missing(swing.solved.refused)
  // Cameras solved each from its own view stand in worlds of their own: only one of them is used.
  if (out.length === 2 && out.some((v) => v.alone)) return [out.find((v) => !v.alone) ?? out.find((v) => v.view.name === 'down-the-line') ?? out[0]!]
  return out.length > 0 ? out : missing(why[0] ?? 'no camera is known')
}

/** A point as a view shows it at the position, with what the student repeats where the views show two swings. */
function picture(swing: Swing, seen: SeenView, point: FitPoint): { readonly at: readonly [Uncertain, Uncertain]; readonly name: PointName } | null {
  for (const name of named[point]) {
    const sample = pictureAt(swing, seen.view, name, seen.t)
    if (isMissing(sample)) continue
    const distance = length3(sub3(seen.camera.place, [0, 1, 0]))
    const loose = (u: Uncertain, axis: string, metres: number, what: string): Uncertain =>
      metres > 0 ? add(u, measured(0, (metres * seen.camera.focalPx) / distance, swing.sources.of(`${what} ${seen.view.name} ${name} ${axis}`))) : u
    const repeats = isTwoSwings(swing) ? repeatabilityM(swing) : 0
    const off = name === 'clubhead' ? headOffShaft : 0
    const both = (u: Uncertain, axis: string): Uncertain => loose(loose(u, axis, repeats, 'repeats'), axis, off, 'head off the shaft')
    return { at: [both(sample.x, 'x'), both(sample.y, 'y')], name }
  }
  return null
}

export interface Gathered {
  readonly observations: Observation[]
  /** First guesses of where the points are, world. */
  readonly guess: ReadonlyMap<FitPoint, Vec3>
  /** How many views show each point. */
  readonly shown: ReadonlyMap<FitPoint, number>
}

/** @param usually where a point usually stands in the world, and how far that may be off */
export function gather(swing: Swing, views: readonly SeenView[], usually: (point: FitPoint, view: SwingView, name: PointName) => Deep): Gathered {
  const observations: Observation[] = []
  const guess = new Map<FitPoint, Vec3>()
  const shown = new Map<FitPoint, number>()
  for (const point of fitPoints) {
    const found = views.map((seen, i) => ({ seen, i, picture: picture(swing, seen, point) })).filter((f) => f.picture !== null)
    shown.set(point, found.length)
    for (const { seen, i, picture: p } of found) observations.push({ kind: 'picture', point, label: p!.name, view: seen.view.name, camera: i, at: p!.at })
    const [one, two] = found
    const at = (f: (typeof found)[number]): readonly [number, number] => [f.picture!.at[0].value, f.picture!.at[1].value]
    if (one && two) {
      const met = meetSightlines(one.seen.camera, at(one), two.seen.camera, at(two))
      if (met) guess.set(point, met.point)
    }
    if (one && !guess.has(point)) {
      const { view, camera } = one.seen
      const depth = usually(point, view, one.picture!.name)
      const normal: Vec3 = view.name === 'face-on' ? [0, 0, 1] : [1, 0, 0]
      const p = meetPlane(camera, at(one), normal, depth.at)
      if (p) guess.set(point, p)
      // What only one view shows stands as deep as it usually does.
      if (views.length === 1) observations.push({ kind: 'depth', point, axis: view.name === 'face-on' ? 2 : 0, at: [add(measured(depth.at, depth.sigma, swing.sources.of(`arms depth ${point}`)), measured(0, depth.shared, swing.sources.of(`arms depth of all ${view.name}`)))] })
    }
  }
  return { observations, guess, shown }
}

/**
 * Where the shaft's end may be on its sightline, at the club's length from the hands: nearer to the camera and farther from it;
 * one place where the club looks longer than it is.
 */
export function endsOnSightline(camera: Camera, end: Vec3, hands: Vec3, lengthM: number): Vec3[] {
  const d = sub3(end, camera.place)
  const size = length3(d)
  const along = scale3(d, 1 / size)
  const to = sub3(hands, camera.place)
  const middle = along[0] * to[0] + along[1] * to[1] + along[2] * to[2]
  const off = length3(sub3(to, scale3(along, middle)))
  const half = Math.sqrt(Math.max(0, lengthM * lengthM - off * off))
  const at = (k: number): Vec3 => add3(camera.place, scale3(along, k))
  return half < 0.02 ? [at(middle)] : [at(middle - half), at(middle + half)]
}

export const pixelSigma = (o: Observation): number => Math.sqrt(o.at.reduce((sum, u) => sum + sigmaOf(u) ** 2, 0) / o.at.length)
