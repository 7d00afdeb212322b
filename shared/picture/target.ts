import type { Vec2 } from '../geometry/vec.ts'
import type { Canvas2D } from './canvas.ts'

/** The filled head of the target line's arrow, its tip at a point, pointing up. */
export function drawArrowHead(ctx: Canvas2D, [x, y]: Vec2, size: number): void {
  ctx.beginPath()
  ctx.moveTo(x, y)
  ctx.lineTo(x - size * 0.26, y + size * 0.56)
  ctx.lineTo(x + size * 0.26, y + size * 0.56)
  ctx.closePath()
  ctx.fill()
}
