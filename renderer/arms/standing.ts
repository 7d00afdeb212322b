import type { ForwardResult } from '../../shared/arms/types.ts'
import { length3, sub3, type Vec3 } from '../../shared/geometry/vec.ts'
import { jointsInWorld } from '../../shared/markup/armsMarks.ts'
import type { ArmsState } from './armsState.ts'
import { halfField, type Eye } from './figure/eye.ts'
import type { Asked } from './load.ts'

export const sameAsked = (one: Asked | null, two: Asked | null): boolean => one?.clipIds.join(' ') === two?.clipIds.join(' ') && one?.swing?.id === two?.swing?.id

/** Whether two readings of a swing come to the same body, so that a look back into the room does not throw away what is wanted there. */
export const sameFit = (one: NonNullable<ArmsState['loaded']>, two: NonNullable<ArmsState['loaded']>): boolean =>
  one.statureM === two.statureM && JSON.stringify(one.fit?.input ?? null) === JSON.stringify(two.fit?.input ?? null) && JSON.stringify(one.lacking) === JSON.stringify(two.lacking)

/** Where the eye looks and how far off it stands, so that the figure fills the view from every side. */
export function roomFor(pose: ForwardResult): Pick<Eye, 'middle' | 'distance'> {
  const joints = jointsInWorld(pose)
  const mid = (i: 0 | 1 | 2): number => (Math.min(...joints.map((p) => p[i])) + Math.max(...joints.map((p) => p[i]))) / 2
  const middle: Vec3 = [mid(0), mid(1) - 0.05, mid(2)]
  const reach = Math.max(...joints.map((p) => length3(sub3(p, middle))))
  return { middle, distance: (1.1 * reach) / Math.tan(halfField) + 0.3 }
}
