import { cross3, dot3, type Vec3 } from '../../geometry/vec.ts'
import { ballDiameter } from '../scale.ts'
import type { Term } from './blockFit.ts'
import type { Line, Seen, SolveView } from './input.ts'
import { phone, phoneSize, poseOf, seePoint, vanishing, type Pose } from './phone.ts'

/** Marks beyond this many standard deviations are taken for slips and count linearly (Huber 1964). */
export const slip = 3

/** A term whose derivatives are taken by central differences: for the few that are not pictures of points. */
export function numericTerm(
  size: number, shared: readonly number[], points: readonly number[], residuals: (g: Float64Array, p: Float64Array, r: Float64Array) => boolean, huber?: number,
): Term {
  const high = new Float64Array(size)
  const low = new Float64Array(size)
  const vary = (values: Float64Array, at: number, g: Float64Array, p: Float64Array, out: Float64Array, column: number, width: number): boolean => {
    const before = values[at]!
    const step = 1e-6 * (1 + Math.abs(before))
    values[at] = before + step
    const one = residuals(g, p, high)
    values[at] = before - step
    const two = residuals(g, p, low)
    values[at] = before
    for (let i = 0; i < size; i++) out[i * width + column] = (high[i]! - low[i]!) / (2 * step)
    return one && two
  }
  return {
    size, shared, points, ...(huber !== undefined && { huber }),
    evaluate: (g, p, r, js, jp) => {
      if (!residuals(g, p, r)) return false
      const wide = 3 * points.length
      for (let a = 0; a < shared.length; a++) if (!vary(g, shared[a]!, g, p, js, a, shared.length)) return false
      for (let a = 0; a < wide; a++) if (!vary(p, 3 * points[(a / 3) | 0]! + (a % 3), g, p, jp, a, wide)) return false
      return true
    },
  }
}

/** A number, shared or a point's, that is known beforehand. @param sign of each, so that sums and differences may be known too */
export function knownShared(index: number, mean: number, sigma: number): Term {
  return {
    size: 1, shared: [index], points: [],
    evaluate: (g, _, r, js) => {
      r[0] = (g[index]! - mean) / sigma
      js[0] = 1 / sigma
      return true
    },
  }
}

/** A blend of coordinates of points that is known: sum of share times coordinate. */
export function knownPlace(parts: readonly (readonly [point: number, axis: 0 | 1 | 2, share: number])[], mean: number, sigma: number, huber?: number): Term {
  const points = parts.map(([point]) => point)
  return {
    size: 1, shared: [], points, ...(huber !== undefined && { huber }),
    evaluate: (_, p, r, __, jp) => {
      let sum = -mean
      jp.fill(0, 0, 3 * points.length)
      parts.forEach(([point, axis, share], i) => {
        sum += share * p[3 * point + axis]!
        jp[3 * i + axis] = share / sigma
      })
      r[0] = sum / sigma
      return true
    },
  }
}

/** The picture of a point. `clock` is the shared number that is added to the swing's clock to get this view's, or -1. */
export function pictureTerm(poses: readonly Pose[], view: number, point: number, seen: Seen, clock: number): Term {
  const from = view * phoneSize
  const shared = Array.from({ length: phoneSize }, (_, i) => from + i)
  const width = clock < 0 ? phoneSize : phoneSize + 1
  if (clock >= 0) shared.push(clock)
  const out = new Float64Array(2)
  const jg = new Float64Array(2 * phoneSize)
  const k = [1 / seen.sigma, 1 / (seen.sigmaY ?? seen.sigma)] as const
  return {
    size: 2, shared, points: [point], huber: slip,
    evaluate: (g, p, r, js, jp) => {
      if (!seePoint(poses[view]!, p, 3 * point, out, jg, jp)) return false
      const late = clock < 0 ? 0 : g[clock]!
      r[0] = k[0] * (out[0]! - seen.x - late * seen.rate[0])
      r[1] = k[1] * (out[1]! - seen.y - late * seen.rate[1])
      for (let i = 0; i < 6; i++) jp[i] = jp[i]! * k[i < 3 ? 0 : 1]
      for (const row of [0, 1] as const) {
        for (let i = 0; i < phoneSize; i++) js[row * width + i] = k[row] * jg[row * phoneSize + i]!
        if (clock >= 0) js[row * width + phoneSize] = -k[row] * seen.rate[row]!
      }
      return true
    },
  }
}

/**
 * Two points a length apart that is itself a shared number. Its misfit is relative: in metres, lengths that do not
 * quite stay would be had more cheaply by shrinking the whole scene.
 * @param relative how far, as a share, the length changes beyond the marks' own errors
 */
export function rodTerm(a: number, b: number, length: number, relative: number): Term {
  return {
    size: 1, shared: [length], points: [a, b], huber: slip,
    evaluate: (g, p, r, js, jp) => {
      const d = [0, 1, 2].map((i) => p[3 * b + i]! - p[3 * a + i]!)
      const size = Math.hypot(...d)
      if (!(size > 1e-6) || !(g[length]! > 1e-3)) return false
      r[0] = Math.log(size / g[length]!) / relative
      js[0] = -1 / (g[length]! * relative)
      for (let i = 0; i < 3; i++) {
        jp[3 + i] = d[i]! / (size * size * relative)
        jp[i] = -jp[3 + i]!
      }
      return true
    },
  }
}

const phoneIndices = (view: number): number[] => Array.from({ length: phoneSize }, (_, i) => view * phoneSize + i)

/**
 * A line of the picture that runs, in the world, along a direction: its two ends and the direction's vanishing point
 * lie on one line. The misfit of that, over its own error by the ends' (Sampson 1982).
 */
export function lineTerm(view: number, v: SolveView, [a, b]: Line, direction: (g: Float64Array) => Vec3, more: readonly number[] = []): Term {
  const ha: Vec3 = [a[0], a[1], 1]
  const hb: Vec3 = [b[0], b[1], 1]
  const l = cross3(ha, hb)
  return numericTerm(1, [...phoneIndices(view), ...more], [], (g, _, r) => {
    const [x, y, w] = vanishing(poseOf(v.view, g, view * phoneSize), direction(g))
    const spread = Math.hypot(b[1] * w - y, b[0] * w - x, a[1] * w - y, a[0] * w - x)
    if (!(spread > 0)) return false
    r[0] = dot3(l, [x, y, w]) / (v.sigmaPx * spread)
    return true
  }, slip)
}

/** How far a line taken for the horizon is off level and square to the camera, radians: common practice, no source. */
const horizonSigma = (0.7 * Math.PI) / 180

/** A level line square to the camera shows its roll. */
export function horizonTerm(view: number, v: SolveView, [a, b]: Line): Term {
  const [left, right] = a[0] <= b[0] ? [a, b] : [b, a]
  const slope = Math.atan2(right[1] - left[1], right[0] - left[0])
  const sigma = Math.hypot((Math.SQRT2 * v.sigmaPx) / Math.hypot(right[0] - left[0], right[1] - left[1]), horizonSigma)
  return knownShared(view * phoneSize + phone.roll, slope, sigma)
}

/** The ball's width in the picture. */
export function ballTerm(view: number, v: SolveView, ball: number, diameterPx: number): Term {
  const sigma = (v.sigmaPx / 2) * Math.SQRT2
  return numericTerm(1, phoneIndices(view), [ball], (g, p, r) => {
    const pose = poseOf(v.view, g, view * phoneSize)
    const depth = dot3(pose.ahead, [p[3 * ball]! - pose.place[0], p[3 * ball + 1]! - pose.place[1], p[3 * ball + 2]! - pose.place[2]])
    if (!(depth > 0.05)) return false
    r[0] = ((pose.focal * ballDiameter) / depth - diameterPx) / sigma
    return true
  }, slip)
}

/** The ground direction from trail to lead ankle is `aim` off the target line. */
export function aimTerm(lead: number, trail: number, aim: number, sigma: number): Term {
  return numericTerm(1, [aim], [lead, trail], (g, p, r) => {
    const dx = p[3 * lead]! - p[3 * trail]!
    const dz = p[3 * lead + 2]! - p[3 * trail + 2]!
    const off = Math.atan2(dz, dx) - g[aim]!
    r[0] = (off - 2 * Math.PI * Math.round(off / (2 * Math.PI))) / sigma
    return true
  })
}
