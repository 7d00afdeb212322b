import { cross3, dot3, sub3, unit3, type Vec3 } from '../geometry/vec.ts'
import { placeInSpace, type Swing } from '../swing/reading.ts'
import { shaftPoints } from '../swing/shaft.ts'
import type { HeadLine } from './headLine.ts'

/** Cosine of 6 degrees: no head stands farther off (common practice, no source); what does is a point in the wrong place. */
const farthest = Math.cos((6 * Math.PI) / 180)

/**
 * As filmed, from the points that the measures of the shaft read, so that both tell the same of one pose; null where they
 * cannot be placed in space, or lie off the fitted shaft farther than a head does.
 */
export function headLineSeen(swing: Swing, t: number, shaft: Vec3, side: Vec3): HeadLine | null {
  if (swing.views.length < 2 || swing.views.some((v) => !v.camera)) return null
  const points = shaftPoints(swing.views)
  const tail = points && placeInSpace(swing, points.tail, t)
  const tip = points && placeInSpace(swing, points.tip, t)
  const line = tail && tip && unit3(sub3(tip, tail))
  if (!line) return null
  const along = dot3(line, shaft)
  return along > farthest ? [dot3(line, side) / along, dot3(line, cross3(shaft, side)) / along] : null
}
