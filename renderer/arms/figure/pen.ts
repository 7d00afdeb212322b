import type { Vec2 } from '../../../shared/geometry/vec.ts'
import { withAlpha } from '../../../shared/picture/palette.ts'

/** A colour as `#rrggbb`, and how much of it covers what lies below, 0 to 1. */
export interface Ink {
  readonly colour: string
  readonly alpha: number
}

/** Lengths of a stroke's drawn and open parts, CSS pixels. */
export type Dash = readonly [on: number, off: number]

/** What lines and areas over the figure are drawn with, in CSS pixels of its view; later ones lie above earlier ones. */
export interface Pen {
  stroke(points: readonly Vec2[], ink: Ink, width: number, dash?: Dash): void
  /** An area that is seen whole from its first point. */
  fill(points: readonly Vec2[], ink: Ink): void
}

/** A ring of straight pieces, short enough to look round. */
export function ring(pen: Pen, [x, y]: Vec2, radius: number, ink: Ink, width: number): void {
  const steps = 32
  pen.stroke(Array.from({ length: steps + 1 }, (_, i): Vec2 => {
    const angle = (2 * Math.PI * i) / steps
    return [x + radius * Math.cos(angle), y + radius * Math.sin(angle)]
  }), ink, width)
}

/** The pen of a 2D canvas: where there is no WebGL. */
export function canvasPen(ctx: CanvasRenderingContext2D): Pen {
  const trace = (points: readonly Vec2[]): void => {
    ctx.beginPath()
    points.forEach(([x, y], i) => (i === 0 ? ctx.moveTo(x, y) : ctx.lineTo(x, y)))
  }
  ctx.lineCap = 'butt'
  ctx.lineJoin = 'round'
  return {
    stroke(points, { colour, alpha }, width, dash) {
      trace(points)
      ctx.strokeStyle = withAlpha(colour, alpha)
      ctx.lineWidth = width
      ctx.setLineDash(dash ? [...dash] : [])
      ctx.stroke()
    },
    fill(points, { colour, alpha }) {
      trace(points)
      ctx.closePath()
      ctx.fillStyle = withAlpha(colour, alpha)
      ctx.fill()
    },
  }
}
