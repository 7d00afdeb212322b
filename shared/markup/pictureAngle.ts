import { toDegrees, radians, type Degrees } from '../geometry/angle.ts'
import { cross2, distance2, dot2, length2, sub2, type Vec2 } from '../geometry/vec.ts'

/** One standard deviation of a point placed by hand, in pixels of the original, until a coach's own is known; our assumption. */
export const handSigmaPx = 2

/**
 * The angle at `vertex` between the directions to `arm` and `other`, 0 to 180 degrees, as it looks in the picture: no scale,
 * level or depth is put right. `sigma` is one standard deviation, to first order, with each point off by sigmaPx in x and in y.
 * Null where an arm has no length.
 */
export function pictureAngle([arm, vertex, other]: readonly [Vec2, Vec2, Vec2], sigmaPx = handSigmaPx): { degrees: Degrees; sigma: Degrees } | null {
  const a = sub2(arm, vertex)
  const b = sub2(other, vertex)
  const la = length2(a)
  const lb = length2(b)
  if (la === 0 || lb === 0) return null
  const angle = radians(Math.abs(Math.atan2(cross2(a, b), dot2(a, b))))
  // The vertex turns both arms; its gradient has the length |arm - other| / (|a| |b|).
  const gradient = Math.hypot(1 / la, 1 / lb, distance2(arm, other) / (la * lb))
  return { degrees: toDegrees(angle), sigma: toDegrees(radians(Math.min(sigmaPx * gradient, Math.PI))) }
}
