import { apply, type Affine } from '../geometry/affine.ts'
import { distance2, sub2, type CanvasPoint, type Vec2 } from '../geometry/vec.ts'
import type { Mark } from '../markup/mark.ts'
import { pictureAngle } from '../markup/pictureAngle.ts'
import type { Canvas2D } from './canvas.ts'
import { drawArms, drawFigurePlate } from './drawArms.ts'
import { drawFan } from './drawFan.ts'
import { drawMisses } from './drawMisses.ts'
import { drawPlan } from './drawPlan.ts'
import type { Rect } from './layout.ts'
import { haloColour, inkColours, pictureFont } from './palette.ts'

/** Where and how large marks are drawn. */
export interface MarkPlace {
  /** Image space to canvas. */
  readonly transform: Affine
  /** Where the picture shows in its pane; an endless line ends at its edges. */
  readonly rect: Rect
  /** Canvas pixels in a thousandth of the whole picture's short side: strokes and words are measured in it. */
  readonly unit: number
}

/** Draws one mark: a dark halo first, then the ink. The context's transform must be the identity. */
export function drawMark(ctx: Canvas2D, mark: Mark, place: MarkPlace): void {
  const points = mark.points.map((p) => apply(place.transform, p) as CanvasPoint)
  const width = mark.weight * place.unit
  const colour = inkColours[mark.ink]
  ctx.save()
  ctx.lineCap = 'round'
  ctx.lineJoin = 'round'
  if (mark.shape === 'text') {
    drawWords(ctx, mark.text, points[0]!, place.unit * 30, colour, 'left')
    ctx.restore()
    return
  }
  const plate = plates[mark.shape]
  if (plate) {
    plate(ctx, mark, points, place)
    ctx.restore()
    return
  }
  if (mark.shape === 'fan') drawFan(ctx, points, width, place.unit, mark.ink)
  else if (mark.shape === 'arms') drawArms(ctx, mark, points, width)
  else for (const layer of ['halo', 'ink'] as const) {
    ctx.strokeStyle = layer === 'halo' ? haloColour : colour
    ctx.fillStyle = layer === 'halo' ? haloColour : colour
    ctx.lineWidth = layer === 'halo' ? width + 2 * Math.max(1, 0.9 * place.unit) : width
    ctx.setLineDash(mark.dashed && layer === 'ink' ? [width * 3, width * 2.4] : [])
    stroke(ctx, mark, points, width, place)
  }
  ctx.setLineDash([])
  if (mark.shape === 'angle') drawAngleWords(ctx, mark, points, place, colour)
  if (mark.text !== '') drawWords(ctx, mark.text, captionPlace(mark, points, place), place.unit * 24, colour, 'left', place.rect)
  ctx.restore()
}

const plates: Partial<Record<Mark['shape'], (ctx: Canvas2D, mark: Mark, points: readonly Vec2[], place: MarkPlace) => void>> = {
  plan: drawPlan, figure: drawFigurePlate, misses: drawMisses,
}

function stroke(ctx: Canvas2D, mark: Mark, points: readonly Vec2[], width: number, place: MarkPlace): void {
  const [a, b] = points as [Vec2, Vec2]
  switch (mark.shape) {
    case 'line': {
      const ends = toEdges(a, b, place.rect)
      if (ends) trace(ctx, ends)
      break
    }
    case 'segment':
    case 'polyline':
      trace(ctx, points)
      break
    case 'freehand':
      traceSmooth(ctx, points)
      break
    case 'arrow':
      drawArrow(ctx, a, b, width)
      break
    case 'box':
      ctx.beginPath()
      ctx.rect(Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.abs(b[0] - a[0]), Math.abs(b[1] - a[1]))
      ctx.stroke()
      break
    case 'circle':
      ctx.beginPath()
      ctx.arc(a[0], a[1], distance2(a, b), 0, 2 * Math.PI)
      ctx.stroke()
      break
    case 'dot':
      ctx.beginPath()
      ctx.arc(a[0], a[1], ctx.lineWidth * 1.4, 0, 2 * Math.PI)
      ctx.fill()
      break
    case 'angle': {
      trace(ctx, points)
      const [arm, vertex, other] = points as [Vec2, Vec2, Vec2]
      const radius = angleRadius(arm, vertex, other)
      const { start, turn } = angleSweep(arm, vertex, other)
      ctx.beginPath()
      ctx.arc(vertex[0], vertex[1], radius, start, start + turn, turn < 0)
      ctx.stroke()
      break
    }
    case 'text':
    case 'fan':
    case 'arms':
    case 'plan':
    case 'figure':
    case 'misses':
      break
  }
}

function trace(ctx: Canvas2D, points: readonly Vec2[]): void {
  ctx.beginPath()
  points.forEach(([x, y], i) => (i === 0 ? ctx.moveTo(x, y) : ctx.lineTo(x, y)))
  ctx.stroke()
}

/** Through the midpoints of a hand-drawn path, with its points as the curves' handles. */
function traceSmooth(ctx: Canvas2D, points: readonly Vec2[]): void {
  if (points.length < 3) return trace(ctx, points)
  ctx.beginPath()
  ctx.moveTo(points[0]![0], points[0]![1])
  for (let i = 1; i < points.length - 1; i++) {
    const p = points[i]!
    const q = points[i + 1]!
    const last = i === points.length - 2
    ctx.quadraticCurveTo(p[0], p[1], last ? q[0] : (p[0] + q[0]) / 2, last ? q[1] : (p[1] + q[1]) / 2)
  }
  ctx.stroke()
}

function drawArrow(ctx: Canvas2D, tail: Vec2, head: Vec2, width: number): void {
  const length = distance2(tail, head)
  if (length === 0) return
  const [ux, uy] = [(head[0] - tail[0]) / length, (head[1] - tail[1]) / length]
  const barb = Math.min(width * 4.5, length * 0.6)
  const base: Vec2 = [head[0] - ux * barb, head[1] - uy * barb]
  trace(ctx, [tail, base])
  ctx.beginPath()
  ctx.moveTo(head[0], head[1])
  ctx.lineTo(base[0] - uy * barb * 0.5, base[1] + ux * barb * 0.5)
  ctx.lineTo(base[0] + uy * barb * 0.5, base[1] - ux * barb * 0.5)
  ctx.closePath()
  ctx.stroke()
  ctx.fill()
}

/** The part of the endless line through a and b that lies in the rectangle, or null where it misses it or a = b. */
export function toEdges(a: Vec2, b: Vec2, rect: Rect): readonly [Vec2, Vec2] | null {
  const [dx, dy] = sub2(b, a)
  if (dx === 0 && dy === 0) return null
  let from = -Infinity
  let to = Infinity
  for (const [origin, step, low, high] of [[a[0], dx, rect.x, rect.x + rect.width], [a[1], dy, rect.y, rect.y + rect.height]] as const) {
    if (step === 0) {
      if (origin < low || origin > high) return null
      continue
    }
    const one = (low - origin) / step
    const two = (high - origin) / step
    from = Math.max(from, Math.min(one, two))
    to = Math.min(to, Math.max(one, two))
  }
  return from < to ? [[a[0] + dx * from, a[1] + dy * from], [a[0] + dx * to, a[1] + dy * to]] : null
}

const angleRadius = (arm: Vec2, vertex: Vec2, other: Vec2): number => 0.35 * Math.min(distance2(arm, vertex), distance2(other, vertex))

/** From the first arm to the other the short way round; turn in (-pi, pi]. */
function angleSweep(arm: Vec2, vertex: Vec2, other: Vec2): { start: number; turn: number } {
  const start = Math.atan2(arm[1] - vertex[1], arm[0] - vertex[0])
  const end = Math.atan2(other[1] - vertex[1], other[0] - vertex[0])
  let turn = end - start
  if (turn > Math.PI) turn -= 2 * Math.PI
  if (turn <= -Math.PI) turn += 2 * Math.PI
  return { start, turn }
}

/** The angle's size with its error, read in the picture. */
function drawAngleWords(ctx: Canvas2D, mark: Mark, points: readonly Vec2[], { unit, rect }: MarkPlace, colour: string): void {
  const [arm, vertex, other] = points as [Vec2, Vec2, Vec2]
  const reading = pictureAngle(mark.points as [Vec2, Vec2, Vec2])
  if (!reading) return
  const { start, turn } = angleSweep(arm, vertex, other)
  const middle = start + turn / 2
  const away = angleRadius(arm, vertex, other) + unit * 40
  const words = `${Math.round(reading.degrees)} ± ${Math.max(1, Math.round(reading.sigma))}°`
  drawWords(ctx, words, [vertex[0] + Math.cos(middle) * away, vertex[1] + Math.sin(middle) * away], unit * 24, colour, 'center', rect)
}

function captionPlace(mark: Mark, points: readonly Vec2[], place: MarkPlace): Vec2 {
  const [a, b] = points as [Vec2, Vec2 | undefined]
  const unit = place.unit
  if (mark.shape === 'box' && b) return [Math.min(a[0], b[0]), Math.min(a[1], b[1]) - unit * 44]
  if (mark.shape === 'circle' && b) return [a[0] - distance2(a, b), a[1] - distance2(a, b) - unit * 44]
  // Over the arms, where the picture has sky or wall, not on the body.
  if (mark.shape === 'arms') return [Math.min(...points.map((p) => p[0])), Math.min(...points.map((p) => p[1])) - unit * 96]
  const end = mark.shape === 'fan' ? points[1]! : points[points.length - 1]!
  return [end[0] + unit * 12, end[1] - unit * 34]
}

/**
 * Words on a dark plate, with a strip of the mark's ink at their left: warm white reads at any size, which the darker
 * inks do not. `at` is the plate's top left corner, or its middle where centred. Line feeds break lines. A plate whose
 * place lies in `within` is shifted until all of it does, as far as it fits.
 */
export function drawWords(ctx: Canvas2D, text: string, at: Vec2, size: number, colour: string, align: 'left' | 'center', within: Rect | null = null): void {
  ctx.font = `600 ${size.toFixed(2)}px ${pictureFont}`
  ctx.textBaseline = 'middle'
  ctx.textAlign = 'left'
  const lines = text.split('\n')
  const widest = Math.max(...lines.map((line) => ctx.measureText(line).width))
  const pad = size * 0.36
  const strip = size * 0.2
  const width = widest + 2 * pad + strip
  const height = lines.length * size * 1.28 + pad
  const inside = within !== null && at[0] >= within.x && at[0] <= within.x + within.width && at[1] >= within.y - height && at[1] <= within.y + within.height
  const hold = (start: number, length: number, from: number, whole: number): number => (inside ? Math.max(from, Math.min(start, from + whole - length)) : start)
  const x = hold(align === 'left' ? at[0] : at[0] - width / 2, width, within?.x ?? 0, within?.width ?? 0)
  const y = hold(align === 'left' ? at[1] : at[1] - height / 2, height, within?.y ?? 0, within?.height ?? 0)
  ctx.fillStyle = haloColour
  ctx.beginPath()
  ctx.roundRect(x, y, width, height, size * 0.28)
  ctx.fill()
  ctx.fillStyle = colour
  ctx.beginPath()
  ctx.roundRect(x + pad * 0.5, y + pad * 0.8, strip, height - pad * 1.6, strip / 2)
  ctx.fill()
  ctx.fillStyle = inkColours.plain
  lines.forEach((line, i) => ctx.fillText(line, x + pad + strip, y + pad / 2 + size * 1.28 * (i + 0.5)))
}
