import type { PointName } from '../contract/pointsFile.ts'

/** Where each point is to be placed, in words for the coach; lengths by the eye. */
export const placingWords: Readonly<Record<PointName, string>> = {
  head: 'midway between the ears',
  crown: 'the highest point of the head, cap taken off',
  leadShoulder: 'the middle of the joint',
  trailShoulder: 'the middle of the joint',
  leadElbow: 'the middle of the joint',
  trailElbow: 'the middle of the joint',
  leadWrist: 'the middle of the joint',
  trailWrist: 'the middle of the joint',
  leadHip: 'the middle of the joint, a hand below the belt',
  trailHip: 'the middle of the joint, a hand below the belt',
  leadKnee: 'the middle of the joint',
  trailKnee: 'the middle of the joint',
  leadAnkle: 'the middle of the joint',
  trailAnkle: 'the middle of the joint',
  spineTop: 'midway between the shoulder joints, at the base of the neck',
  spineBase: 'midway between the hip joints',
  hands: 'on the shaft, midway between the hands',
  butt: 'the end of the grip',
  shaftEnd: 'where the shaft meets the head',
  clubhead: "the middle of the head",
  ball: 'the middle of the ball',
}

/** The order in which points are asked for: down the body, then along the club. */
export const placingOrder: readonly PointName[] = [
  'crown', 'head', 'spineTop', 'leadShoulder', 'trailShoulder', 'leadElbow', 'trailElbow', 'leadWrist', 'trailWrist',
  'spineBase', 'leadHip', 'trailHip', 'leadKnee', 'trailKnee', 'leadAnkle', 'trailAnkle', 'butt', 'hands', 'shaftEnd', 'clubhead', 'ball',
]

export type PointInk = 'plain' | 'lead' | 'trail' | 'club' | 'head' | 'body'

/** The ink that a point is drawn in, by what it belongs to. */
export function inkOfPoint(point: PointName): PointInk {
  if (point.startsWith('lead')) return 'lead'
  if (point.startsWith('trail')) return 'trail'
  if (point === 'head' || point === 'crown') return 'head'
  if (point === 'ball') return 'plain'
  return point.startsWith('spine') ? 'body' : 'club'
}

/** Lines drawn where both ends are placed, the ink of each by what it belongs to. */
export const skeleton: readonly (readonly [PointName, PointName])[] = [
  ['crown', 'head'], ['head', 'spineTop'], ['spineTop', 'spineBase'],
  ['leadShoulder', 'trailShoulder'], ['leadHip', 'trailHip'],
  ['leadShoulder', 'leadElbow'], ['leadElbow', 'leadWrist'], ['trailShoulder', 'trailElbow'], ['trailElbow', 'trailWrist'],
  ['leadHip', 'leadKnee'], ['leadKnee', 'leadAnkle'], ['trailHip', 'trailKnee'], ['trailKnee', 'trailAnkle'],
  ['butt', 'clubhead'], ['butt', 'shaftEnd'], ['hands', 'clubhead'],
]
