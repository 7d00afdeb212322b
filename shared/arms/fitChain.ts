import { project, type Camera } from '../camera/projection.ts'
import type { Vec3 } from '../geometry/vec.ts'
import { fitLeastSquares } from '../signal/leastSquares.ts'
import type { Uncertain } from '../signal/uncertain.ts'
import { sigmaOf } from '../signal/uncertain.ts'
import { numbersOfBody, seenOf, usualCount, writeUsual, type Seen, type Start, type Usual } from './fitBody.ts'

/** Points that a fit can hold a body to. */
export type FitPoint =
  | 'leadShoulder' | 'trailShoulder' | 'leadElbow' | 'trailElbow' | 'leadWrist' | 'trailWrist' | 'leadHip' | 'trailHip'
  | 'trunkBase' | 'hands' | 'butt' | 'shaftEnd' | 'leadFist' | 'trailFist'

/** One marked point: seen through a camera, or given in the world, or a number of the world taken for granted. */
export type Observation =
  | { readonly kind: 'picture'; readonly point: FitPoint; readonly label: string; readonly view: string; readonly camera: number; readonly at: readonly [Uncertain, Uncertain] }
  | { readonly kind: 'world'; readonly point: FitPoint; readonly label: string; readonly view: string; readonly at: readonly [Uncertain, Uncertain, Uncertain] }
  /** Only how far along one world axis the point lies. */
  | { readonly kind: 'depth'; readonly point: FitPoint; readonly axis: 0 | 2; readonly at: readonly [Uncertain] }
  /** Direction of the shaft, radians. */
  | { readonly kind: 'azimuth' | 'elevation'; readonly at: readonly [Uncertain] }

export interface ChainProblem {
  readonly start: Start
  readonly observations: readonly Observation[]
  readonly cameras: readonly Camera[]
  readonly usual: Usual
  readonly club: { readonly buttM: number; readonly endM: number; readonly endSigma: number }
  /** Numbers of the body that are known and not to be found: what is the same on every frame. */
  readonly held?: ReadonlyMap<number, number>
  /** More that is held to be likely of the pose (joint angles near their middles), for one view. */
  readonly likely: { readonly count: number; readonly write: (out: Float64Array, from: number, p: ArrayLike<number>, seen: Seen) => void } | null
}

const pointOf = (seen: Seen, point: FitPoint): Vec3 => seen[point]
const wrap = (a: number): number => a - 2 * Math.PI * Math.round(a / (2 * Math.PI))

/** Model minus marked, in each number's own unit. */
export function offOf(seen: Seen, o: Observation, cameras: readonly Camera[]): readonly number[] {
  switch (o.kind) {
    case 'picture': {
      const p = project(cameras[o.camera]!, pointOf(seen, o.point))
      // Behind the camera nothing is seen: a long way off, so that no step leads there.
      return p ? [p[0] - o.at[0].value, p[1] - o.at[1].value] : [1e6, 1e6]
    }
    case 'world': {
      const p = pointOf(seen, o.point)
      return [p[0] - o.at[0].value, p[1] - o.at[1].value, p[2] - o.at[2].value]
    }
    case 'depth':
      return [pointOf(seen, o.point)[o.axis] - o.at[0].value]
    case 'azimuth':
      return [wrap(Math.atan2(seen.shaft[2], seen.shaft[0]) - o.at[0].value)]
    case 'elevation':
      return [Math.asin(Math.max(-1, Math.min(1, seen.shaft[1]))) - o.at[0].value]
  }
}

export interface ChainFit {
  readonly row: Float64Array
  /** n x n, row by row: of the marked points with what they share, of the cameras' own errors and of what is usual. */
  readonly covariance: Float64Array
  /** Sum of squares of the observations alone, each in its own deviation, and how many there are. */
  readonly sum: number
  readonly count: number
  /** Of everything, what was usual and likely too. */
  readonly total: number
  readonly converged: boolean
}

/** Changes of the cameras by one standard deviation of each of their own errors, a third of it either way. */
export type CameraShifts = readonly (readonly [plus: readonly Camera[], minus: readonly Camera[]])[]
const shiftShare = 1 / 3

/** In the numbers' own units (metres, radians): nothing that shows. */
const heldSigma = 1e-6

export function fitChain(problem: ChainProblem, row: Float64Array, shifts: CameraShifts): ChainFit | null {
  const { start, observations, usual, club, likely } = problem
  const held = [...(problem.held ?? [])]
  const sigmas = observations.flatMap((o) => o.at.map((u) => Math.max(1e-9, sigmaOf(u))))
  const marked = sigmas.length
  const more = marked + usualCount + (likely?.count ?? 0)
  const count = more + held.length
  const write = (p: Float64Array, out: Float64Array, cameras = problem.cameras): void => {
    const seen = seenOf(start, p)
    let k = 0
    for (const o of observations)
      for (const off of offOf(seen, o, cameras)) {
        out[k] = off / sigmas[k]!
        k++
      }
    writeUsual(out, marked, start, p, seen, usual, club)
    likely?.write(out, marked + usualCount, p, seen)
    held.forEach(([number, value], i) => (out[more + i] = (p[number]! - value) / heldSigma))
  }
  const problemOf = { count, residuals: (p: Float64Array, out: Float64Array) => write(p, out) }
  let fit: ReturnType<typeof fitLeastSquares>
  try {
    fit = fitLeastSquares(problemOf, row, { maxIterations: 60, tolerance: 1e-7 })
  } catch {
    return null
  }
  const n = numbersOfBody
  const { parameters, covariance: inverse, residuals } = fit
  if (!inverse) return null
  // How the numbers answer to each residual: - (J'J)^-1 J'.
  const jacobian = new Float64Array(count * n)
  const high = new Float64Array(count)
  const low = new Float64Array(count)
  const moved = Float64Array.from(parameters)
  for (let j = 0; j < n; j++) {
    const h = 1e-6
    moved[j] = parameters[j]! + h
    write(moved, high)
    moved[j] = parameters[j]! - h
    write(moved, low)
    moved[j] = parameters[j]!
    for (let i = 0; i < count; i++) jacobian[i * n + j] = (high[i]! - low[i]!) / (2 * h)
  }
  const answer = (residual: (i: number) => number, indices: Iterable<number>): Float64Array => {
    const gradient = new Float64Array(n)
    for (const i of indices) for (let j = 0; j < n; j++) gradient[j] = gradient[j]! + jacobian[i * n + j]! * residual(i)
    const out = new Float64Array(n)
    for (let a = 0; a < n; a++) for (let b = 0; b < n; b++) out[a] = out[a]! - inverse[a * n + b]! * gradient[b]!
    return out
  }
  const columns: Float64Array[] = []
  // Every source of error once, over all the numbers that it moves.
  const sources = new Map<number, Map<number, number>>()
  let k = 0
  for (const o of observations)
    for (const u of o.at) {
      u.parts.sources.forEach((source, j) => {
        const rows = sources.get(source) ?? new Map<number, number>()
        rows.set(k, (rows.get(k) ?? 0) - u.parts.shares[j]! / sigmas[k]!)
        sources.set(source, rows)
      })
      k++
    }
  for (const rows of sources.values()) columns.push(answer((i) => rows.get(i)!, rows.keys()))
  for (let i = marked; i < count; i++) columns.push(answer(() => 1, [i]))
  const range = Array.from({ length: marked }, (_, i) => i)
  for (const [plus, minus] of shifts) {
    write(parameters, high, plus)
    write(parameters, low, minus)
    columns.push(answer((i) => (high[i]! - low[i]!) / (2 * shiftShare), range))
  }
  const covariance = new Float64Array(n * n)
  for (const c of columns) for (let a = 0; a < n; a++) for (let b = 0; b < n; b++) covariance[a * n + b] = covariance[a * n + b]! + c[a]! * c[b]!
  let sum = 0
  for (let i = 0; i < marked; i++) sum += residuals[i]! ** 2
  return { row: parameters, covariance, sum, count: marked, total: fit.sumOfSquares, converged: fit.converged }
}
