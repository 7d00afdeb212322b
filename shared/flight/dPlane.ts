import { cross3, dot3, type Vec3 } from '../geometry/vec.ts'

/** Angles of a club at impact, degrees. */
export interface Delivery {
  /** How far the face looks up, as it is delivered. */
  readonly loft: number
  /** How far the head moves up; negative down. */
  readonly attack: number
  /** Where the face points from above: positive to the push side. */
  readonly face: number
  /** Where the head moves from above: positive to the push side. */
  readonly path: number
}

export interface DPlane {
  /** Between the face's normal and the head's way in space: what spins the ball. Degrees. */
  readonly spinLoft: number
  /** How far the ball's spin axis leans, and so to which side it curves: positive to the push side. Degrees. */
  readonly axisTilt: number
}

const inRadians = (degrees: number): number => (degrees * Math.PI) / 180
const inDegrees = (radians: number): number => (radians * 180) / Math.PI

/** A direction `up` degrees above level and `aside` degrees off the target line, in world axes. */
const direction = (up: number, aside: number): Vec3 => {
  const [u, a] = [inRadians(up), inRadians(aside)]
  return [Math.cos(u) * Math.cos(a), Math.sin(u), Math.cos(u) * Math.sin(a)]
}

/**
 * The plane of the face's normal and the head's way, in which the ball starts and against which its spin axis stands
 * (Jorgensen, The Physics of Golf). Null where face and way agree: there is no plane, and no spin from it.
 */
export function dPlane({ loft, attack, face, path }: Delivery): DPlane | null {
  const normal = direction(loft, face)
  const way = direction(attack, path)
  const across = cross3(way, normal)
  const sine = Math.hypot(...across)
  if (sine < 1e-12) return null
  // Square to its way, a lofted face spins the ball about a level axis; what rises of the axis is the tilt.
  return { spinLoft: inDegrees(Math.atan2(sine, dot3(way, normal))), axisTilt: inDegrees(Math.atan2(-across[1], Math.hypot(across[0], across[2]))) }
}
