import type { ViewName } from '../../contract/pointsFile.ts'
import { linear, measured, sigmaOf, type Uncertain } from '../../signal/uncertain.ts'
import { meetPlane, type Camera } from '../projection.ts'
import { cameraErrors, propagateThrough } from './cameraErrors.ts'
import type { Mat, SolveInput } from './input.ts'
import { cornerSigma } from './mat.ts'
import type { CameraSolve } from './solveOnce.ts'

/** A mat's two sides as a camera sees them that was solved without it, metres. */
export interface SidesSeen {
  readonly view: ViewName
  readonly length: Uncertain
  readonly width: Uncertain
}

/** Typed sides this many standard deviations off what the rest of the marks say are a contradiction. */
const limit = 4

export function sidesSeen(solve: CameraSolve, view: ViewName, mat: Mat, sigmaPx: number): SidesSeen | null {
  const errors = cameraErrors(solve, [view], 0)
  const inputs = mat.corners.flatMap(([x, y], k) => [measured(x, sigmaPx, -1 - 2 * k), measured(y, sigmaPx, -2 - 2 * k)])
  const sides = (camera: Camera, v: ArrayLike<number>): readonly [number, number] | null => {
    const ground = [0, 1, 2, 3].map((k) => meetPlane(camera, [v[2 * k]!, v[2 * k + 1]!], [0, 1, 0], 0))
    const size = (a: number, b: number): number => Math.hypot(ground[a]![0] - ground[b]![0], ground[a]![2] - ground[b]![2])
    return ground.every((p) => p) ? [(size(0, 1) + size(2, 3)) / 2, (size(1, 2) + size(3, 0)) / 2] : null
  }
  const middle = sides(solve.cameras[0]!, inputs.map((u) => u.value))
  if (!middle) return null
  const [length, width] = propagateThrough((cameras, v) => sides(cameras[0]!, v) ?? middle, solve.cameras, errors, inputs)
  // Four corners a little off a true rectangle, two at either end of a side.
  const worn = (u: Uncertain, source: number): Uncertain => linear(u.value, [u, measured(0, cornerSigma, source)], [1, 1])
  return { view, length: worn(length!, -20), width: worn(width!, -21) }
}

const cm = (u: { readonly value: number; readonly sigma: number }): string => `${(100 * u.value).toFixed(0)} +- ${Math.max(1, 100 * u.sigma).toFixed(0)}`

/**
 * Why a mat of the size that was typed cannot be what the pictures show, with the numbers, or null.
 * @param alone solves one view from its own address alone
 */
export function matFault(input: SolveInput, alone: (one: SolveInput) => CameraSolve | null): string | null {
  for (const [i, v] of input.views.entries()) {
    if (!v.mat || v.known) continue
    const { mat, ...rest } = v
    const solve = alone({ ...input, views: [rest], instants: [], address: new Map([...input.address].map(([name, seen]) => [name, [seen[i] ?? null]])) })
    const seen = solve && sidesSeen(solve, v.view, mat, v.sigmaPx)
    if (!seen) continue
    const off = (u: Uncertain, typed: number): number => Math.abs(u.value - typed) / sigmaOf(u)
    const times = Math.max(off(seen.length, mat.lengthM), off(seen.width, mat.widthM))
    if (!(times > limit)) continue
    const [length, width] = [seen.length, seen.width].map((u) => cm({ value: u.value, sigma: sigmaOf(u) }))
    return `The mat's size contradicts the rest: by the other marks of the ${v.view} view its sides are ${length} and ${width} cm, and ${(100 * mat.lengthM).toFixed(0)} and ${(100 * mat.widthM).toFixed(0)} cm were given, ${times.toFixed(0)} times the error off. It is left out; check both sides and which is which.`
  }
  return null
}
