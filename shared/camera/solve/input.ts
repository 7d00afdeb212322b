import type { PointName, ViewName } from '../../contract/pointsFile.ts'
import type { Vec2 } from '../../geometry/vec.ts'
import type { Camera } from '../projection.ts'

/** A point in one picture, pixels, its error (one standard deviation of x and of y) and its speed, pixels a second. */
export interface Seen {
  readonly x: number
  readonly y: number
  readonly sigma: number
  /** That of y, where it differs. */
  readonly sigmaY?: number
  readonly rate: Vec2
}

/** What one instant shows, in the order of the views; null where a view does not show the point. */
export type SolveInstant = ReadonlyMap<PointName, readonly (Seen | null)[]>

export type Line = readonly [Vec2, Vec2]

/** A rectangle of known size on the ground: four picture points in order around it, and its sides, metres. */
export interface Mat {
  readonly corners: readonly [Vec2, Vec2, Vec2, Vec2]
  /** From the first corner to the second, and from the second to the third. */
  readonly lengthM: number
  readonly widthM: number
}

export interface SolveView {
  readonly view: ViewName
  readonly width: number
  readonly height: number
  /** Of the ends of guides, pixels. */
  readonly sigmaPx: number
  readonly targetLine?: Line
  readonly plumb?: Line
  readonly horizon?: Line
  readonly stanceLine?: Line
  readonly mat?: Mat
  readonly ballDiameterPx?: number
  /** A camera that is known: it is kept as it is. */
  readonly known?: Camera
}

/** All that a coach's marks say about one or two cameras. A right-hander's swing. */
export interface SolveInput {
  readonly views: readonly SolveView[]
  /** The last still instant before the swing. */
  readonly address: SolveInstant
  /** Other instants of the swing, far enough apart that their errors are independent. */
  readonly instants: readonly SolveInstant[]
  readonly statureM?: number
  /** Butt to sole. */
  readonly clubM?: number
  /** How far apart the views' clocks may be, seconds; 0 for one clock. */
  readonly syncSigmaS: number
}

/** What stands for the club: a point near its butt and one near its head. */
export const clubTails = ['butt', 'hands'] as const
export const clubTips = ['clubhead', 'shaftEnd'] as const

export const limbs: readonly (readonly [PointName, PointName])[] = (['lead', 'trail'] as const).flatMap((side) =>
  ([['Shoulder', 'Elbow'], ['Elbow', 'Wrist'], ['Hip', 'Knee'], ['Knee', 'Ankle']] as const).map(
    ([a, b]): readonly [PointName, PointName] => [`${side}${a}`, `${side}${b}`]))
