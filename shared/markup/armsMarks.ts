import type { ArmsPose } from '../arms/types.ts'
import { project, type Camera } from '../camera/projection.ts'
import { pictureHand, type Clip, type Handedness } from '../contract/clip.ts'
import { add3, dot3, imagePoint, scale3, sub3, type ImagePoint, type Vec3 } from '../geometry/vec.ts'
import { figureJoints, type Figure, type FigureJoint, type FigurePart, type FigurePose, type Misses, type PoseKind } from './figure.ts'
import type { Mark } from './mark.ts'
import { rounded } from './tools/tool.ts'

/** The arms, and a fan of misses, as marks: laid over a picture through its camera, or on a plate in a corner. */

const kinds = ['arms', 'figure', 'misses'] as const
export type ArmsMarkKind = (typeof kinds)[number]

/** The same at every drawing, so that a new one takes the place of the old. */
export const armsMarkId = (clipId: string, kind: ArmsMarkKind): string => `${clipId}/arms-room/${kind}`

/** The picture a mark is made for. */
export interface MarkClip {
  readonly id: string
  readonly width: number
  readonly height: number
  readonly handedness: Handedness
  readonly mirrored?: Clip['mirrored']
}

/** A pose and what it is to the student. */
export interface KindOfPose {
  readonly kind: PoseKind
  readonly pose: ArmsPose
}

/** Hips are narrower than the shoulder joints are apart: .191 against .259 of the stature (Drillis & Contini 1966). */
const hipShare = 0.191 / 0.259

/** The joints of a pose in the world, in the order of `figureJoints`. The lead hip stands opposite the trail one. */
export function jointsInWorld(pose: ArmsPose): readonly Vec3[] {
  const { chest, lead, trail, club } = pose
  const wide = Math.abs(dot3(sub3(chest.leadShoulder, chest.trailShoulder), chest.axes.lead)) * hipShare
  const places: Readonly<Record<FigureJoint, Vec3>> = {
    leadShoulder: lead.shoulder, trailShoulder: trail.shoulder, trailHip: chest.trailHip, leadHip: add3(chest.trailHip, scale3(chest.axes.lead, wide)),
    leadElbow: lead.elbow, trailElbow: trail.elbow, leadWrist: lead.wrist, trailWrist: trail.wrist, butt: club.butt, clubhead: club.end,
  }
  return figureJoints.map((joint) => places[joint])
}

const partJoints: Readonly<Record<FigurePart, readonly FigureJoint[]>> = {
  thorax: ['leadShoulder', 'trailShoulder', 'trailHip', 'leadHip'], leadArm: ['leadShoulder', 'leadElbow', 'leadWrist'],
  trailArm: ['trailShoulder', 'trailElbow', 'trailWrist'], club: ['butt', 'clubhead'],
}

/** Parts with the far ones first. @param depths of the joints, larger farther away */
export function drawingOrder(depths: readonly number[]): FigurePart[] {
  const depth = (part: FigurePart): number => {
    const own = partJoints[part].map((joint) => depths[figureJoints.indexOf(joint)]!)
    return own.reduce((sum, d) => sum + d, 0) / own.length
  }
  return (Object.keys(partJoints) as FigurePart[]).toSorted((a, b) => depth(b) - depth(a))
}

/** The joints that a pose's touched limits belong to. */
export function jointsAtLimit(pose: ArmsPose): FigureJoint[] {
  const found = pose.limits.map(({ side, joint }): FigureJoint => {
    const place = joint === 'elbowFlexion' || joint === 'pronation' ? 'Elbow' : joint === 'wristFlexion' || joint === 'ulnarDeviation' ? 'Wrist' : 'Shoulder'
    return `${side}${place}`
  })
  return [...new Set(found)]
}

/** Where a world point is seen: x and y (y down), and how far away; null where it is not. */
export type Seen = (p: Vec3) => readonly [x: number, y: number, depth: number] | null

function seenPose({ kind, pose }: KindOfPose, seen: Seen): { readonly pose: Omit<FigurePose, 'joints'>; readonly places: readonly (readonly [number, number])[] } | null {
  const places = jointsInWorld(pose).map(seen)
  if (!places.every((place) => place !== null)) return null
  return { pose: { kind, order: drawingOrder(places.map(([, , depth]) => depth)), atLimit: kind === 'reference' ? [] : jointsAtLimit(pose) }, places: places.map(([x, y]) => [x, y]) }
}

/** What goes with a figure beside its poses. */
export type FigureWords = Omit<Figure, 'poses'>

const base = { meaning: null, text: '', ink: 'trail', weight: 13, dashed: false, hidden: false } as const

/** The poses laid over one picture through its camera (a right-hander's, as the swing is held); null where they are not seen. */
export function armsOverPicture(clip: MarkClip, span: NonNullable<Mark['span']>, camera: Camera, poses: readonly KindOfPose[], words: FigureWords, text: string, order: number): Mark | null {
  const depth = (p: Vec3): number => dot3(sub3(p, camera.place), camera.axis)
  const laid = poses.map((pose) => seenPose(pose, (p) => {
    const at = project(camera, p)
    return at && [at[0], at[1], depth(p)]
  }))
  if (laid.length === 0 || !laid.every((one) => one !== null)) return null
  const asFilmed = ([x, y]: readonly [number, number]): ImagePoint => rounded(imagePoint(pictureHand(clip) === 'left' ? clip.width - x : x, y))
  return {
    ...base, id: armsMarkId(clip.id, 'arms'), clipId: clip.id, shape: 'arms', span, order, text,
    points: laid.flatMap(({ places }) => places.map(asFilmed)),
    figure: { ...words, seen: null, poses: laid.map(({ pose }) => ({ ...pose, joints: null })) },
  }
}

/** The poses on a plate as they are seen in the room. @param seen x and y in any unit, y down; a left-hander's as the mirrored room shows them */
export function armsInCorner(clip: MarkClip, span: NonNullable<Mark['span']>, seen: Seen, poses: readonly KindOfPose[], words: FigureWords, order: number, taken: readonly ImagePoint[]): Mark | null {
  // The plate lies on the picture as the file has it: what turns that back turns the plate too.
  const inFile: Seen = clip.mirrored ? (p) => {
    const at = seen(p)
    return at && [-at[0], at[1], at[2]]
  } : seen
  const laid = poses.map((pose) => seenPose(pose, inFile))
  if (laid.length === 0 || !laid.every((one) => one !== null)) return null
  const all = laid.flatMap(({ places }) => places)
  const [left, top] = [Math.min(...all.map((p) => p[0])), Math.min(...all.map((p) => p[1]))]
  const whole = Math.max(Math.max(...all.map((p) => p[0])) - left, Math.max(...all.map((p) => p[1])) - top, 1e-9)
  const inSquare = ([x, y]: readonly [number, number]): readonly [number, number] => [four((x - left) / whole), four((y - top) / whole)]
  return {
    ...base, id: armsMarkId(clip.id, 'figure'), clipId: clip.id, shape: 'figure', span, order,
    points: [...freeCorner(clip, taken, 0.58, 0.84)],
    figure: { ...words, poses: laid.map(({ pose, places }) => ({ ...pose, joints: places.map(inSquare) })) },
  }
}

/** A fan of misses on a plate, for as long as the clip shows or on one frame. */
export function missesInCorner(clip: MarkClip, span: Mark['span'], misses: Misses, order: number, taken: readonly ImagePoint[]): Mark {
  return { ...base, ink: 'club', id: armsMarkId(clip.id, 'misses'), clipId: clip.id, shape: 'misses', span, order, points: [...freeCorner(clip, taken, 0.5, 0.7)], misses: { ...misses, handedness: pictureHand({ handedness: misses.handedness, mirrored: clip.mirrored }) } }
}

const four = (value: number): number => Math.round(value * 1e4) / 1e4

/** The corner in which a plate of these shares of the short side hides the fewest points, upper ones first. */
export function freeCorner({ width, height }: MarkClip, taken: readonly ImagePoint[], wide: number, high: number): readonly [ImagePoint, ImagePoint] {
  const short = Math.min(width, height)
  const [w, h, edge] = [wide * short, high * short, 0.02 * short]
  const corners = [[width - edge - w, edge], [edge, edge], [width - edge - w, height - edge - h], [edge, height - edge - h]] as const
  const hides = ([x, y]: readonly [number, number]): number => taken.filter((p) => p[0] > x && p[0] < x + w && p[1] > y && p[1] < y + h).length
  const [x, y] = corners.toSorted((a, b) => hides(a) - hides(b))[0]!
  return [rounded(imagePoint(x, y)), rounded(imagePoint(x + w, y + h))]
}

/**
 * A fresh mark with what the coach may have changed of the one before it: its plate's place, its look, its span where it was widened.
 * @param ownTicks what a mark may span by itself, ticks
 */
export function keptFrom(mark: Mark, old: Mark | undefined, ownTicks = 0): Mark {
  if (!old) return mark
  const isOwn = old.span !== null && old.span.to - old.span.from <= ownTicks
  return {
    ...mark, order: old.order, weight: old.weight, hidden: old.hidden, span: isOwn ? mark.span : old.span,
    points: mark.shape === 'arms' ? mark.points : old.points,
  }
}
