import { toMs } from '../../../shared/walkthrough/edits.ts'
import type { OutSpan } from '../../../shared/walkthrough/editPieces.ts'
import type { PlacedChapter, PlacedPiece, Programme } from '../../../shared/walkthrough/programme.ts'
import { happenings, type Happening } from '../happenings.ts'

export interface LaneInput {
  readonly programme: Programme
  readonly chapters: readonly PlacedChapter[]
  /** Spans over which marks were set right, samples, each with the fix's id. */
  readonly fixes: readonly { readonly id: string; readonly span: OutSpan }[]
  /** What a take is called. */
  readonly nameOf: (takeId: string) => string
  readonly fromMs: number
  readonly toMs: number
  /** A heading on the move. */
  readonly moving?: { readonly id: string; readonly ms: number } | null
}

export type LaneHit =
  | { readonly kind: 'chapter'; readonly id: string; readonly ms: number }
  | { readonly kind: 'piece'; readonly placed: PlacedPiece }
  | { readonly kind: 'fix'; readonly id: string; readonly ms: number }

const rowOf: Readonly<Record<Happening, number>> = { mark: 0, move: 1, pane: 2 }

/** Rows from the top: headings, pieces, marks set right, then what happens on the stage in three thin ones. */
export const laneHeights = { chapters: 18, pieces: 18, fixes: 6, event: 5, all: 18 + 18 + 6 + 3 * 6 + 2 } as const
const piecesTop = laneHeights.chapters
const fixesTop = piecesTop + laneHeights.pieces
const eventsTop = fixesTop + laneHeights.fixes

/** What lies under a point of the lanes, `y` from their top; `nearMs` is how far beside a heading still counts. */
export function laneAt({ programme, chapters, fixes }: LaneInput, ms: number, y: number, nearMs: number): LaneHit | null {
  if (y < piecesTop) {
    const near = chapters.filter(({ atMs }) => ms >= atMs - nearMs)
    const chapter = near.at(-1)
    // A heading's words lie to the right of its place.
    return chapter && ms - chapter.atMs < nearMs * 12 ? { kind: 'chapter', id: chapter.id, ms: chapter.atMs } : null
  }
  if (y >= fixesTop && y < eventsTop) {
    const fix = fixes.find(({ span }) => ms >= toMs(span.from) && ms < toMs(span.to))
    return fix ? { kind: 'fix', id: fix.id, ms: toMs(fix.span.from) } : null
  }
  const placed = ms >= 0 && ms <= programme.lengthMs ? programme.pieceAt(ms) : null
  return placed ? { kind: 'piece', placed } : null
}

export function drawLanes(canvas: HTMLCanvasElement, input: LaneInput): void {
  const { clientWidth: width, clientHeight: height } = canvas
  const ratio = window.devicePixelRatio
  canvas.width = Math.round(width * ratio)
  canvas.height = Math.round(height * ratio)
  const ctx = canvas.getContext('2d')
  const { fromMs, toMs: untilMs } = input
  if (!ctx || width === 0 || untilMs <= fromMs) return
  const style = getComputedStyle(canvas)
  const token = (name: string): string => style.getPropertyValue(name).trim()
  const x = (ms: number): number => ((ms - fromMs) / (untilMs - fromMs)) * width
  ctx.setTransform(ratio, 0, 0, ratio, 0, 0)
  ctx.clearRect(0, 0, width, height)
  drawPieces(ctx, input, x, width, token)
  for (const { span } of input.fixes) {
    ctx.fillStyle = token('--ink-body')
    ctx.fillRect(x(toMs(span.from)), fixesTop + 1, Math.max(2, x(toMs(span.to)) - x(toMs(span.from))), laneHeights.fixes - 2)
  }
  drawHappenings(ctx, input, x, width, token)
  drawChapters(ctx, input, x, width, token)
}

type Ink = (name: string) => string

function drawPieces(ctx: CanvasRenderingContext2D, { programme, nameOf, fromMs, toMs: untilMs }: LaneInput, x: (ms: number) => number, width: number, token: Ink): void {
  ctx.font = `500 11px ${token('--font')}`
  ctx.textBaseline = 'middle'
  const takes = [...new Set(programme.pieces.flatMap(({ piece }) => (piece.kind === 'card' ? [] : [piece.takeId])))]
  for (const { piece, at, length } of programme.pieces) {
    const [a, b] = [toMs(at), toMs(at + length)]
    if (b < fromMs || a > untilMs) continue
    const left = Math.max(-2, x(a))
    const right = Math.min(width + 2, x(b))
    const isOdd = piece.kind !== 'card' && takes.indexOf(piece.takeId) % 2 === 1
    ctx.fillStyle = piece.kind === 'card' ? token('--accent-ground') : isOdd ? token('--line-strong') : token('--line')
    ctx.globalAlpha = piece.kind === 'take' && isOdd ? 0.55 : 1
    ctx.fillRect(left, piecesTop + 1, Math.max(1, right - left - 1), laneHeights.pieces - 3)
    ctx.globalAlpha = 1
    if (piece.kind === 'hold') hatch(ctx, left, piecesTop + 1, Math.max(1, right - left - 1), laneHeights.pieces - 3, token('--text-quiet'))
    const words = piece.kind === 'card' ? piece.title || 'Card' : piece.kind === 'hold' ? 'Pause' : nameOf(piece.takeId)
    const begin = Math.max(left, 0) + 5
    if (right - begin > ctx.measureText(words).width + 4) {
      ctx.fillStyle = token('--text')
      ctx.fillText(words, begin, piecesTop + laneHeights.pieces / 2)
    }
  }
}

function hatch(ctx: CanvasRenderingContext2D, left: number, top: number, width: number, height: number, colour: string): void {
  ctx.save()
  ctx.beginPath()
  ctx.rect(left, top, width, height)
  ctx.clip()
  ctx.strokeStyle = colour
  ctx.lineWidth = 1
  ctx.beginPath()
  for (let i = -height; i < width; i += 6) {
    ctx.moveTo(left + i, top + height)
    ctx.lineTo(left + i + height, top)
  }
  ctx.stroke()
  ctx.restore()
}

/** Of one kind at most one in each two pixels. */
function drawHappenings(ctx: CanvasRenderingContext2D, { programme, fromMs, toMs: untilMs }: LaneInput, x: (ms: number) => number, width: number, token: Ink): void {
  const colours: Record<Happening, string> = { mark: token('--accent'), move: token('--text-quiet'), pane: token('--line-strong') }
  for (const { atMs, kind } of happenings(programme.rowsIn(fromMs, untilMs), ((untilMs - fromMs) / width) * 2)) {
    ctx.fillStyle = colours[kind]
    ctx.fillRect(x(atMs), eventsTop + 1 + rowOf[kind] * (laneHeights.event + 1), 1.5, laneHeights.event)
  }
}

function drawChapters(ctx: CanvasRenderingContext2D, { chapters, moving }: LaneInput, x: (ms: number) => number, width: number, token: Ink): void {
  ctx.font = `500 11px ${token('--font')}`
  ctx.textBaseline = 'middle'
  let free = -Infinity
  for (const { id, title, atMs } of chapters) {
    const isMoving = moving?.id === id
    const place = x(isMoving ? moving.ms : atMs)
    if (place < -200 || place > width) continue
    ctx.fillStyle = token('--accent')
    ctx.fillRect(place, 0, isMoving ? 2 : 1, laneHeights.all)
    ctx.beginPath()
    ctx.moveTo(place, 2)
    ctx.lineTo(place + 7, 5.5)
    ctx.lineTo(place, 9)
    ctx.fill()
    if (place < free) continue
    ctx.fillStyle = token('--text')
    ctx.fillText(title, place + 10, laneHeights.chapters / 2)
    free = place + 18 + ctx.measureText(title).width
  }
}
