import type { ViewName } from '../../contract/pointsFile.ts'
import { propagate, withParts, type Uncertain } from '../../signal/uncertain.ts'
import type { Camera } from '../projection.ts'
import { phoneCamera, phoneSize } from './phone.ts'
import type { CameraSolve } from './solveOnce.ts'

/**
 * The errors of solved cameras as independent sources. They are one and the same on every frame and for both cameras
 * at once, so that whatever is read through them shares them.
 */
export interface CameraErrors {
  readonly source: number
  /** For each source, the cameras with a third (`shiftShare`) of one standard deviation of it added, and taken off. */
  readonly shifted: readonly (readonly [plus: readonly Camera[], minus: readonly Camera[]])[]
  /** What one standard deviation of each source adds to the second view's clock, seconds. */
  readonly clock: Float64Array
}

/** How much of one standard deviation a shifted camera is off by. */
export const shiftShare = 1 / 3

/** @param source the first of as many sources in a row as the solve has numbers */
export function cameraErrors(solve: CameraSolve, views: readonly ViewName[], source: number): CameraErrors {
  const n = solve.numbers.length
  const column = (k: number, sign: 1 | -1): Camera[] => {
    const g = Float64Array.from(solve.numbers, (value, i) => value + sign * shiftShare * solve.root[i * n + k]!)
    return views.map((view, i) => phoneCamera(view, g, i * phoneSize))
  }
  return {
    source,
    shifted: Array.from({ length: n }, (_, k) => [column(k, 1), column(k, -1)] as const),
    clock: Float64Array.from({ length: n }, (_, k) => (n > phoneSize * views.length ? solve.root[(n - 1) * n + k]! : 0)),
  }
}

/** The second view's clock against the swing's, with its error. */
export const clockOf = (solve: CameraSolve, errors: CameraErrors): Uncertain =>
  withParts(solve.clockShift, new Map(Array.from(errors.clock, (part, k): [number, number] => [errors.source + k, part]).filter(([, part]) => part !== 0)))

/**
 * Several results of one smooth function of cameras and of uncertain inputs, with the cameras' own errors.
 * @param errors null for cameras that are known
 */
export function propagateThrough(
  f: (cameras: readonly Camera[], values: ArrayLike<number>) => readonly number[], cameras: readonly Camera[], errors: CameraErrors | null, inputs: readonly Uncertain[],
): Uncertain[] {
  const through = (values: ArrayLike<number>): readonly number[] => f(cameras, values)
  if (!errors) return propagate(through, inputs)
  const at = inputs.map((u) => u.value)
  const sources = errors.shifted.map((_, k) => errors.source + k)
  const shares: number[][] = []
  for (const [plus, minus] of errors.shifted) {
    const high = f(plus, at)
    const low = f(minus, at)
    for (let i = 0; i < high.length; i++) (shares[i] ??= []).push((high[i]! - low[i]!) / (2 * shiftShare))
  }
  return propagate(through, inputs, shares.map((own) => ({ sources, shares: own })))
}
