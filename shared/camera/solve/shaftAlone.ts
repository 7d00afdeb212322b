import { cross3, unit3, type Vec2, type Vec3 } from '../../geometry/vec.ts'
import { fitLeastSquares } from '../../signal/leastSquares.ts'
import { meetPlane, type Camera } from '../projection.ts'

/**
 * The shaft in space from one camera down the line. It is taken to be of one length, to move near one plane, and to be
 * held about where hands usually are; from how its picture shortens and leans as it goes up and over follow the plane's
 * slope and aim, and the shaft's direction at the last instant.
 */
export interface ShaftSight {
  readonly tail: Vec2
  readonly tip: Vec2
  /** Of either end, pixels. */
  readonly sigma: number
}

export interface ShaftAlone {
  /** All in radians. */
  readonly azimuth: number
  readonly elevation: number
  /** Still to turn in its plane to be level. */
  readonly short: number
  readonly azimuthAtLevel: number
  /** Of the plane it moves in. */
  readonly slope: number
  /** From the first sight to the last. */
  readonly turn: number
  /** Standard deviations of the five, in their order, by the marks and by what is assumed. */
  readonly sigma: readonly [number, number, number, number, number]
  /** The fit itself, to start the next from. */
  readonly fit: Float64Array
}

/** What is assumed, common practice, no source. Lengths in metres, angles in radians. */
const degree = Math.PI / 180
export const aloneAssumptions = {
  /** Where along the target line the hands are on the way to the top, and how far that is off for all and from one instant to the next. */
  handsX: -0.2, handsSigma: 0.2, handsOwnSigma: 0.1,
  slope: 52 * degree, slopeSigma: 9 * degree,
  aim: 0, aimSigma: 12 * degree,
  /** How far the shaft is off its plane at any one instant. */
  offPlaneSigma: 2.5 * degree,
} as const

const globals = 4
const perSight = 3

interface Plane {
  readonly up: Vec3
  readonly along: Vec3
}
const planeOf = (slope: number, aim: number): Plane => ({
  up: [Math.cos(slope) * Math.sin(aim), Math.sin(slope), -Math.cos(slope) * Math.cos(aim)], along: [Math.cos(aim), 0, Math.sin(aim)],
})

/** 0 hangs down the plane, a quarter turn points away from the target, half a turn up, three quarters toward the target. */
function inPlane({ up, along }: Plane, turn: number, off: number): Vec3 {
  const c = -Math.cos(turn) * Math.cos(off)
  const s = -Math.sin(turn) * Math.cos(off)
  const n = cross3(along, up)
  const k = Math.sin(off)
  return [c * up[0] + s * along[0] + k * n[0], c * up[1] + s * along[1] + k * n[1], c * up[2] + s * along[2] + k * n[2]]
}

/** What a fit says of the last sight. */
function answers(p: ArrayLike<number>, count: number, carry: CarryToLevel): readonly [number, number, number, number, number] | null {
  const plane = planeOf(p[0]!, p[1]!)
  const at = globals + perSight * (count - 1)
  const d = inPlane(plane, p[at]!, p[at + 1]!)
  const ahead = inPlane(plane, p[at]! + 0.1, 0)
  const axis = unit3(cross3(inPlane(plane, p[at]!, 0), ahead))
  const level = axis && carry(d, axis)
  if (!level) return null
  return [Math.atan2(d[2], d[0]), Math.asin(Math.max(-1, Math.min(1, d[1]))), level.short, level.azimuth, p[0]!]
}

export type CarryToLevel = (shaft: Vec3, axis: Vec3) => { readonly short: number; readonly azimuth: number } | null

/**
 * @param sights in the order of time, from about level on the way back to the instant asked for, the last
 * @param length of what is seen of the shaft, metres, and its error
 * @param carry turns a shaft on about an axis until it is level
 * Null where the sights do not show a shaft that goes up and over.
 */
export function shaftAlone(camera: Camera, sights: readonly ShaftSight[], length: number, lengthSigma: number, carry: CarryToLevel, from?: Float64Array): ShaftAlone | null {
  const count = sights.length
  if (count < 5) return null
  const a = aloneAssumptions
  const start = from ?? begin(camera, sights, length)
  if (!start) return null
  const n = globals + perSight * count
  const project = (p: Vec3): Vec2 | null => {
    const [r0, r1, r2] = camera.rows
    const w = r2[0]! * p[0] + r2[1]! * p[1] + r2[2]! * p[2] + r2[3]!
    return w > 0.05 ? [(r0[0]! * p[0] + r0[1]! * p[1] + r0[2]! * p[2] + r0[3]!) / w, (r1[0]! * p[0] + r1[1]! * p[1] + r1[2]! * p[2] + r1[3]!) / w] : null
  }
  const residuals = (p: Float64Array, out: Float64Array): void => {
    const plane = planeOf(p[0]!, p[1]!)
    out[0] = (p[0]! - a.slope) / a.slopeSigma
    out[1] = (p[1]! - a.aim) / a.aimSigma
    out[2] = (p[2]! - length) / lengthSigma
    out[3] = (p[3]! - a.handsX) / a.handsSigma
    sights.forEach((s, i) => {
      const k = globals + perSight * i
      const row = globals + 4 * i
      const tail = meetPlane(camera, s.tail, [1, 0, 0], p[3]! + p[k + 2]!)
      const d = inPlane(plane, p[k]!, p[k + 1]!)
      const tip = tail && project([tail[0] + p[2]! * d[0], tail[1] + p[2]! * d[1], tail[2] + p[2]! * d[2]])
      // Both ends are off by the marks' error; the tail is held, so that the tip carries both.
      const sigma = s.sigma * Math.SQRT2
      out[row] = tip ? (tip[0] - s.tip[0]) / sigma : Number.NaN
      out[row + 1] = tip ? (tip[1] - s.tip[1]) / sigma : Number.NaN
      out[row + 2] = p[k + 1]! / a.offPlaneSigma
      out[row + 3] = p[k + 2]! / a.handsOwnSigma
    })
  }
  const probe = new Float64Array(globals + 4 * count)
  residuals(start, probe)
  if (!probe.every(Number.isFinite)) return null
  const fit = fitLeastSquares({ count: globals + 4 * count, residuals }, start, { maxIterations: 40, tolerance: 1e-7 })
  const { covariance, parameters } = fit
  const middle = answers(parameters, count, carry)
  if (!covariance || !middle) return null
  // A picture that the assumptions do not explain is trusted by as much less.
  const stretch = Math.max(1, Math.sqrt(fit.sumOfSquares / (globals + 4 * count - n)))
  const gradients = middle.map(() => new Float64Array(n))
  for (let j = 0; j < n; j++) {
    const moved = Float64Array.from(parameters)
    moved[j] = parameters[j]! + 1e-5
    const high = answers(moved, count, carry)
    moved[j] = parameters[j]! - 1e-5
    const low = answers(moved, count, carry)
    if (high && low) gradients.forEach((g, i) => (g[j] = (high[i]! - low[i]!) / 2e-5))
  }
  const sigma = gradients.map((g) => {
    let sum = 0
    for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) sum += g[i]! * covariance[i * n + j]! * g[j]!
    return stretch * Math.sqrt(sum)
  }) as unknown as ShaftAlone['sigma']
  const [azimuth, elevation, short, azimuthAtLevel, slope] = middle
  return { azimuth, elevation, short, azimuthAtLevel, slope, turn: Math.abs(parameters[globals + perSight * (count - 1)]! - parameters[globals]!), sigma, fit: parameters }
}

/** A start: the slope from where the shaft stands tallest, turns from how tall it is before and after. */
function begin(camera: Camera, sights: readonly ShaftSight[], length: number): Float64Array | null {
  const heights: number[] = []
  const sides: number[] = []
  for (const s of sights) {
    const tail = meetPlane(camera, s.tail, [1, 0, 0], aloneAssumptions.handsX)
    const tip = meetPlane(camera, s.tip, [1, 0, 0], aloneAssumptions.handsX)
    if (!tail || !tip) return null
    heights.push(tip[1] - tail[1])
    sides.push(tip[2] - tail[2])
  }
  const tall = heights.reduce((best, h, i) => (h > heights[best]! ? i : best), 0)
  if (!(heights[tall]! > 0.3 * length)) return null
  const slope = Math.max(0.5, Math.min(1.35, Math.atan2(heights[tall]!, Math.max(0.05, -sides[tall]!))))
  const start = new Float64Array(globals + perSight * sights.length)
  start.set([slope, 0, length, aloneAssumptions.handsX])
  const full = Math.max(length * Math.sin(slope), heights[tall]! * 1.001)
  heights.forEach((h, i) => {
    const open = Math.acos(Math.max(-1, Math.min(0.999, h / full)))
    start[globals + perSight * i] = Math.PI + (i <= tall ? -open : open)
  })
  return start
}
