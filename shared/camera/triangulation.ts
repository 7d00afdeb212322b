import { Matrix, SingularValueDecomposition } from 'ml-matrix'
import { cross3, dot3, sub3, type ImagePoint, type Vec3, type WorldPoint } from '../geometry/vec.ts'
import { sightline, type Camera } from './projection.ts'

export interface Meeting {
  /** Midway between the two sightlines where they come closest, metres. */
  readonly point: WorldPoint
  /**
   * How far the sightlines miss each other, metres, signed along the common perpendicular (first direction x second),
   * so that its error is centred on 0; its size is the ray gap.
   */
  readonly gap: number
  /** Angle at which the sightlines cross, radians, at most a right angle. */
  readonly angle: number
}

/** The midpoint of two sightlines' common perpendicular; null where they are parallel or meet behind a camera. */
export function meetSightlines(one: Camera, a: ImagePoint, two: Camera, b: ImagePoint): Meeting | null {
  const u = sightline(one, a)
  const v = sightline(two, b)
  const w = sub3(two.place, one.place)
  const uu = dot3(u, u)
  const uv = dot3(u, v)
  const vv = dot3(v, v)
  const det = uu * vv - uv * uv
  if (!(det > 1e-10 * uu * vv)) return null
  const s = (vv * dot3(u, w) - uv * dot3(v, w)) / det
  const t = (uv * dot3(u, w) - uu * dot3(v, w)) / det
  if (!(s > 0 && t > 0)) return null
  const midway = (k: 0 | 1 | 2): number => (one.place[k] + u[k] * s + (two.place[k] + v[k] * t)) / 2
  const normal: Vec3 = cross3(u, v)
  const length = Math.sqrt(dot3(normal, normal))
  return { point: [midway(0), midway(1), midway(2)], gap: dot3(w, normal) / length, angle: Math.asin(Math.min(1, length / Math.sqrt(uu * vv))) }
}

/** Linear triangulation from two or more cameras (Hartley & Zisserman, 12.2), the equations scaled to pixels; null where degenerate. */
export function triangulateLinear(cameras: readonly Camera[], points: readonly ImagePoint[]): WorldPoint | null {
  const rows: number[][] = []
  cameras.forEach((camera, i) => {
    const [x, y] = points[i]!
    const [r0, r1, r2] = camera.rows
    rows.push(r2.map((value, k) => x * value - r0[k]!), r2.map((value, k) => y * value - r1[k]!))
  })
  if (rows.length < 4) return null
  const svd = new SingularValueDecomposition(new Matrix(rows), { computeLeftSingularVectors: false })
  if (!(svd.diagonal[2]! > 1e-12 * svd.diagonal[0]!)) return null
  const h = svd.rightSingularVectors.getColumn(3)
  if (Math.abs(h[3]!) < 1e-12 * Math.hypot(...h)) return null
  return [h[0]! / h[3]!, h[1]! / h[3]!, h[2]! / h[3]!]
}
