import { Matrix, SingularValueDecomposition } from 'ml-matrix'
import type { Vec2 } from '../geometry/vec.ts'

/** A map of planes, row by row, 9 numbers; points are homogeneous columns. */
export type Homography = readonly number[]

/** Shifts points to their centre and scales them to a mean distance of sqrt 2 (Hartley 1997). */
function conditioning(points: readonly Vec2[]): { k: number; x: number; y: number } {
  const x = points.reduce((sum, p) => sum + p[0], 0) / points.length
  const y = points.reduce((sum, p) => sum + p[1], 0) / points.length
  const spread = points.reduce((sum, p) => sum + Math.hypot(p[0] - x, p[1] - y), 0) / points.length
  return { k: Math.SQRT2 / (spread || 1), x, y }
}

/**
 * The homography that takes `from` to `to`, by the normalised direct linear transform (Hartley & Zisserman, Multiple
 * View Geometry, 4.1); exact for four pairs, least squares for more. Null where three of four points lie on a line
 * or there are too few.
 */
export function fitHomography(from: readonly Vec2[], to: readonly Vec2[]): Homography | null {
  if (from.length !== to.length || from.length < 4) return null
  const a = conditioning(from)
  const b = conditioning(to)
  const rows: number[][] = []
  from.forEach((p, i) => {
    const x = a.k * (p[0] - a.x)
    const y = a.k * (p[1] - a.y)
    const u = b.k * (to[i]![0] - b.x)
    const v = b.k * (to[i]![1] - b.y)
    rows.push([-x, -y, -1, 0, 0, 0, u * x, u * y, u], [0, 0, 0, -x, -y, -1, v * x, v * y, v])
  })
  while (rows.length < 9) rows.push([0, 0, 0, 0, 0, 0, 0, 0, 0])
  const svd = new SingularValueDecomposition(new Matrix(rows), { autoTranspose: true })
  const values = svd.diagonal
  if (!(values[7]! > 1e-10 * values[0]!)) return null
  const h = Matrix.from1DArray(3, 3, svd.rightSingularVectors.getColumn(8))
  // A map that squeezes the plane onto a line comes of three points of four on one.
  const d = h.to1DArray() as [number, number, number, number, number, number, number, number, number]
  const det = d[0] * (d[4] * d[8] - d[5] * d[7]) - d[1] * (d[3] * d[8] - d[5] * d[6]) + d[2] * (d[3] * d[7] - d[4] * d[6])
  if (!(Math.abs(det) > 1e-9)) return null
  const before = new Matrix([[a.k, 0, -a.k * a.x], [0, a.k, -a.k * a.y], [0, 0, 1]])
  const after = new Matrix([[1 / b.k, 0, b.x], [0, 1 / b.k, b.y], [0, 0, 1]])
  const m = after.mmul(h).mmul(before)
  const corner = m.get(2, 2)
  const scale = Math.abs(corner) > 1e-12 * m.norm() ? corner : m.norm()
  return m.to1DArray().map((value) => value / scale)
}

/** Where a point goes; null for a point that goes to infinity. */
export function mapPoint(h: Homography, p: Vec2): Vec2 | null {
  const w = h[6]! * p[0] + h[7]! * p[1] + h[8]!
  if (Math.abs(w) < 1e-12) return null
  return [(h[0]! * p[0] + h[1]! * p[1] + h[2]!) / w, (h[3]! * p[0] + h[4]! * p[1] + h[5]!) / w]
}
