import { cross3, dot3, scale3, type Vec3 } from '../geometry/vec.ts'

export interface AtLevel {
  /** Radians still to turn about the normal to be level: positive short of level, negative past it. */
  readonly short: number
  /** Radians: atan2(Z, X) of the shaft once it is level. */
  readonly azimuth: number
}

/**
 * Carries a shaft on about the axis it is turning round until it is level.
 * @param shaft unit vector from butt to head
 * @param axis unit vector round which it turns, the way it is turning
 * Null where it turns about the vertical, or so far off square to the axis that it never gets level.
 */
export function carryToLevel(shaft: Vec3, axis: Vec3): AtLevel | null {
  // Turned by g: shaft cos g + (axis x shaft) sin g + axis (axis . shaft)(1 - cos g); its height is a cos g + b sin g + c.
  const across = cross3(axis, shaft)
  const c = axis[1] * dot3(axis, shaft)
  const a = shaft[1] - c
  const b = across[1]
  const size = Math.hypot(a, b)
  if (!(size > 1e-9) || Math.abs(c) > size) return null
  const phase = Math.atan2(b, a)
  const reach = Math.acos(-c / size)
  const wrap = (g: number) => g - 2 * Math.PI * Math.round(g / (2 * Math.PI))
  const both = [wrap(phase + reach), wrap(phase - reach)] as const
  const g = Math.abs(both[0]) <= Math.abs(both[1]) ? both[0] : both[1]
  const k = dot3(axis, shaft) * (1 - Math.cos(g))
  const s: Vec3 = [0, 1, 2].map((i) => shaft[i]! * Math.cos(g) + across[i]! * Math.sin(g) + axis[i]! * k) as unknown as Vec3
  return { short: g, azimuth: Math.atan2(s[2], s[0]) }
}

/**
 * The axis that directions turn round, the way they turn: the sum of the cross products of every earlier with every
 * later one, so that wide turns count most. Not of length 1; near zero where they do not turn.
 */
export function turnAxis(directions: readonly Vec3[]): Vec3 {
  let before: Vec3 = [0, 0, 0]
  let axis: Vec3 = [0, 0, 0]
  for (const d of directions) {
    const c = cross3(before, d)
    axis = [axis[0] + c[0], axis[1] + c[1], axis[2] + c[2]]
    before = [before[0] + d[0], before[1] + d[1], before[2] + d[2]]
  }
  return axis
}

/** Radians between the horizontal and the plane square to an axis, within 0 and a right angle. */
export function slopeOf(axis: Vec3): number {
  const u = scale3(axis, 1 / Math.hypot(...axis))
  return Math.acos(Math.min(1, Math.abs(u[1])))
}
