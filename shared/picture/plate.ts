import type { Vec2 } from '../geometry/vec.ts'
import type { Ink } from '../markup/mark.ts'
import type { Canvas2D } from './canvas.ts'
import type { Rect } from './layout.ts'
import { inkColours, pictureFont } from './palette.ts'

/** A dark plate on the picture: a drawing above, a sentence and lines of numbers below, all as large as the plate lets them be. */

export interface PlateLine {
  /** A swatch at the left; null for none. */
  readonly ink: Ink | null
  readonly name: string
  /** Columns of numbers from the left; the last ends at the plate's edge. */
  readonly numbers: readonly string[]
}

export interface PlateWords {
  readonly verdict: readonly string[]
  /** Over the columns; null for none. */
  readonly heading: PlateLine | null
  readonly lines: readonly PlateLine[]
  /** Sentences with the sign of a warning. */
  readonly warnings: readonly string[]
}

export const plateFont = (size: number, weight = 600): string => `${weight} ${size.toFixed(2)}px ${pictureFont}`

export function rectOf([a, b]: readonly [Vec2, Vec2]): Rect {
  return { x: Math.min(a[0], b[0]), y: Math.min(a[1], b[1]), width: Math.abs(b[0] - a[0]), height: Math.abs(b[1] - a[1]) }
}

const numberGap = 1.1
const leading = 1.36

/** Draws the ground and the words; returns the room left for the drawing and the size of the words, or null where nothing fits. */
export function drawPlate(ctx: Canvas2D, plate: Rect, unit: number, words: PlateWords): { readonly drawing: Rect; readonly size: number } | null {
  const { x, y, width, height } = plate
  ctx.fillStyle = 'rgba(8, 10, 12, 0.8)'
  ctx.beginPath()
  ctx.roundRect(x, y, width, height, Math.min(unit * 10, width / 8, height / 8))
  ctx.fill()
  if (width < 8 || height < 8) return null
  const pad = Math.min(width, height) * 0.055
  const rows = [...(words.heading ? [words.heading] : []), ...words.lines]
  let size = Math.min(height * 0.07, width * 0.085)
  const columns = Math.max(0, ...rows.map((row) => row.numbers.length))
  const measured = measure(ctx, words, rows, columns, size)
  size = Math.min(size, (size * (width - 2 * pad)) / Math.max(1, measured.widest))
  const line = size * leading
  const count = rows.length + words.warnings.length + words.verdict.length * 1.15
  const wordsHeight = Math.min(count * line, height * 0.7)
  const scale = size / measured.size
  let at = y + height - pad - count * line
  at = Math.max(at, y + pad)
  ctx.textBaseline = 'middle'
  const text = (words: string, left: number, middle: number, font: string, align: 'left' | 'right' = 'left'): void => {
    ctx.font = font
    ctx.textAlign = align
    ctx.fillText(words, left, middle)
  }
  ctx.fillStyle = inkColours.plain
  for (const sentence of words.verdict) {
    text(sentence, x + pad, at + line * 0.55, plateFont(size * 1.12))
    at += line * 1.15
  }
  for (const row of rows) {
    const middle = at + line / 2
    if (row.ink) {
      ctx.fillStyle = inkColours[row.ink]
      ctx.beginPath()
      ctx.roundRect(x + pad, middle - size * 0.16, size, size * 0.32, size * 0.16)
      ctx.fill()
    }
    ctx.fillStyle = inkColours.plain
    const isHeading = row === words.heading
    text(row.name, x + pad + (rows.some(({ ink }) => ink) ? size * 1.35 : 0), middle, plateFont(size, 400))
    row.numbers.forEach((number, i) => {
      const fromRight = measured.columns.slice(i + 1).reduce((sum, w) => sum + w * scale + size * numberGap, 0)
      text(number, x + width - pad - fromRight, middle, plateFont(size, isHeading ? 400 : 600), 'right')
    })
    at += line
  }
  for (const warning of words.warnings) {
    const middle = at + line / 2
    drawSign(ctx, [x + pad + size * 0.5, middle], size * 0.95)
    ctx.fillStyle = inkColours.plain
    text(warning, x + pad + size * 1.35, middle, plateFont(size, 400))
    at += line
  }
  return { drawing: { x: x + pad, y: y + pad, width: width - 2 * pad, height: Math.max(height - 3 * pad - wordsHeight, height * 0.2) }, size }
}

/** Widths at a size: of the widest line, and of each column. */
function measure(ctx: Canvas2D, words: PlateWords, rows: readonly PlateLine[], count: number, size: number): { readonly widest: number; readonly columns: readonly number[]; readonly size: number } {
  ctx.font = plateFont(size)
  const wide = (text: string): number => ctx.measureText(text).width
  const columns = Array.from({ length: count }, (_, i) => Math.max(...rows.map((row) => wide(row.numbers[i] ?? ''))))
  const names = Math.max(0, ...rows.map((row) => wide(row.name)))
  const swatch = rows.some(({ ink }) => ink) ? size * 1.35 : 0
  const widest = Math.max(
    swatch + names + columns.reduce((sum, w) => sum + w + size * numberGap, 0),
    ...words.verdict.map((line) => wide(line) * 1.12), ...words.warnings.map((line) => wide(line) + size * 1.35),
  )
  return { widest, columns, size }
}

/** The sign of a warning: a triangle with a stroke and a dot in it, centred on a point. */
export function drawSign(ctx: Canvas2D, [x, y]: Vec2, size: number): void {
  const half = size * 0.56
  ctx.lineJoin = 'round'
  ctx.setLineDash([])
  ctx.beginPath()
  ctx.moveTo(x, y - half)
  ctx.lineTo(x + half, y + half * 0.85)
  ctx.lineTo(x - half, y + half * 0.85)
  ctx.closePath()
  ctx.fillStyle = inkColours.plain
  ctx.strokeStyle = 'rgba(8, 10, 12, 0.9)'
  ctx.lineWidth = size * 0.24
  ctx.stroke()
  ctx.fill()
  ctx.fillStyle = '#0B0D0F'
  ctx.fillRect(x - size * 0.06, y - half * 0.42, size * 0.12, half * 0.66)
  ctx.fillRect(x - size * 0.06, y + half * 0.42, size * 0.12, size * 0.12)
}

/** `+18.2 \u00b1 1.1\u00b0`, as many decimals as the error is worth. */
export function numberWords({ value, sigma }: { readonly value: number; readonly sigma: number }, unit: string, signed = true): string {
  const decimals = sigma < 3 ? 1 : 0
  const digits = Math.abs(value).toFixed(decimals)
  const sign = Number(digits) === 0 ? '' : value < 0 ? '\u2212' : signed ? '+' : ''
  return `${sign}${digits} \u00b1 ${Math.max(sigma, 0.1).toFixed(decimals)}${unit}`
}
