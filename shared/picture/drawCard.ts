import type { Canvas2D } from './canvas.ts'
import type { Size } from './layout.ts'
import { inkColours, paneBackground, pictureFont } from './palette.ts'

/** Words on a plain ground: what opens and closes a lesson. */
export interface CardWords {
  readonly title: string
  readonly lines: readonly string[]
}

/** Words of a text in rows no wider than `width`; one that is wider by itself has a row of its own. */
export function wrapped(ctx: Pick<Canvas2D, 'measureText'>, text: string, width: number): string[] {
  const rows: string[] = []
  for (const word of text.split(/\s+/).filter((each) => each !== '')) {
    const last = rows.at(-1)
    if (last !== undefined && ctx.measureText(`${last} ${word}`).width <= width) rows[rows.length - 1] = `${last} ${word}`
    else rows.push(word)
  }
  return rows
}

/**
 * Draws a card over the whole of a picture; the context's transform must be the identity. Type is as large as the words let
 * it be: a long list is set smaller until it fits.
 */
export function drawCard(ctx: Canvas2D, size: Size, card: CardWords): void {
  const unit = Math.min(size.width, size.height) / 1000
  const left = Math.round(size.width * 0.09)
  const room = { width: size.width - 2 * left, height: size.height * 0.84 }
  ctx.save()
  ctx.fillStyle = paneBackground
  ctx.fillRect(0, 0, size.width, size.height)
  ctx.textBaseline = 'alphabetic'
  ctx.textAlign = 'left'
  for (let part = 1; ; part *= 0.92) {
    const [big, small] = [78 * unit * part, 44 * unit * part]
    const titleFont = `600 ${big}px ${pictureFont}`
    const lineFont = `400 ${small}px ${pictureFont}`
    ctx.font = titleFont
    const title = wrapped(ctx, card.title, room.width)
    const widest = (rows: readonly string[]): number => Math.max(0, ...rows.map((row) => ctx.measureText(row).width))
    const titleWidth = widest(title)
    ctx.font = lineFont
    const lines = card.lines.flatMap((line) => (line.trim() === '' ? [''] : wrapped(ctx, line, room.width)))
    const between = title.length > 0 && lines.length > 0 ? 46 * unit * part : 0
    const height = title.length * big * 1.22 + between + lines.length * small * 1.42
    if (part > 0.35 && (height > room.height || Math.max(titleWidth, widest(lines)) > room.width)) continue
    let y = (size.height - height) / 2
    ctx.font = titleFont
    ctx.fillStyle = inkColours.plain
    for (const row of title) {
      ctx.fillText(row, left, y + big)
      y += big * 1.22
    }
    y += between
    ctx.font = lineFont
    ctx.fillStyle = '#C9C6BE'
    for (const row of lines) {
      ctx.fillText(row, left, y + small)
      y += small * 1.42
    }
    break
  }
  ctx.restore()
}
