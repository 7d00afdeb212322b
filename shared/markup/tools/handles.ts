import { imagePoint, type ImagePoint } from '../../geometry/vec.ts'
import type { Mark } from '../mark.ts'
import { constrained } from './constrain.ts'
import { rounded } from './tool.ts'

const cornered: ReadonlySet<Mark['shape']> = new Set(['box', 'plan', 'figure', 'misses'])
const hasCorners = (mark: Mark): boolean => cornered.has(mark.shape)

/** The points a mark can be taken by, in image space. A path drawn by hand, a fan and arms have none: they move as a whole. */
export function handlesOf(mark: Mark): readonly ImagePoint[] {
  if (mark.shape === 'freehand' || mark.shape === 'fan' || mark.shape === 'arms') return []
  if (!hasCorners(mark)) return mark.points
  const [a, b] = mark.points as [ImagePoint, ImagePoint]
  return [a, imagePoint(b[0], a[1]), b, imagePoint(a[0], b[1])]
}

/** The mark with one handle moved. A circle's centre takes its rim along; a box's corner leaves the opposite one. */
export function withHandle(mark: Mark, handle: number, to: ImagePoint, constrain: boolean): Mark {
  const points = [...mark.points]
  if (hasCorners(mark)) {
    const opposite = handlesOf(mark)[(handle + 2) % 4]!
    const at = constrain ? constrained('box', opposite, to) : to
    return { ...mark, points: [opposite, at].map(rounded) }
  }
  if (mark.shape === 'circle' && handle === 0) return movedBy(mark, to[0] - points[0]![0], to[1] - points[0]![1])
  const neighbour = points[handle === 0 ? 1 : handle - 1]
  points[handle] = rounded(constrain && neighbour ? constrained(mark.shape, neighbour, to) : to)
  return { ...mark, points }
}

/** The mark shifted by pixels of the original. */
export const movedBy = (mark: Mark, dx: number, dy: number): Mark =>
  dx === 0 && dy === 0 ? mark : { ...mark, points: mark.points.map(([x, y]) => rounded(imagePoint(x + dx, y + dy))) }
