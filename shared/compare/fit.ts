import { apply } from '../geometry/affine.ts'
import { distance2, lerp2, type ImagePoint, type Vec2 } from '../geometry/vec.ts'
import type { Handedness } from '../contract/clip.ts'
import { similarityMap, type Similarity, type TrackPoints } from '../walkthrough/reference.ts'
import { landmarkOf } from './track.ts'

/** What both pictures are made as large by. `world` shows both in one scale of the world, so that a taller player stays taller. */
export const sizings = ['stature', 'world', 'trunk', 'lead-arm', 'leg', 'shaft'] as const
export type Sizing = (typeof sizings)[number]
export const sizingWords: Readonly<Record<Sizing | 'picture', string>> = {
  stature: 'stature', world: 'true size', trunk: 'trunk, hips to shoulders', 'lead-arm': 'lead arm', leg: 'lead leg', shaft: 'club', picture: "the pictures' heights",
}

/** What stands on the same spot of both. */
export const anchors = ['ball', 'feet', 'pelvis', 'shoulders'] as const
export type Anchor = (typeof anchors)[number]
export const anchorWords: Readonly<Record<Anchor | 'picture', string>> = {
  ball: 'ball', feet: 'feet', pelvis: 'pelvis', shoulders: 'shoulder centre', picture: "the pictures' middles",
}

/** One of two clips to be laid over one another, at the instant at which that is done. */
export interface FitSide {
  readonly width: number
  readonly height: number
  readonly handedness: Handedness
  readonly points: TrackPoints
  /** Radians by which up leans to the right in the picture; null where no plumb or level line is placed: its edge stands in. */
  readonly roll: number | null
  readonly statureM: number | null
  readonly metresPerPx: number | null
}

export interface Fit {
  readonly transform: Similarity
  readonly sizedBy: Sizing | 'picture'
  readonly alignedOn: Anchor | 'picture'
  /** Whether the reference was turned to lean as the student's picture leans. */
  readonly levelled: boolean
  /** What was asked for and could not be had, in sentences. */
  readonly lacking: readonly string[]
}

/** Where a clip has no point for an anchor, these stand in, in this order. */
const standIns: readonly Anchor[] = ['feet', 'pelvis', 'shoulders', 'ball']
const sizeStandIns: readonly Sizing[] = ['stature', 'trunk', 'leg', 'lead-arm', 'shaft']

/**
 * The similarity that lays the reference over the student: mirrored where they play with other hands, as large by a stature or a
 * length both show, turned to lean alike, one spot on the same spot. What cannot be had is stood in for, and said.
 */
export function fitReference(own: FitSide, reference: FitSide, wish: { readonly sizeBy: Sizing; readonly alignOn: Anchor }): Fit {
  const lacking: string[] = []
  const mirror = own.handedness !== reference.handedness
  const sized = first([wish.sizeBy, ...sizeStandIns], (by) => ratio(own, reference, by))
  if (sized?.by !== wish.sizeBy) lacking.push(`Not sized by ${sizingWords[wish.sizeBy]}: ${lacks(own, reference, (side) => measureOf(side, wish.sizeBy) !== null)} ${sizeNeeds[wish.sizeBy]}. ${sized ? `Sized by ${sizingWords[sized.by]} instead.` : "The pictures are made as tall as each other instead."}`)
  const scale = sized?.value ?? own.height / reference.height
  // Mirrored, a lean to the right becomes one to the left.
  const lean = own.roll === null && reference.roll === null ? null : (own.roll ?? 0) - (mirror ? -1 : 1) * (reference.roll ?? 0)
  const turn = lean === null ? 0 : (lean * 180) / Math.PI
  const spot = first([wish.alignOn, ...standIns], (on) => {
    const [a, b] = [anchorOf(own.points, on), anchorOf(reference.points, on)]
    return a && b ? ([a, b] as const) : null
  })
  if (spot?.by !== wish.alignOn) lacking.push(`Not aligned on the ${anchorWords[wish.alignOn]}: ${lacks(own, reference, ({ points }) => anchorOf(points, wish.alignOn) !== null)} ${anchorNeeds[wish.alignOn]}. ${spot ? `The ${anchorWords[spot.by]} ${spot.by === 'feet' ? 'stand' : 'stands'} in.` : 'The middles of the pictures lie over one another.'}`)
  const [to, from] = spot?.value ?? [[own.width / 2, own.height / 2], [reference.width / 2, reference.height / 2]] as const
  const bare: Similarity = { scale, turn, mirror, shift: [0, 0] }
  const there = apply(similarityMap(bare), from)
  return {
    transform: rounded({ ...bare, shift: [to[0] - there[0], to[1] - there[1]] }),
    sizedBy: sized?.by ?? 'picture', alignedOn: spot?.by ?? 'picture', levelled: lean !== null, lacking,
  }
}

function first<K, V>(keys: readonly K[], find: (key: K) => V | null): { readonly by: K; readonly value: V } | null {
  for (const by of keys) {
    const value = find(by)
    if (value !== null) return { by, value }
  }
  return null
}

const lacks = (own: FitSide, reference: FitSide, has: (side: FitSide) => boolean): string =>
  has(own) ? 'the reference lacks' : has(reference) ? "the student's clip lacks" : 'both clips lack'

const sizeNeeds: Readonly<Record<Sizing, string>> = {
  stature: 'crown (or head) and ankles', world: 'a scale in the world', trunk: 'hips and shoulders',
  'lead-arm': 'lead shoulder, elbow and wrist', leg: 'lead hip, knee and ankle', shaft: 'both ends of the club',
}
const anchorNeeds: Readonly<Record<Anchor, string>> = { ball: 'the ball', feet: 'both ankles', pelvis: 'both hips', shoulders: 'both shoulders' }

function ratio(own: FitSide, reference: FitSide, by: Sizing): number | null {
  // A stature in the world says more than a bent player's height in the picture, but only where both have it.
  if (by === 'stature') {
    const [a, b] = [tall(own), tall(reference)]
    if (a !== null && b !== null) return a / b
  }
  const [a, b] = [measureOf(own, by), measureOf(reference, by)]
  return a !== null && b !== null && a > 0 && b > 0 ? a / b : null
}

const tall = ({ statureM, metresPerPx }: FitSide): number | null => (statureM !== null && metresPerPx !== null ? statureM / metresPerPx : null)

/** Pixels of the picture that a size takes up; null where it cannot be read. */
function measureOf({ points, metresPerPx }: FitSide, by: Sizing): number | null {
  switch (by) {
    case 'world':
      return metresPerPx === null ? null : 1 / metresPerPx
    case 'stature': {
      const [top, foot] = [points.crown ?? points.head, anchorOf(points, 'feet')]
      return top && foot ? distance2(top, foot) : null
    }
    case 'trunk':
      return along(landmarkOf(points, 'midHips'), landmarkOf(points, 'midShoulders'))
    case 'lead-arm':
      return along(points.leadShoulder, points.leadElbow, points.leadWrist)
    case 'leg':
      return along(points.leadHip, points.leadKnee, points.leadAnkle)
    case 'shaft':
      return along(landmarkOf(points, 'shaftTail'), landmarkOf(points, 'shaftTip'))
  }
}

function along(...points: readonly (Vec2 | null | undefined)[]): number | null {
  let sum = 0
  for (let i = 1; i < points.length; i++) {
    const [a, b] = [points[i - 1], points[i]]
    if (!a || !b) return null
    sum += distance2(a, b)
  }
  return sum >= 2 ? sum : null
}

/** Where an anchor lies on a frame. */
export function anchorOf(points: TrackPoints, on: Anchor): ImagePoint | null {
  switch (on) {
    case 'ball': return points.ball ?? null
    case 'feet': return points.leadAnkle && points.trailAnkle ? lerp2(points.leadAnkle, points.trailAnkle, 0.5) : null
    case 'pelvis': return landmarkOf(points, 'midHips')
    case 'shoulders': return landmarkOf(points, 'midShoulders')
  }
}

const rounded = ({ scale, turn, mirror, shift }: Similarity): Similarity =>
  ({ scale: Number(scale.toPrecision(7)), turn: Math.round(turn * 1e4) / 1e4, mirror, shift: [Math.round(shift[0] * 100) / 100, Math.round(shift[1] * 100) / 100] })

/** A transform in words and numbers: "1.12 times as large, turned 1.3° clockwise, mirrored". */
export function transformWords({ scale, turn, mirror }: Similarity): string {
  const parts = [Math.abs(scale - 1) < 0.005 ? 'as large as filmed' : `${scale.toFixed(2)} times as large`]
  if (Math.abs(turn) >= 0.05) parts.push(`turned ${Math.abs(turn).toFixed(1)}\u00b0 ${turn > 0 ? 'clockwise' : 'anticlockwise'}`)
  if (mirror) parts.push('mirrored')
  return parts.join(', ')
}

/** The same short: "1.12\u00d7, \u22121.3\u00b0, mirrored"; a turn is positive clockwise. */
export function transformDigits({ scale, turn, mirror }: Similarity): string {
  const digits = Math.abs(turn).toFixed(1)
  return [`${scale.toFixed(2)}\u00d7`, `${Number(digits) === 0 ? '' : turn < 0 ? '\u2212' : '+'}${digits}\u00b0`, ...(mirror ? ['mirrored'] : [])].join(', ')
}
