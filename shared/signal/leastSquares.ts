import { factorQr, solveUpper, type Qr } from './qr.ts'

/**
 * Nonlinear least squares by Levenberg and Marquardt, with the scaling of Moré 1978, the damping of Nielsen 1999, and
 * steps bent along the surface (geodesic acceleration, Transtrum & Sethna 2012) where its curvature can be trusted.
 * Residuals are wanted in units of their own standard deviation, so that the covariance comes out in the parameters'.
 */
export interface LeastSquaresProblem {
  /** How many residuals there are; at least as many as parameters. */
  readonly count: number
  /** Writes the residuals at p into out. A value that is not finite makes the step refused. */
  readonly residuals: (p: Float64Array, out: Float64Array) => void
  /** Writes d residual[i] / d p[j] into out[i * n + j]; central differences where it is left out. */
  readonly jacobian?: (p: Float64Array, out: Float64Array) => void
}

export interface LeastSquaresOptions {
  readonly maxIterations?: number
  /** Relative change of parameters below which the fit has settled. */
  readonly tolerance?: number
  /** Residuals beyond this count linearly and not squared (Huber 1964); a common choice is 1.345. Left out: all squared. */
  readonly huber?: number
}

export interface LeastSquaresFit {
  readonly parameters: Float64Array
  /** Sum of squared residuals, unweighted. */
  readonly sumOfSquares: number
  readonly residuals: Float64Array
  readonly iterations: number
  readonly converged: boolean
  /** Row by row, n x n, for residuals of standard deviation 1; null where `undetermined` names a parameter. */
  readonly covariance: Float64Array | null
  /** Parameters that the residuals do not fix, judged by the scaled columns of the Jacobian. */
  readonly undetermined: readonly number[]
}

const cubeRootOfEpsilon = Math.cbrt(Number.EPSILON)

function differences(problem: LeastSquaresProblem, p: Float64Array, out: Float64Array): void {
  const n = p.length
  const high = new Float64Array(problem.count)
  const low = new Float64Array(problem.count)
  const moved = Float64Array.from(p)
  for (let j = 0; j < n; j++) {
    const step = cubeRootOfEpsilon * (Math.abs(p[j]!) || 1)
    moved[j] = p[j]! + step
    problem.residuals(moved, high)
    moved[j] = p[j]! - step
    problem.residuals(moved, low)
    moved[j] = p[j]!
    for (let i = 0; i < problem.count; i++) out[i * n + j] = (high[i]! - low[i]!) / (2 * step)
  }
}

/** Half the robust loss, and in `weights` the root of each residual's weight. */
function loss(r: Float64Array, huber: number | undefined, weights: Float64Array): number {
  let sum = 0
  for (let i = 0; i < r.length; i++) {
    const size = Math.abs(r[i]!)
    if (huber === undefined || size <= huber) {
      weights[i] = 1
      sum += size * size
    } else {
      weights[i] = Math.sqrt(huber / size)
      sum += huber * (2 * size - huber)
    }
  }
  return sum / 2
}

const probe = 0.1
const bendLimit = 0.75

/**
 * Half the second-order part of a step, from the residuals' second derivative along it; null where it is so large
 * against the step that the step goes further than its own picture of the surface holds.
 */
function bending(
  problem: LeastSquaresProblem, p: Float64Array, r: Float64Array, weights: Float64Array,
  jacobian: Float64Array, step: Float64Array, scale: Float64Array, qr: Qr,
): Float64Array | null {
  const n = p.length
  const m = problem.count
  const ahead = new Float64Array(m)
  problem.residuals(Float64Array.from(p, (value, j) => value + probe * step[j]!), ahead)
  const target = new Float64Array(m + n)
  for (let i = 0; i < m; i++) {
    let along = 0
    for (let j = 0; j < n; j++) along += jacobian[i * n + j]! * step[j]!
    const second = (2 / probe) * (((ahead[i]! - r[i]!) * weights[i]!) / probe - along)
    if (!Number.isFinite(second)) return null
    target[i] = -second / 2
  }
  const bend = solveUpper(qr, qr.applyTransposed(target))
  let bendSize = 0
  let stepSize = 0
  for (let j = 0; j < n; j++) {
    bendSize += (scale[j]! * bend[j]!) ** 2
    stepSize += (scale[j]! * step[j]!) ** 2
  }
  return 2 * Math.sqrt(bendSize) <= bendLimit * Math.sqrt(stepSize) ? bend : null
}

export function fitLeastSquares(
  problem: LeastSquaresProblem,
  start: ArrayLike<number>,
  { maxIterations = 500, tolerance = 1e-11, huber }: LeastSquaresOptions = {},
): LeastSquaresFit {
  const n = start.length
  const m = problem.count
  if (m < n) throw new RangeError(`${n} parameters need at least ${n} residuals, not ${m}`)
  let p = Float64Array.from(start)
  let r = new Float64Array(m)
  problem.residuals(p, r)
  if (!r.every(Number.isFinite)) throw new RangeError('the residuals at the start are not finite')
  let trial = new Float64Array(m)
  let weights = new Float64Array(m)
  let trialWeights = new Float64Array(m)
  let cost = loss(r, huber, weights)
  const jacobian = new Float64Array(m * n)
  const scale = new Float64Array(n)
  const stacked = new Float64Array((m + n) * n)
  const target = new Float64Array(m + n)
  let damping = 1e-3
  let growth = 2
  let converged = false
  let iterations = 0
  let fresh = false
  for (; iterations < maxIterations && !converged; iterations++) {
    if (!fresh) {
      if (problem.jacobian) problem.jacobian(p, jacobian)
      else differences(problem, p, jacobian)
      for (let i = 0; i < m; i++) for (let j = 0; j < n; j++) jacobian[i * n + j] = jacobian[i * n + j]! * weights[i]!
      for (let j = 0; j < n; j++) {
        let norm = 0
        for (let i = 0; i < m; i++) norm += jacobian[i * n + j]! ** 2
        // Moré never lets a scale shrink; a slow fade lets the fit leave a start that is far too steep.
        scale[j] = Math.max(0.9 * scale[j]!, Math.sqrt(norm))
      }
      fresh = true
    }
    stacked.set(jacobian)
    stacked.fill(0, m * n)
    for (let j = 0; j < n; j++) stacked[(m + j) * n + j] = Math.sqrt(damping) * (scale[j]! || 1)
    for (let i = 0; i < m; i++) target[i] = -r[i]! * weights[i]!
    target.fill(0, m)
    const qr = factorQr(stacked, m + n, n)
    const step = solveUpper(qr, qr.applyTransposed(target))
    const bend = bending(problem, p, r, weights, jacobian, step, scale, qr)
    const next = Float64Array.from(p, (value, j) => value + step[j]! + (bend ? bend[j]! : 0))
    problem.residuals(next, trial)
    const trialCost = bend && trial.every(Number.isFinite) ? loss(trial, huber, trialWeights) : Infinity
    let predicted = 0
    let gradient = 0
    for (let i = 0; i < m; i++) {
      let along = 0
      for (let j = 0; j < n; j++) along += jacobian[i * n + j]! * step[j]!
      gradient += along * target[i]!
      predicted += along * (target[i]! - along / 2)
    }
    let size = 0
    let small = true
    for (let j = 0; j < n; j++) {
      size = Math.max(size, Math.abs(step[j]!))
      if (Math.abs(step[j]!) > tolerance * (Math.abs(p[j]!) + tolerance)) small = false
    }
    const gain = (cost - trialCost) / predicted
    if (trialCost < cost || (trialCost <= cost && small)) {
      ;[p, r, trial, weights, trialWeights] = [next, trial, r, trialWeights, weights]
      cost = trialCost
      fresh = false
      damping *= Math.max(1 / 3, 1 - (2 * gain - 1) ** 3)
      growth = 2
      if (small) converged = true
    } else {
      // No step is left that a number of this precision could tell from standing still.
      if (small || !(gradient > 0) || damping > 1e18) converged = true
      damping *= growth
      growth *= 2
    }
    damping = Math.max(damping, 1e-18)
  }
  if (problem.jacobian) problem.jacobian(p, jacobian)
  else differences(problem, p, jacobian)
  for (let i = 0; i < m; i++) for (let j = 0; j < n; j++) jacobian[i * n + j] = jacobian[i * n + j]! * weights[i]!
  const { covariance, undetermined } = covarianceOf(jacobian, m, n)
  let sumOfSquares = 0
  for (const value of r) sumOfSquares += value * value
  return { parameters: p, sumOfSquares, residuals: r, iterations, converged, covariance, undetermined }
}

/** (J^T J)^-1 by way of R, with the columns scaled first so that units do not pass for weakness. */
function covarianceOf(jacobian: Float64Array, m: number, n: number): { covariance: Float64Array | null; undetermined: number[] } {
  const norms = new Float64Array(n)
  for (let j = 0; j < n; j++) {
    let norm = 0
    for (let i = 0; i < m; i++) norm += jacobian[i * n + j]! ** 2
    norms[j] = Math.sqrt(norm)
  }
  const scaled = Float64Array.from(jacobian, (value, k) => value / (norms[k % n]! || 1))
  const qr: Qr = factorQr(scaled, m, n)
  const undetermined: number[] = []
  for (let j = 0; j < n; j++) if (norms[j] === 0 || Math.abs(qr.r[j * n + j]!) < 1e-12) undetermined.push(j)
  if (undetermined.length) return { covariance: null, undetermined }
  // Columns of R^-1, then their products.
  const inverse = new Float64Array(n * n)
  for (let j = 0; j < n; j++) {
    const unit = new Float64Array(n)
    unit[j] = 1
    const column = solveUpper(qr, unit)
    for (let i = 0; i < n; i++) inverse[i * n + j] = column[i]!
  }
  const covariance = new Float64Array(n * n)
  for (let a = 0; a < n; a++)
    for (let b = 0; b < n; b++) {
      let sum = 0
      for (let k = 0; k < n; k++) sum += inverse[a * n + k]! * inverse[b * n + k]!
      covariance[a * n + b] = sum / (norms[a]! * norms[b]!)
    }
  return { covariance, undetermined }
}
