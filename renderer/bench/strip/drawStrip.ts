import { frameAt } from '../../../shared/walkthrough/motion.ts'
import type { Mark } from '../../../shared/markup/mark.ts'
import { inkColours } from '../../../shared/picture/palette.ts'
import type { PaneId } from '../../../shared/walkthrough/stage.ts'
import { rowsFor, rulerStep, secondsAt, secondsOf, tickAt, xOf, type Axis, type Lane } from './axis.ts'
import { nearestSmall, type Filmstrip } from './filmstrip.ts'
import { drawPegs, type Peg } from './pegs.ts'

/** Heights in CSS pixels: ruler, a lane's pictures, and the bars under them. */
export const rulerHeight = 20
export const pictureHeight = 50
export const barsHeight = 15
export const laneHeight = pictureHeight + barsHeight + 3
export const stripHeight = rulerHeight + 2 * laneHeight + 2
const barHeight = 4
const mostRows = 3

export interface StripColours {
  readonly text: string
  readonly quiet: string
  readonly line: string
  readonly accent: string
  readonly well: string
}

export interface LaneView {
  readonly pane: PaneId
  readonly lane: Lane
  readonly strip: Filmstrip | null
  /** Whether the clip's own pictures are left for right, and so are turned back. */
  readonly mirrored: boolean
  readonly marks: readonly Mark[]
  readonly pegs: readonly Peg[]
}

export const laneTop = (pane: PaneId): number => rulerHeight + pane * laneHeight

/** The part that stays while the playheads move: ruler, pictures, bars. */
export function drawGround(ctx: CanvasRenderingContext2D, width: number, axis: Axis, lanes: readonly LaneView[], isTied: boolean, selected: string | null, colours: StripColours): void {
  ctx.clearRect(0, 0, width, stripHeight)
  drawRuler(ctx, width, axis, isTied, colours)
  for (const view of lanes) {
    drawPictures(ctx, width, axis, view, colours)
    drawPegs(ctx, axis, view.lane, view.pegs, laneTop(view.pane), pictureHeight)
    for (const bar of barsOf(view, axis)) drawBar(ctx, bar, selected, colours)
  }
}

function drawRuler(ctx: CanvasRenderingContext2D, width: number, axis: Axis, isTied: boolean, colours: StripColours): void {
  const step = rulerStep(axis.perPx)
  const digits = Math.max(0, Math.ceil(-Math.log10(step) - 1e-9))
  ctx.font = '11px Inter, system-ui, sans-serif'
  ctx.fontKerning = 'none'
  ctx.textBaseline = 'middle'
  ctx.textAlign = 'left'
  for (let k = Math.floor(axis.start / step); k * step <= secondsOf(axis, width); k++) {
    const x = Math.round(xOf(axis, k * step)) + 0.5
    ctx.fillStyle = colours.line
    ctx.fillRect(x - 0.5, 4, 1, rulerHeight - 6)
    ctx.fillStyle = colours.quiet
    const sign = isTied && k > 0 ? '+' : k < 0 ? '\u2212' : ''
    ctx.fillText(`${sign}${Math.abs(k * step).toFixed(digits)}${k === 0 ? ' s' : ''}`, x + 4, rulerHeight / 2)
  }
}

/** Pictures stand on a grid that begins at 0 s, so that tied clips' pictures stand over each other. */
function drawPictures(ctx: CanvasRenderingContext2D, width: number, axis: Axis, { pane, lane, strip, mirrored }: LaneView, colours: StripColours): void {
  const top = laneTop(pane)
  const { frames } = lane.clip
  const left = xOf(axis, secondsAt(lane, frames.ticks[0]!))
  const right = xOf(axis, secondsAt(lane, frames.endTick))
  ctx.fillStyle = colours.well
  ctx.fillRect(left, top, right - left, pictureHeight)
  if (!strip) return
  // Of a tall picture the middle, where the player is, so that the figure is large enough to be told.
  const slot = Math.max((pictureHeight * strip.width) / strip.height, pictureHeight * 0.76)
  const cut = Math.min(strip.height, (strip.width * pictureHeight) / slot)
  const zero = xOf(axis, 0)
  ctx.save()
  ctx.beginPath()
  ctx.rect(left, top, right - left, pictureHeight)
  ctx.clip()
  for (let k = Math.floor((Math.max(left, 0) - zero) / slot); zero + k * slot < Math.min(right, width); k++) {
    const x = zero + k * slot
    // The slot shows the frame on screen at its beginning, where the tie's rule stands.
    const frame = frameAt(frames, tickAt(lane, secondsOf(axis, Math.max(x, left))))
    const small = nearestSmall(strip.frames, frame)
    ctx.save()
    ctx.translate(mirrored ? x + slot - 1 : x, top)
    ctx.scale(mirrored ? -1 : 1, 1)
    ctx.drawImage(strip.picture, small * strip.width, (strip.height - cut) * 0.48, strip.width, cut, 0, 0, slot - 1, pictureHeight)
    ctx.restore()
  }
  ctx.restore()
}

export interface Bar {
  readonly mark: Mark
  readonly pane: PaneId
  readonly x: number
  readonly y: number
  readonly width: number
}

/** Where the bars of a lane's marks stand. A mark of one frame is as wide as a finger can find. */
export function barsOf({ pane, lane, marks }: LaneView, axis: Axis): Bar[] {
  const { frames } = lane.clip
  const spans = marks.map(({ span }) => {
    const from = xOf(axis, secondsAt(lane, span?.from ?? frames.ticks[0]!))
    const last = span ? (frames.ticks[frameAt(frames, span.to) + 1] ?? frames.endTick) : frames.endTick
    return { from, to: Math.max(xOf(axis, secondsAt(lane, last)), from + 5) }
  })
  const rows = rowsFor(spans, 1)
  return marks.map((mark, i) => ({
    mark, pane, x: spans[i]!.from, width: spans[i]!.to - spans[i]!.from,
    y: laneTop(pane) + pictureHeight + 1 + Math.min(rows[i]!, mostRows - 1) * (barHeight + 1),
  }))
}

function drawBar(ctx: CanvasRenderingContext2D, { mark, x, y, width }: Bar, selected: string | null, colours: StripColours): void {
  ctx.globalAlpha = mark.hidden ? 0.35 : 1
  ctx.fillStyle = inkColours[mark.ink]
  if (mark.ink === 'plain') ctx.fillStyle = colours.text
  ctx.fillRect(x, y, width, barHeight)
  ctx.globalAlpha = 1
  if (mark.id !== selected) return
  ctx.strokeStyle = colours.accent
  ctx.lineWidth = 1.5
  ctx.strokeRect(x - 1.5, y - 1.5, width + 3, barHeight + 3)
}

export interface Moving {
  readonly lanes: readonly LaneView[]
  /** Playheads in ticks. */
  readonly ticks: readonly [number, number]
  readonly active: PaneId
  readonly isTied: boolean
  /** Loops in ticks of each clip. */
  readonly loops: readonly ({ readonly from: number; readonly to: number } | null)[]
}

/** The part that moves: loop, the tie's rule, playheads. */
export function drawMoving(ctx: CanvasRenderingContext2D, width: number, axis: Axis, { lanes, ticks, active, isTied, loops }: Moving, colours: StripColours): void {
  ctx.clearRect(0, 0, width, stripHeight)
  for (const { pane, lane } of lanes) {
    const loop = loops[pane]
    if (!loop) continue
    const { ticks: starts, endTick } = lane.clip.frames
    const [from, to] = [Math.max(loop.from, starts[0]!), Math.min(loop.to, endTick)].map((tick) => xOf(axis, secondsAt(lane, tick))) as [number, number]
    if (to <= from) continue
    ctx.fillStyle = colours.accent
    ctx.globalAlpha = 0.22
    ctx.fillRect(from, laneTop(pane), to - from, pictureHeight)
    ctx.globalAlpha = 1
    ctx.fillRect(from, laneTop(pane), 2, pictureHeight)
    ctx.fillRect(to - 2, laneTop(pane), 2, pictureHeight)
  }
  if (isTied) {
    const x = Math.round(xOf(axis, 0))
    ctx.fillStyle = colours.text
    ctx.fillRect(x, rulerHeight - 3, 1, stripHeight - rulerHeight)
    ctx.beginPath()
    ctx.moveTo(x - 4, rulerHeight - 7)
    ctx.lineTo(x + 5, rulerHeight - 7)
    ctx.lineTo(x + 0.5, rulerHeight)
    ctx.fill()
  }
  for (const { pane, lane } of lanes) {
    const x = xOf(axis, secondsAt(lane, ticks[pane]))
    const { frames } = lane.clip
    const frame = frameAt(frames, ticks[pane])
    const [begins, ends] = [frames.ticks[frame]!, frames.ticks[frame + 1] ?? frames.endTick].map((tick) => xOf(axis, secondsAt(lane, tick))) as [number, number]
    ctx.globalAlpha = pane === active || isTied ? 1 : 0.6
    // The frame on screen, as long as it lasts.
    ctx.fillStyle = colours.accent
    ctx.fillRect(begins, laneTop(pane) + pictureHeight - 3, Math.max(ends - begins, 1), 3)
    ctx.fillStyle = 'rgba(0, 0, 0, 0.55)'
    ctx.fillRect(Math.round(x) - 1, laneTop(pane) - 1, 4, laneHeight - 1)
    ctx.fillStyle = colours.accent
    ctx.fillRect(Math.round(x), laneTop(pane) - 1, 2, laneHeight - 1)
    if (pane === active) ctx.fillRect(Math.round(x) - 3, laneTop(pane) - 2, 8, 3)
    ctx.globalAlpha = 1
  }
}
