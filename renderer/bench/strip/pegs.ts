import { secondsAt, xOf, type Axis, type Lane } from './axis.ts'

/** A position on a clip's strip. */
export interface Peg {
  readonly clipId: string
  /** Where it lies, in the clip's ticks, and one standard deviation of that. */
  readonly tick: number
  readonly sigmaTicks: number
  /** The digit that goes there. */
  readonly label: string
  readonly words: string
  /** Set by the coach; else found from points. */
  readonly isSet: boolean
}

/** Heads in CSS pixels. */
const head = 12
/** Over pictures, so the same in both themes. */
const light = '#F5F2EA'
const dark = '#0B0D0F'

/** Draws a lane's pegs: a line as wide as it is known, and a head with its digit; hollow where it was found. */
export function drawPegs(ctx: CanvasRenderingContext2D, axis: Axis, lane: Lane, pegs: readonly Peg[], top: number, height: number): void {
  ctx.font = '600 9px Inter, system-ui, sans-serif'
  ctx.textAlign = 'center'
  ctx.textBaseline = 'middle'
  for (const peg of pegs) {
    const x = xOf(axis, secondsAt(lane, peg.tick))
    const reach = xOf(axis, secondsAt(lane, peg.tick + peg.sigmaTicks)) - x
    ctx.fillStyle = light
    if (reach > 1) {
      ctx.globalAlpha = 0.3
      ctx.fillRect(x - reach, top, 2 * reach, height)
      ctx.globalAlpha = 1
    }
    ctx.fillRect(Math.round(x), top, 1, height)
    ctx.beginPath()
    ctx.roundRect(Math.round(x) - head / 2 + 0.5, top + height - head, head, head, 3)
    ctx.fillStyle = peg.isSet ? light : dark
    ctx.fill()
    ctx.lineWidth = 1
    ctx.strokeStyle = peg.isSet ? dark : light
    ctx.stroke()
    ctx.fillStyle = peg.isSet ? dark : light
    ctx.fillText(peg.label, Math.round(x) + 0.5, top + height - head / 2 + 0.5)
  }
  ctx.textAlign = 'left'
}

/** The peg whose head is under a point of the strip, the last drawn first. */
export function pegAt(axis: Axis, lane: Lane, pegs: readonly Peg[], top: number, height: number, x: number, y: number): Peg | undefined {
  if (y < top + height - head - 2 || y > top + height) return undefined
  return pegs.findLast((peg) => Math.abs(xOf(axis, secondsAt(lane, peg.tick)) - x) <= head / 2 + 1)
}
