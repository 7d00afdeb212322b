import { dot3, type Vec3 } from '../geometry/vec.ts'
import { carryToLevel } from '../swing/shaftAtLevel.ts'

/**
 * Where the shaft would point once carried on to level. The plane in which it moves is known at the filmed pose; for another
 * elbow place it is taken to keep its slope against the ground and the angle at which the shaft stands to its axis, and to
 * turn with the shaft about the vertical. At the filmed pose that is the filmed plane itself.
 */
export interface Turning {
  /** The unit axis' upward part, and the size of its level part. */
  readonly up: number
  readonly flat: number
  /** Shaft along the axis: 0 for a shaft that lies in the plane. */
  readonly along: number
  /** On which side of the shaft the axis' level part lies. */
  readonly side: 1 | -1
}

/** Slope of the shaft's plane at the top where nothing was filmed, degrees, and one standard deviation: common practice, no source. */
export const usualSlope = { value: 50, sigma: 6 } as const
const turningOfSlope = (slopeDeg: number): Turning => ({ up: -Math.cos((slopeDeg * Math.PI) / 180), flat: Math.sin((slopeDeg * Math.PI) / 180), along: 0, side: -1 })
export const usualTurning: Turning = turningOfSlope(usualSlope.value)

/** @param axis the way the shaft turns, any length; null where it, or the shaft, has no level part */
export function turningOf(axis: Vec3, shaft: Vec3): Turning | null {
  const size = Math.hypot(...axis)
  if (!(size > 0)) return null
  const flat = Math.hypot(axis[0], axis[2]) / size
  if (!(flat > 1e-3 && Math.hypot(shaft[0], shaft[2]) > 1e-3)) return null
  const across = axis[2] * shaft[0] - axis[0] * shaft[2]
  return { up: axis[1] / size, flat, along: dot3(axis, shaft) / size, side: across < 0 ? -1 : 1 }
}

/** The axis of the plane of a slope that holds the shaft; null where it stands too steeply for that. */
function axisIn(shaft: Vec3, turning: Turning): Vec3 | null {
  const flat = Math.hypot(shaft[0], shaft[2])
  if (!(flat > 1e-6)) return null
  const k = (turning.along - shaft[1] * turning.up) / (turning.flat * flat)
  if (!(Math.abs(k) < steepest)) return null
  const heading = Math.atan2(shaft[2], shaft[0]) + turning.side * Math.acos(k)
  return [turning.flat * Math.cos(heading), turning.up, turning.flat * Math.sin(heading)]
}
export const axisOfSlope = (shaft: Vec3, slopeDeg: number): Vec3 | null => axisIn(shaft, turningOfSlope(slopeDeg))

export interface Levelled {
  readonly azimuthDeg: number
  readonly shortDeg: number
}

/** Null where no plane of that slope holds the shaft, or it stands so steeply in it that level is too far to foretell. */
export function levelled(shaft: Vec3, turning: Turning): Levelled | null {
  const axis = axisIn(shaft, turning)
  const at = axis && carryToLevel(shaft, axis)
  return at && { azimuthDeg: (at.azimuth * 180) / Math.PI, shortDeg: (at.short * 180) / Math.PI }
}

const steepest = 0.985
