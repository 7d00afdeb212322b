import { makeWorkspace, readPosture, type Chain, type Posture } from './chain.ts'
import { residualsPerArm, rootsOf, writeResiduals, type Ease, type Weights } from './cost.ts'
import type { Side } from './types.ts'

/** A chain with what its postures cost. */
export interface Costed {
  readonly chain: Chain
  readonly ease: Readonly<Record<Side, Ease>>
  readonly weights: Weights
}

const count = 2 * residualsPerArm
const most = 5

/**
 * Finds the posture of least cost near a first one, by Levenberg and Marquardt on the club's three turns, the lead elbow's
 * swivel and, where it is free, the trail elbow's. Its own small solver, since this runs while the coach drags: fixed room,
 * no allocation on the way.
 */
export class LeastCost {
  private readonly costed: Costed
  private readonly work = makeWorkspace()
  private readonly roots: Readonly<Record<Side, Float64Array>>
  private readonly r = new Float64Array(count)
  private readonly high = new Float64Array(count)
  private readonly low = new Float64Array(count)
  private readonly jacobian = new Float64Array(count * most)
  private readonly normal = new Float64Array(most * most)
  private readonly factor = new Float64Array(most * most)
  private readonly gradient = new Float64Array(most)
  private readonly step = new Float64Array(most)
  private readonly trial: Posture = { shaft: new Float64Array(3), side: new Float64Array(3), lead: 0, trail: 0 }

  constructor(costed: Costed) {
    this.costed = costed
    this.roots = { lead: rootsOf(costed.weights.lead), trail: rootsOf(costed.weights.trail) }
  }

  /** The cost of a posture, or infinity where the chain does not reach. */
  cost(p: Posture): number {
    return this.residuals(p, this.r) ? squares(this.r) : Infinity
  }

  private residuals(p: Posture, out: Float64Array): boolean {
    const { chain, ease } = this.costed
    if (!readPosture(chain, p, this.work)) return false
    writeResiduals(out, 0, this.work.lead, ease.lead, this.roots.lead, 'lead')
    writeResiduals(out, residualsPerArm, this.work.trail, ease.trail, this.roots.trail, 'trail')
    return true
  }

  /**
   * @param start changed to the posture found
   * @param free 4, or 5 where the trail elbow's swivel is free too
   * @param tolerance radians; steps smaller than this end the search
   * @returns the cost, or null where the start itself does not reach
   */
  find(start: Posture, free: 4 | 5, tolerance: number, maxSteps = 60): number | null {
    const { r, high, low, jacobian, normal, factor, gradient, step, trial } = this
    if (!this.residuals(start, r)) return null
    let cost = squares(r)
    let damping = 1e-4
    for (let k = 0; k < maxSteps; k++) {
      for (let j = 0; j < free; j++) {
        const up = this.moved(start, j, probe, high)
        const down = this.moved(start, j, -probe, low)
        // At the edge of reach one side is all there is.
        for (let i = 0; i < count; i++)
          jacobian[i * free + j] = up && down ? (high[i]! - low[i]!) / (2 * probe) : up ? (high[i]! - r[i]!) / probe : down ? (r[i]! - low[i]!) / probe : 0
      }
      for (let a = 0; a < free; a++) {
        let g = 0
        for (let i = 0; i < count; i++) g += jacobian[i * free + a]! * r[i]!
        gradient[a] = g
        for (let b = 0; b <= a; b++) {
          let sum = 0
          for (let i = 0; i < count; i++) sum += jacobian[i * free + a]! * jacobian[i * free + b]!
          normal[a * free + b] = sum
          normal[b * free + a] = sum
        }
      }
      let size = Infinity
      for (let tries = 0; ; tries++) {
        factor.set(normal)
        for (let a = 0; a < free; a++) factor[a * free + a] = normal[a * free + a]! * (1 + damping) + 1e-12
        if (!solveSymmetric(factor, gradient, step, free)) return cost
        size = 0
        for (let a = 0; a < free; a++) size = Math.max(size, Math.abs(step[a]!))
        // Turns of more than a quarter radian at once leave the neighbourhood.
        const shrink = size > 0.25 ? 0.25 / size : 1
        for (let a = 0; a < free; a++) step[a] = -shrink * step[a]!
        assign(trial, start)
        move(trial, step, free)
        if (this.residuals(trial, high)) {
          const next = squares(high)
          if (next <= cost) {
            assign(start, trial)
            r.set(high)
            cost = next
            damping = Math.max(damping / 9, 1e-9)
            break
          }
        }
        if (size < tolerance || tries > 12) return cost
        damping = Math.max(4 * damping, 1e-6)
      }
      if (size < tolerance) return cost
    }
    return cost
  }

  private moved(p: Posture, j: number, by: number, out: Float64Array): boolean {
    const { trial, step } = this
    assign(trial, p)
    step.fill(0)
    step[j] = by
    move(trial, step, most)
    return this.residuals(trial, out)
  }
}

/** Radians: small against any curvature here, large against rounding. */
const probe = 1e-5

function squares(r: Float64Array): number {
  let sum = 0
  for (let i = 0; i < r.length; i++) sum += r[i]! * r[i]!
  return sum
}

function assign(to: Posture, from: Posture): void {
  to.shaft.set(from.shaft)
  to.side.set(from.side)
  to.lead = from.lead
  to.trail = from.trail
}

/** Turns the club by the rotation vector step[0..2] and the swivels by the rest. */
export function move(p: Posture, step: Float64Array, free: number): void {
  const x = step[0]!
  const y = step[1]!
  const z = step[2]!
  const angle = Math.sqrt(x * x + y * y + z * z)
  if (angle > 0) {
    const s = Math.sin(angle) / angle
    const c = (1 - Math.cos(angle)) / (angle * angle)
    turnBy(p.shaft, x, y, z, s, c)
    turnBy(p.side, x, y, z, s, c)
    settle(p)
  }
  p.lead += step[3]!
  if (free > 4) p.trail += step[4]!
}

/** v + s w x v + c w x (w x v) (Rodrigues). */
function turnBy(v: Float64Array, x: number, y: number, z: number, s: number, c: number): void {
  const ax = y * v[2]! - z * v[1]!
  const ay = z * v[0]! - x * v[2]!
  const az = x * v[1]! - y * v[0]!
  v[0] = v[0]! + s * ax + c * (y * az - z * ay)
  v[1] = v[1]! + s * ay + c * (z * ax - x * az)
  v[2] = v[2]! + s * az + c * (x * ay - y * ax)
}

/** Keeps the two directions of length 1 and square against what rounding adds up to. */
function settle({ shaft, side }: Posture): void {
  const size = Math.hypot(shaft[0]!, shaft[1]!, shaft[2]!)
  for (let i = 0; i < 3; i++) shaft[i] = shaft[i]! / size
  const k = side[0]! * shaft[0]! + side[1]! * shaft[1]! + side[2]! * shaft[2]!
  for (let i = 0; i < 3; i++) side[i] = side[i]! - k * shaft[i]!
  const rest = Math.hypot(side[0]!, side[1]!, side[2]!)
  for (let i = 0; i < 3; i++) side[i] = side[i]! / rest
}

/** x with A x = b, A symmetric and positive (Cholesky, in place); false where it is not. */
function solveSymmetric(a: Float64Array, b: Float64Array, x: Float64Array, n: number): boolean {
  for (let j = 0; j < n; j++) {
    for (let i = j; i < n; i++) {
      let sum = a[i * n + j]!
      for (let k = 0; k < j; k++) sum -= a[i * n + k]! * a[j * n + k]!
      if (i === j) {
        if (!(sum > 0)) return false
        a[j * n + j] = Math.sqrt(sum)
      } else a[i * n + j] = sum / a[j * n + j]!
    }
  }
  for (let i = 0; i < n; i++) {
    let sum = b[i]!
    for (let k = 0; k < i; k++) sum -= a[i * n + k]! * x[k]!
    x[i] = sum / a[i * n + i]!
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = x[i]!
    for (let k = i + 1; k < n; k++) sum -= a[k * n + i]! * x[k]!
    x[i] = sum / a[i * n + i]!
  }
  return true
}
