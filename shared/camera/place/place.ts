import type { ViewName } from '../../contract/pointsFile.ts'
import { cross3, dot3, unit3, type ImagePoint, type Vec3, type WorldPoint } from '../../geometry/vec.ts'
import { sightline, type Camera } from '../projection.ts'
import { squareAzimuth } from '../solve/phone.ts'

/**
 * Where a camera stands and how it is turned, each as one number. Angles in degrees, lengths in metres, the world's
 * axes: X toward the target, Y up, Z from the player toward the ball.
 */

const degrees = 180 / Math.PI
const wrap = (a: number): number => a - 360 * Math.round(a / 360)

/**
 * Where its axis points, seen from above, off the line it should point along: down the line positive toward the ball's
 * side of the target line, face-on positive toward the target of square. Null where it points straight up or down.
 */
export function axisYaw(view: ViewName, { axis }: Camera): number | null {
  if (Math.hypot(axis[0], axis[2]) < 0.2) return null
  return wrap((Math.atan2(axis[2], axis[0]) - squareAzimuth(view)) * degrees)
}

/** How far the world's up leans to the right in the middle of its picture; null where it points straight up or down. */
export function rollOf({ axis, rows }: Camera): number | null {
  const flat = unit3(cross3(axis, [0, 1, 0]))
  if (!flat || Math.hypot(axis[0], axis[2]) < 0.2) return null
  const part = (i: 0 | 1 | 2): Vec3 => [rows[i][0]!, rows[i][1]!, rows[i][2]!]
  const right = part(0)
  const under = cross3(axis, flat)
  return Math.atan2(-dot3(right, under), dot3(right, flat)) * degrees
}

export const heightOf = ({ place }: Camera): number => place[1]
/** Over the ground, from the middle of the stance. */
export const distanceOf = ({ place }: Camera): number => Math.hypot(place[0], place[2])

/** How far it stands toward the ball's side of the parallel to the target line through a point. */
export const offLine = ({ place }: Camera, through: WorldPoint): number => place[2] - through[2]
/** How far it stands toward the target of the middle of the stance. */
export const offMiddle = ({ place }: Camera): number => place[0]

/**
 * The look that its place alone gives a shaft at a picture point, seen down the line: a shaft that points along the
 * target line there looks turned by this, positive across the line. It is the bearing from the camera to the point,
 * which needs no depth: the sightline's own.
 */
export function lookBias(camera: Camera, at: ImagePoint): number {
  const d = sightline(camera, at)
  return -Math.atan2(d[2], d[0]) * degrees
}
