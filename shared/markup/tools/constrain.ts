import { imagePoint, type ImagePoint } from '../../geometry/vec.ts'
import type { Shape } from '../mark.ts'

const step = Math.PI / 12

/** The point nearest to `at` that a held constraint allows from `from`: directions in steps of 15 degrees, boxes square. */
export function constrained(shape: Shape, from: ImagePoint, at: ImagePoint): ImagePoint {
  const [dx, dy] = [at[0] - from[0], at[1] - from[1]]
  if (shape === 'box') {
    const side = Math.max(Math.abs(dx), Math.abs(dy))
    return imagePoint(from[0] + (dx < 0 ? -side : side), from[1] + (dy < 0 ? -side : side))
  }
  if (shape === 'circle') return at
  const direction = Math.round(Math.atan2(dy, dx) / step) * step
  const along = dx * Math.cos(direction) + dy * Math.sin(direction)
  return imagePoint(from[0] + along * Math.cos(direction), from[1] + along * Math.sin(direction))
}
