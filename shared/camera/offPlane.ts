import { radians, type Radians } from '../geometry/angle.ts'

/** The angle that a camera sees, psi off the square-on direction, of a line at `angle` to the level: tan(seen) = tan(true) / cos(psi). */
export const seenAngle = (angle: Radians, psi: Radians): Radians => radians(Math.atan2(Math.sin(angle), Math.cos(angle) * Math.cos(psi)))

/** The angle of a line that is seen at `seen` by a camera psi off square. */
export const trueAngle = (seen: Radians, psi: Radians): Radians => radians(Math.atan2(Math.sin(seen) * Math.cos(psi), Math.cos(seen)))

/** How much larger, as a share, something reads that is `nearer` metres nearer the camera than the measured plane, which is `distance` off. */
export function offPlaneShare(distance: number, nearer: number): number {
  if (!(distance > 0) || !(nearer < distance)) throw new RangeError('the object must lie before the camera')
  return distance / (distance - nearer) - 1
}

/** One sentence for the coach about an object off the measured plane, or null where the effect is under one percent. */
export function offPlaneWarning(what: string, distance: number, nearer: number): string | null {
  const share = offPlaneShare(distance, nearer)
  if (Math.abs(share) < 0.01) return null
  const side = nearer > 0 ? 'nearer to' : 'farther from'
  const effect = share > 0 ? 'long' : 'short'
  return `${what} is ${Math.abs(nearer).toFixed(2)} m ${side} the camera than the measured plane: lengths there read ${(Math.abs(share) * 100).toFixed(1)} % too ${effect}`
}

/** How far off its line a camera has to stand to look `yaw` past it: the bearing of an offset at a distance. */
export const bearingOf = (offset: number, distance: number): Radians => radians(Math.atan2(offset, distance))
