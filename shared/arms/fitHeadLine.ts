import { cross3, dot3, sub3, unit3, type Vec3 } from '../geometry/vec.ts'
import { pointTitle } from '../swing/digitised.ts'
import { placeInSpace, type Swing } from '../swing/reading.ts'
import { shaftPoints } from '../swing/shaft.ts'
import type { HeadLine } from './headLine.ts'

/** Cosine of 6 degrees: no head stands farther off (common practice, no source); what does is a point in the wrong place. */
const farthest = Math.cos((6 * Math.PI) / 180)

/** The line as filmed; else why the shaft's own line is read, and whether that is because the marks contradict each other. */
export type HeadLineSeen = { readonly line: HeadLine } | { readonly line: null; readonly why: string; readonly contradicts: boolean }

/**
 * As filmed, from the points that the measures of the shaft read, so that both tell the same of one pose; none where they
 * cannot be placed in space, or lie off the fitted shaft farther than a head does.
 */
export function headLineSeen(swing: Swing, t: number, shaft: Vec3, side: Vec3): HeadLineSeen {
  const points = shaftPoints(swing.views)
  const tail = points && placeInSpace(swing, points.tail, t)
  const tip = points && placeInSpace(swing, points.tip, t)
  if (!tail || !tip) return { line: null, contradicts: false, why: 'the shaft is read along its own line: its two ends are not marked in both views, as its measures need' }
  const [low, high] = [pointTitle(points!.tail), pointTitle(points!.tip)]
  const line = unit3(sub3(tip, tail))
  if (!line) return { line: null, contradicts: true, why: `The ${low} and the ${high} are marked at one place, so that no line goes from the one to the other: the shaft is read along its own line, and its measures do not hold.` }
  const along = dot3(line, shaft)
  if (along > farthest) return { line: [dot3(line, side) / along, dot3(line, cross3(shaft, side)) / along] }
  const off = (Math.acos(Math.max(-1, along)) * 180) / Math.PI
  return { line: null, contradicts: true, why: `The line from ${low} to ${high} as marked lies ${off.toFixed(0)} degrees off the shaft, farther than a head stands: the shaft is read along its own line, and its measures tell something else. Look at the ${high} again.` }
}
