import type { Vec2 } from '../geometry/vec.ts'
import type { Mark, MarkReading } from '../markup/mark.ts'
import type { Canvas2D } from './canvas.ts'
import type { MarkPlace } from './drawMark.ts'
import type { Rect } from './layout.ts'
import { haloColour, inkColours, pictureFont, withAlpha } from './palette.ts'

/** A shaft seen from above: from the hands to its head, and its head one standard deviation either way. */
export interface PlanShaft {
  readonly head: Vec2
  readonly low: Vec2
  readonly high: Vec2
}

export interface PlanGeometry {
  readonly hands: Vec2
  /** Ends of the target line; the target lies beyond the second. */
  readonly targetLine: readonly [Vec2, Vec2]
  readonly now: PlanShaft
  readonly level: PlanShaft | null
  /** 1 where the ball's side is drawn on the right, -1 on the left. */
  readonly ballSide: 1 | -1
}

/**
 * Lays the view from above into a rectangle: the target up, the ball's side to the right for a right-hander and to the left
 * for a left-hander, angles as they are. A mirrored picture mirrors it, so that it agrees with what is seen.
 */
export function planGeometry(reading: MarkReading, { x, y, width, height }: Rect, mirrored: boolean): PlanGeometry {
  const ballSide = (reading.handedness === 'left') !== mirrored ? -1 : 1
  const angles = [reading.azimuth, ...(reading.atLevel ? [reading.atLevel] : [])]
  const isForward = angles.every(({ value, sigma }) => Math.abs(value) + sigma < 80)
  const hands: Vec2 = [x + width / 2, isForward ? y + height * 0.94 : y + height / 2]
  const reach = Math.min(isForward ? height * 0.84 : height * 0.44, width * 0.48)
  const at = (degrees: number, length: number): Vec2 => {
    const a = (degrees * Math.PI) / 180
    return [hands[0] + ballSide * length * Math.sin(a), hands[1] - length * Math.cos(a)]
  }
  // What it would be at level is drawn shorter, so that both are seen where they agree.
  const shaft = ({ value, sigma }: { readonly value: number; readonly sigma: number }, length: number): PlanShaft => {
    const spread = Math.min(sigma, 90)
    return { head: at(value, length), low: at(value - spread, length), high: at(value + spread, length) }
  }
  return {
    hands, ballSide,
    targetLine: [[hands[0], y + height], [hands[0], y]],
    now: shaft(reading.azimuth, reach),
    level: reading.atLevel && shaft(reading.atLevel, reach * 0.8),
  }
}

/** `+18.2 ± 1.1°`, as many decimals as the error is worth. */
function angleWords({ value, sigma }: { readonly value: number; readonly sigma: number }): string {
  const decimals = sigma < 3 ? 1 : 0
  const digits = Math.abs(value).toFixed(decimals)
  return `${Number(digits) === 0 ? '' : value < 0 ? '\u2212' : '+'}${digits} \u00b1 ${Math.max(sigma, 0.1).toFixed(decimals)}\u00b0`
}

/** The lines under the drawing: an ink as its swatch, what it is, and the number. */
function rowsOf(reading: MarkReading): { readonly ink: 'club' | 'reference' | null; readonly name: string; readonly number: string }[] {
  const { short } = reading
  return [
    { ink: 'club', name: 'as it is', number: angleWords(reading.azimuth) },
    ...(reading.atLevel ? [{ ink: 'reference' as const, name: 'at level', number: angleWords(reading.atLevel) }] : []),
    ...(short ? [{ ink: null, name: short.value < 0 ? 'past level' : 'short of level', number: angleWords({ ...short, value: Math.abs(short.value) }).replace('+', '') }] : []),
  ]
}

/** The plate: the view from above, the verdict in words, and the digits with their errors. Scales with its box. */
export function drawPlan(ctx: Canvas2D, mark: Mark, points: readonly Vec2[], { transform, unit }: MarkPlace): void {
  const [a, b] = points as [Vec2, Vec2]
  const plate: Rect = { x: Math.min(a[0], b[0]), y: Math.min(a[1], b[1]), width: Math.abs(b[0] - a[0]), height: Math.abs(b[1] - a[1]) }
  const { x, y, width, height } = plate
  ctx.fillStyle = 'rgba(8, 10, 12, 0.8)'
  ctx.beginPath()
  ctx.roundRect(x, y, width, height, Math.min(unit * 10, width / 8, height / 8))
  ctx.fill()
  const reading = mark.reading ?? null
  if (!reading || width < 8 || height < 8) return
  const rows = rowsOf(reading)
  const pad = Math.min(width, height) * 0.055
  const font = (size: number, weight = 600): string => `${weight} ${size.toFixed(2)}px ${pictureFont}`
  const verdict = wrapVerdict(reading.verdict)
  // Words as large as the plate lets them be.
  let size = Math.min(height * 0.075, width * 0.085)
  ctx.font = font(size)
  const widest = Math.max(...rows.map((row) => ctx.measureText(row.name).width + ctx.measureText(row.number).width + size * 2.2), ...verdict.map((line) => ctx.measureText(line).width * 1.12))
  size = Math.min(size, (size * (width - 2 * pad)) / widest)
  const line = size * 1.36
  const wordsHeight = (rows.length + verdict.length * 1.15) * line
  const drawing: Rect = { x: x + pad, y: y + pad, width: width - 2 * pad, height: Math.max(height - 3 * pad - wordsHeight, height * 0.2) }
  drawFromAbove(ctx, planGeometry(reading, drawing, transform.a < 0), drawing, size, font)

  ctx.textBaseline = 'middle'
  ctx.textAlign = 'left'
  let at = y + height - pad - wordsHeight
  ctx.fillStyle = inkColours.plain
  ctx.font = font(size * 1.12)
  for (const text of verdict) {
    ctx.fillText(text, x + pad, at + line * 0.55)
    at += line * 1.15
  }
  for (const { ink, name, number } of rows) {
    const middle = at + line / 2
    if (ink) {
      ctx.fillStyle = inkColours[ink]
      ctx.beginPath()
      ctx.roundRect(x + pad, middle - size * 0.16, size, size * 0.32, size * 0.16)
      ctx.fill()
    }
    ctx.fillStyle = inkColours.plain
    ctx.font = font(size, 400)
    ctx.textAlign = 'left'
    ctx.fillText(name, x + pad + size * 1.35, middle)
    ctx.font = font(size)
    ctx.textAlign = 'right'
    ctx.fillText(number, x + width - pad, middle)
    at += line
  }
}

/** A verdict of two parts stands on two lines. */
const wrapVerdict = (verdict: string): string[] => {
  const [first, ...rest] = verdict.split(', ')
  return [`${first![0]?.toUpperCase() ?? ''}${first!.slice(1)}${rest.length ? ',' : ''}`, ...(rest.length ? [rest.join(', ')] : [])]
}

function drawFromAbove(ctx: Canvas2D, plan: PlanGeometry, box: Rect, size: number, font: (size: number, weight?: number) => string): void {
  const { hands, targetLine: [from, to], now, level, ballSide } = plan
  const stroke = Math.max(1.5, size * 0.2)
  ctx.strokeStyle = withAlpha(inkColours.plain, 0.75)
  ctx.fillStyle = withAlpha(inkColours.plain, 0.75)
  ctx.lineWidth = Math.max(1, stroke * 0.4)
  ctx.setLineDash([size * 0.4, size * 0.32])
  ctx.beginPath()
  ctx.moveTo(from[0], from[1])
  ctx.lineTo(to[0], to[1] + size * 0.5)
  ctx.stroke()
  ctx.setLineDash([])
  ctx.beginPath()
  ctx.moveTo(to[0], to[1])
  ctx.lineTo(to[0] - size * 0.26, to[1] + size * 0.56)
  ctx.lineTo(to[0] + size * 0.26, to[1] + size * 0.56)
  ctx.closePath()
  ctx.fill()
  // Words keep to the side that the shaft leaves free.
  ctx.font = font(size * 0.8, 400)
  ctx.textBaseline = 'middle'
  const free = now.head[0] > hands[0] ? -1 : 1
  ctx.textAlign = free < 0 ? 'right' : 'left'
  ctx.fillText('target', to[0] + free * size * 0.55, to[1] + size * 0.4)
  ctx.textAlign = ballSide > 0 ? 'right' : 'left'
  ctx.fillText('ball\u2019s side', ballSide > 0 ? box.x + box.width : box.x, box.y + box.height - size * 0.45)

  const shafts = [[now, 'club', stroke], ...(level ? [[level, 'reference', stroke] as const] : [])] as const
  for (const [shaft, ink] of shafts) {
    ctx.fillStyle = withAlpha(inkColours[ink], 0.42)
    ctx.beginPath()
    ctx.moveTo(hands[0], hands[1])
    ctx.lineTo(shaft.low[0], shaft.low[1])
    ctx.lineTo(shaft.head[0], shaft.head[1])
    ctx.lineTo(shaft.high[0], shaft.high[1])
    ctx.closePath()
    ctx.fill()
  }
  for (const [shaft, ink, width] of shafts) {
    // The blue of the reference is dark: on the dark plate it has a light rim.
    for (const [colour, extra] of [[ink === 'reference' ? withAlpha(inkColours.plain, 0.6) : haloColour, 2], [inkColours[ink], 0]] as const) {
      ctx.strokeStyle = colour
      ctx.fillStyle = colour
      ctx.lineWidth = width + extra
      ctx.beginPath()
      ctx.moveTo(hands[0], hands[1])
      ctx.lineTo(shaft.head[0], shaft.head[1])
      ctx.stroke()
      ctx.beginPath()
      ctx.arc(shaft.head[0], shaft.head[1], width * 1.1 + extra / 2, 0, 2 * Math.PI)
      ctx.fill()
    }
  }
  ctx.fillStyle = inkColours.plain
  ctx.beginPath()
  ctx.arc(hands[0], hands[1], stroke * 0.9, 0, 2 * Math.PI)
  ctx.fill()
}
