import { cross3, dot3, scale3, sub3, unit3, type ImagePoint, type Vec3, type WorldPoint } from '../geometry/vec.ts'

/** A 3 x 4 projection from world metres to homogeneous picture pixels (Hartley & Zisserman, 6.1). */
export type ProjectionRows = readonly (readonly number[])[]

/** A camera with what is often asked of it worked out once. */
export interface Camera {
  /** Rows of the projection, signed so that what lies before the camera has a positive third coordinate. */
  readonly rows: readonly [readonly number[], readonly number[], readonly number[]]
  /** Where it stands, metres. */
  readonly place: Vec3
  /** Unit vector along its optical axis, away from the camera. */
  readonly axis: Vec3
  /** Row by row, the inverse of the left 3 x 3 part: a homogeneous picture point to a direction. */
  readonly inverse: readonly [Vec3, Vec3, Vec3]
  /** Focal length in pixels, the root of the horizontal times the vertical. */
  readonly focalPx: number
}

const part = (row: readonly number[]): Vec3 => [row[0]!, row[1]!, row[2]!]

/**
 * The camera of a projection matrix, or null where its left part is singular. The matrix's overall sign is free in a
 * file; it is chosen so that the player's chest, a metre above the origin, lies before the camera.
 */
export function cameraFrom(matrix: ProjectionRows): Camera | null {
  const [r0, r1, r2] = matrix
  if (!r0 || !r1 || !r2) return null
  const sign = r2[1]! + r2[3]! < 0 ? -1 : 1
  const rows = [r0, r1, r2].map((row) => row.map((value) => sign * value)) as [number[], number[], number[]]
  const [a, b, c] = rows.map(part) as [Vec3, Vec3, Vec3]
  const det = dot3(a, cross3(b, c))
  if (!(Math.abs(det) > 1e-12 * Math.hypot(...a) * Math.hypot(...b) * Math.hypot(...c))) return null
  const columns = [cross3(b, c), cross3(c, a), cross3(a, b)].map((v) => scale3(v, 1 / det))
  const inverse = [0, 1, 2].map((i): Vec3 => [columns[0]![i]!, columns[1]![i]!, columns[2]![i]!]) as unknown as readonly [Vec3, Vec3, Vec3]
  const last: Vec3 = [rows[0][3]!, rows[1][3]!, rows[2][3]!]
  const place = scale3([dot3(inverse[0], last), dot3(inverse[1], last), dot3(inverse[2], last)], -1)
  const axis = unit3(c)!
  const k = Math.hypot(...c)
  // Left part = K R: the rows of K R across the axis have lengths of the focal lengths.
  const across = (row: Vec3): number => Math.hypot(...cross3(row, c)) / (k * k)
  return { rows, place, axis, inverse, focalPx: Math.sqrt(across(a) * across(b)) }
}

const row = (r: readonly number[], p: Vec3): number => r[0]! * p[0] + r[1]! * p[1] + r[2]! * p[2] + r[3]!

/** Where a world point is seen, or null where it lies behind the camera. */
export function project(camera: Camera, p: WorldPoint): ImagePoint | null {
  const w = row(camera.rows[2], p)
  if (!(w > 0)) return null
  return [row(camera.rows[0], p) / w, row(camera.rows[1], p) / w]
}

/** The direction in which a picture point lies, not of length 1, away from the camera. */
export function sightline(camera: Camera, p: ImagePoint): Vec3 {
  const [a, b, c] = camera.inverse
  return [a[0] * p[0] + a[1] * p[1] + a[2], b[0] * p[0] + b[1] * p[1] + b[2], c[0] * p[0] + c[1] * p[1] + c[2]]
}

/** Where the sightline of a picture point meets the plane normal . p = distance; null if it does not, ahead of the camera. */
export function meetPlane(camera: Camera, p: ImagePoint, normal: Vec3, distance: number): WorldPoint | null {
  const [dx, dy, dz] = sightline(camera, p)
  const rate = normal[0] * dx + normal[1] * dy + normal[2] * dz
  if (Math.abs(rate) < 1e-12 * Math.sqrt(dx * dx + dy * dy + dz * dz)) return null
  const k = (distance - dot3(normal, camera.place)) / rate
  if (!(k > 0)) return null
  return [camera.place[0] + k * dx, camera.place[1] + k * dy, camera.place[2] + k * dz]
}

/**
 * The projection of a pinhole camera.
 * @param focal pixels @param centre picture point of the axis @param place metres
 * @param right @param down @param ahead unit vectors of the picture's x, its y and the axis
 */
export function pinhole(focal: number, centre: ImagePoint, place: Vec3, right: Vec3, down: Vec3, ahead: Vec3): ProjectionRows {
  const rows: Vec3[] = [
    [focal * right[0] + centre[0] * ahead[0], focal * right[1] + centre[0] * ahead[1], focal * right[2] + centre[0] * ahead[2]],
    [focal * down[0] + centre[1] * ahead[0], focal * down[1] + centre[1] * ahead[1], focal * down[2] + centre[1] * ahead[2]],
    ahead,
  ]
  return rows.map((r) => [...r, -dot3(r, place)])
}

/** A point as far from the camera, along its axis, in metres. */
export const depthOf = (camera: Camera, p: WorldPoint): number => dot3(camera.axis, sub3(p, camera.place))
