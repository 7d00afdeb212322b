import { wholePercents } from '../flight/wholePercents.ts'
import type { Vec2 } from '../geometry/vec.ts'
import { missAt } from '../flight/launch.ts'
import type { Misses } from '../markup/figure.ts'
import type { Mark } from '../markup/mark.ts'
import type { Canvas2D } from './canvas.ts'
import type { MarkPlace } from './drawMark.ts'
import type { Rect } from './layout.ts'
import { inkColours, withAlpha } from './palette.ts'
import { drawArrowHead } from './target.ts'
import { drawPlate, numberWords, plateFont, rectOf, type PlateLine } from './plate.ts'
import { wrapped } from './drawArms.ts'

export interface MissGeometry {
  readonly ball: Vec2
  /** Where the target line meets the distance. */
  readonly target: Vec2
  /** Canvas pixels a unit of length, the same along and across: the fan is to scale. */
  readonly scale: number
  /** Where each ball is when it has gone the distance along the line. */
  readonly landings: readonly Vec2[]
  /** The strip above, in which the same misses stand enlarged: pixels a unit of length across, and its rectangle. */
  readonly strip: Rect
  readonly stripScale: number
  /** 1 where the push side is drawn on the right, -1 on the left. */
  readonly pushSide: 1 | -1
}

const niceSteps = [1, 2, 5, 10, 20, 50, 100, 200]

/** Lays the fan into a rectangle: the ball below, the target up, the push side on the ball's side as seen in this picture. */
export function missGeometry({ distance, starts, handedness }: Misses, { x, y, width, height }: Rect, mirrored: boolean): MissGeometry {
  const pushSide = (handedness === 'left') !== mirrored ? -1 : 1
  const misses = starts.map((start) => missAt(distance, start))
  const widest = Math.max(distance * 0.02, ...misses.map(Math.abs))
  const stripHeight = height * 0.2
  const gap = height * 0.1
  const bottom = y + height * 0.985
  const top = y + stripHeight + gap
  const scale = Math.min((bottom - top) / distance, (width * 0.48) / widest)
  const ball: Vec2 = [x + width / 2, bottom]
  const target: Vec2 = [ball[0], bottom - distance * scale]
  return {
    ball, target, scale, pushSide,
    landings: misses.map((miss): Vec2 => [ball[0] + pushSide * miss * scale, target[1]]),
    strip: { x, y, width, height: stripHeight },
    stripScale: (width * 0.47) / widest,
  }
}

/** The fan from above, to scale, with the landings enlarged in a strip over it. */
export function drawMissFan(ctx: Canvas2D, misses: Misses, box: Rect, size: number, mirrored: boolean): void {
  const fan = missGeometry(misses, box, mirrored)
  const { ball, target, strip, stripScale, pushSide, landings } = fan
  ctx.setLineDash([])
  ctx.lineCap = 'round'
  ctx.strokeStyle = withAlpha(inkColours.club, Math.min(0.5, Math.max(0.09, 24 / landings.length)))
  ctx.lineWidth = Math.max(1, size * 0.09)
  for (const [lx, ly] of landings) {
    ctx.beginPath()
    ctx.moveTo(ball[0], ball[1])
    ctx.lineTo(lx, ly)
    ctx.stroke()
  }
  ctx.strokeStyle = withAlpha(inkColours.plain, 0.8)
  ctx.lineWidth = Math.max(1, size * 0.08)
  ctx.setLineDash([size * 0.4, size * 0.32])
  ctx.beginPath()
  ctx.moveTo(ball[0], ball[1])
  ctx.lineTo(target[0], target[1])
  ctx.stroke()
  ctx.setLineDash([])
  ctx.fillStyle = withAlpha(inkColours.plain, 0.9)
  drawArrowHead(ctx, target, size)
  ctx.beginPath()
  ctx.arc(ball[0], ball[1], Math.max(2, size * 0.26), 0, 2 * Math.PI)
  ctx.fill()

  // Two lines lead from the fan's ends to the strip, in which the same misses stand enlarged.
  const xs = landings.map(([lx]) => lx)
  const ends = [Math.min(...xs), Math.max(...xs)] as const
  ctx.strokeStyle = withAlpha(inkColours.plain, 0.3)
  ctx.lineWidth = 1
  for (const end of ends) {
    ctx.beginPath()
    ctx.moveTo(end, target[1])
    ctx.lineTo(ball[0] + ((end - ball[0]) * stripScale) / fan.scale, strip.y + strip.height)
    ctx.stroke()
  }
  drawStrip(ctx, misses, fan, size)
  ctx.font = plateFont(size * 0.8, 400)
  ctx.textBaseline = 'middle'
  ctx.fillStyle = withAlpha(inkColours.plain, 0.85)
  const middle = (target[1] + ball[1]) / 2
  ctx.textAlign = 'left'
  ctx.fillText(pushSide > 0 ? 'pull side' : 'push side', box.x, middle)
  ctx.fillText(`${misses.distance} ${misses.unit}, to scale`, box.x, ball[1] - size * 0.4)
  ctx.textAlign = 'right'
  ctx.fillText(pushSide > 0 ? 'push side' : 'pull side', box.x + box.width, middle)
}

/** The landings as stacks of dots over a ruler that is marked in the distance's unit. */
function drawStrip(ctx: Canvas2D, { starts, distance, unit }: Misses, { strip, stripScale, pushSide, ball }: MissGeometry, size: number): void {
  const dot = Math.max(1.6, size * 0.15)
  const stacks = new Map<number, number>()
  const base = strip.y + strip.height - size * 1.35
  const misses = starts.map((start) => missAt(distance, start))
  const highest = stackHeights(misses, (2 * dot) / stripScale)
  const rise = Math.min(2 * dot, (base - strip.y - dot) / Math.max(1, highest))
  for (const miss of misses) {
    const bin = Math.round((miss * stripScale) / (2 * dot))
    const n = stacks.get(bin) ?? 0
    stacks.set(bin, n + 1)
    ctx.fillStyle = inkColours.club
    ctx.beginPath()
    ctx.arc(ball[0] + pushSide * bin * 2 * dot, base - dot * 1.3 - n * rise, dot * 0.92, 0, 2 * Math.PI)
    ctx.fill()
  }
  ctx.strokeStyle = withAlpha(inkColours.plain, 0.8)
  ctx.fillStyle = withAlpha(inkColours.plain, 0.9)
  ctx.lineWidth = Math.max(1, size * 0.08)
  const line = (x0: number, y0: number, x1: number, y1: number): void => {
    ctx.beginPath()
    ctx.moveTo(x0, y0)
    ctx.lineTo(x1, y1)
    ctx.stroke()
  }
  line(strip.x, base, strip.x + strip.width, base)
  const reach = (strip.width * 0.5) / stripScale
  const step = niceSteps.find((each) => reach / each <= 3.2) ?? 500
  ctx.font = plateFont(size * 0.78, 400)
  ctx.textAlign = 'center'
  ctx.textBaseline = 'middle'
  for (let at = -Math.floor(reach / step); at <= Math.floor(reach / step); at++) {
    const x = ball[0] + pushSide * at * step * stripScale
    line(x, base, x, base + size * 0.28)
    const words = at === 0 ? 'target' : `${Math.abs(at) * step} ${unit}`
    if (x - ctx.measureText(words).width / 2 >= strip.x && x + ctx.measureText(words).width / 2 <= strip.x + strip.width) ctx.fillText(words, x, base + size * 0.85)
  }
}

/** The most that fall into one bin of this width. */
function stackHeights(values: readonly number[], bin: number): number {
  const counts = new Map<number, number>()
  for (const value of values) counts.set(Math.round(value / bin), (counts.get(Math.round(value / bin)) ?? 0) + 1)
  return Math.max(0, ...counts.values())
}

/** The numbers of a fan, a line each. */
export function missLines(misses: Misses): readonly PlateLine[] {
  const { start, startSpread, missSpread, unit, distance, pull, push } = misses
  const [toPull, toPush] = wholePercents([pull.share, push.share])
  const side = (percent: number, { typical }: Misses['pull']): string => `${percent} %, typically ${typical < 10 ? typical.toFixed(1) : Math.round(typical)} ${unit}`
  return [
    { ink: null, name: 'starts', numbers: [numberWords(start, '\u00b0')] },
    { ink: null, name: 'spread', numbers: [numberWords(startSpread, '\u00b0', false)] },
    { ink: null, name: `spread at ${distance} ${unit}`, numbers: [numberWords(missSpread, ` ${unit}`, false)] },
    { ink: null, name: 'pull side', numbers: [side(toPull!, pull)] },
    { ink: null, name: 'push side', numbers: [side(toPush!, push)] },
  ]
}

/** A plate with the fan, the sentence and the numbers. Scales with its box. */
export function drawMisses(ctx: Canvas2D, mark: Mark, points: readonly Vec2[], { transform, unit }: MarkPlace): void {
  const { misses } = mark
  const room = drawPlate(ctx, rectOf(points as [Vec2, Vec2]), unit, misses ? { verdict: wrapped(misses.verdict), heading: null, lines: missLines(misses), warnings: [] } : { verdict: [], heading: null, lines: [], warnings: [] })
  if (misses && room) drawMissFan(ctx, misses, room.drawing, room.size, transform.a < 0)
}
