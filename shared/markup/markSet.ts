import type { MarkSet } from '../contract/digitising.ts'
import type { PointName } from '../contract/pointsFile.ts'
import type { Handedness } from '../contract/clip.ts'
import { imagePoint, type ImagePoint, type Vec2 } from '../geometry/vec.ts'
import type { Size } from '../picture/layout.ts'
import { acrossPictures } from './copy.ts'
import type { Mark } from './mark.ts'
import { rounded } from './tools/tool.ts'

type Points = Readonly<Partial<Record<PointName, ImagePoint>>>

/** Points that move with the swing or are no part of the player say little about where the player stands. */
const steady: readonly PointName[] = [
  'head', 'crown', 'leadShoulder', 'trailShoulder', 'leadHip', 'trailHip', 'leadKnee', 'trailKnee', 'leadAnkle', 'trailAnkle', 'spineTop', 'spineBase', 'butt', 'hands', 'clubhead', 'shaftEnd', 'ball',
]

/**
 * The similarity (one scale, a turn, a shift; no mirroring) that brings points onto others with the least squares, from two
 * pairs on: in complex numbers, the ratio of the covariance to the variance (Umeyama 1991, from memory). Null where the points coincide.
 */
export function similarityFit(from: readonly Vec2[], to: readonly Vec2[]): ((point: Vec2) => Vec2) | null {
  const n = from.length
  if (n < 2 || to.length !== n) return null
  const mean = (points: readonly Vec2[]): Vec2 => [points.reduce((sum, p) => sum + p[0], 0) / n, points.reduce((sum, p) => sum + p[1], 0) / n]
  const [p, q] = [mean(from), mean(to)]
  let spread = 0
  let re = 0
  let im = 0
  for (let i = 0; i < n; i++) {
    const [x, y] = [from[i]![0] - p[0], from[i]![1] - p[1]]
    const [u, v] = [to[i]![0] - q[0], to[i]![1] - q[1]]
    spread += x * x + y * y
    re += x * u + y * v
    im += x * v - y * u
  }
  if (!(spread > 0) || !(re * re + im * im > 0)) return null
  const [a, b] = [re / spread, im / spread]
  return ([x, y]) => [q[0] + a * (x - p[0]) - b * (y - p[1]), q[1] + b * (x - p[0]) + a * (y - p[1])]
}

/** How a set comes to lie on a clip. */
export interface Laying {
  readonly map: (point: ImagePoint) => ImagePoint
  /** Fitted to this many points of the clip; 0: to the size of its picture. */
  readonly points: number
}

/** A set is fitted to the points that it and the clip both have; where they have fewer than two, to the picture's size. The other hand's is mirrored. */
export function layingOf(set: MarkSet, clip: Size & { readonly handedness: Handedness; readonly points: Points }): Laying {
  const isMirrored = set.handedness !== clip.handedness
  const turned = ([x, y]: Vec2): Vec2 => (isMirrored ? [set.width - x, y] : [x, y])
  const common = steady.filter((name) => set.points[name] && clip.points[name])
  const fit = similarityFit(common.map((name) => turned(set.points[name]!)), common.map((name) => clip.points[name]!))
  if (fit) return { map: (point) => imagePoint(...fit(turned(point))), points: common.length }
  return { map: acrossPictures(set, clip, isMirrored), points: 0 }
}

/** The marks of a set for a clip, with ids of their own. */
export const laidMarks = (set: MarkSet, clipId: string, laying: Laying, order: number, newId: () => string): Mark[] =>
  set.marks.map((mark, i) => ({ ...mark, id: newId(), clipId, span: null, order: order + i, points: mark.points.map((point) => rounded(laying.map(point))) }))
