import type { Vec2 } from '../geometry/vec.ts'
import type { Ink } from '../markup/mark.ts'
import type { Canvas2D } from './canvas.ts'
import { haloColour, inkColours, withAlpha } from './palette.ts'

/**
 * The shaft as it was reconstructed, laid back into the picture: a solid line from the hands end to the head end, and a
 * wedge from the hands to where the head would lie one standard deviation either way.
 * @param points hands end, head end, head end at -1 and at +1 standard deviation, on the canvas
 * @param width of the shaft's stroke, canvas pixels
 */
export function drawFan(ctx: Canvas2D, points: readonly Vec2[], width: number, unit: number, ink: Ink): void {
  const [hands, head, low, high] = points as [Vec2, Vec2, Vec2, Vec2]
  const colour = inkColours[ink]
  const wedge = (): void => {
    ctx.beginPath()
    ctx.moveTo(hands[0], hands[1])
    ctx.lineTo(low[0], low[1])
    ctx.lineTo(head[0], head[1])
    ctx.lineTo(high[0], high[1])
    ctx.closePath()
  }
  wedge()
  ctx.fillStyle = withAlpha(colour, 0.34)
  ctx.fill()
  wedge()
  ctx.lineWidth = Math.max(1, unit * 1.2)
  ctx.strokeStyle = withAlpha(inkColours.plain, 0.6)
  ctx.stroke()
  for (const [stroke, extra] of [[haloColour, 2 * Math.max(1, 0.9 * unit)], [colour, 0]] as const) {
    ctx.strokeStyle = stroke
    ctx.fillStyle = stroke
    ctx.lineWidth = width + extra
    ctx.beginPath()
    ctx.moveTo(hands[0], hands[1])
    ctx.lineTo(head[0], head[1])
    ctx.stroke()
    ctx.beginPath()
    ctx.arc(head[0], head[1], width * 1.25 + extra / 2, 0, 2 * Math.PI)
    ctx.fill()
  }
}
