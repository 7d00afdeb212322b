import { apply, type Affine } from '../geometry/affine.ts'
import type { PointName } from '../contract/pointsFile.ts'
import type { ImagePoint, Vec2 } from '../geometry/vec.ts'
import { marksAt, type Mark, type Marks } from '../markup/mark.ts'
import { skeleton } from '../swing/placing.ts'
import { ticksPerRealSecond, tickOf, type ClipTime } from '../walkthrough/motion.ts'
import { trackAt, type PointTrack, type Reference, type TrackPoints } from '../walkthrough/reference.ts'
import type { StageClips } from '../walkthrough/stage.ts'
import type { Canvas2D } from './canvas.ts'
import { drawMark } from './drawMark.ts'
import { drawPoints } from './drawPoints.ts'
import type { Rect, Size } from './layout.ts'
import { haloColour, inkColours, withAlpha } from './palette.ts'
import { seenRect, type PaneView, type ReferenceView } from './views.ts'

/** Points farther apart than this, seconds of the world, are not joined: what went on between them is not known. */
const reachS = 0.1

/** The blue of the reference is dark: on a dark picture it has a light rim instead of a dark one. */
const rim = withAlpha(inkColours.plain, 0.75)

/** Whether anything is drawn for a reference besides its picture. */
export const hasInk = (reference: Reference): boolean => reference.skeleton || reference.shaft || reference.traces || reference.look === 'wipe' || hasMarks(reference)

const hasMarks = ({ marked, marks }: Reference): boolean => marked === true && marks !== undefined && marks.length > 0

const tables = new WeakMap<readonly Mark[], Marks>()
function tableOf(marks: readonly Mark[]): Marks {
  let table = tables.get(marks)
  if (!table) tables.set(marks, (table = Object.fromEntries(marks.map((mark) => [mark.id, mark]))))
  return table
}

/**
 * Draws what belongs to a comparison above the pictures: skeleton and shaft of the reference, what was drawn on it, the ways of
 * hands and clubhead of both up to this instant, the edge of a wipe. The context's transform must be the identity.
 * @param frames the frames that are really on the screen
 */
export function drawReferenceInk(ctx: Canvas2D, view: ReferenceView, clips: StageClips, frames: { readonly own: number; readonly reference: number } = { own: view.own.frame, reference: view.frame }): void {
  const { reference, own } = view
  if (!hasInk(reference)) return
  const [ownClip, clip] = [clips[own.clipId]!, clips[view.clipId]!]
  const seen = seenRect(view)
  const { unit } = view.place
  const ownTick = tickOf(ownClip.frames, frames.own)
  const tick = tickOf(clip.frames, frames.reference)

  inside(ctx, leftOf(own.rect, view), () => {
    if (reference.traces && reference.tracks.own) {
      drawTrace(ctx, wayOf(reference.tracks.own, ['hands', 'butt'], ownClip, ownTick), own.place.transform, unit, inkColours.plain, haloColour, true)
      drawTrace(ctx, wayOf(reference.tracks.own, ['clubhead', 'shaftEnd'], ownClip, ownTick), own.place.transform, unit, inkColours.club, haloColour, false)
    }
    if (reference.skeleton && reference.tracks.own) drawPoints(ctx, trackAt(reference.tracks.own, ownTick, reachOf(ownClip)), own.place)
  })
  const track = reference.tracks.reference
  inside(ctx, seen, () => {
    ctx.globalAlpha = reference.look === 'ghost' ? Math.max(reference.amount, 0.05) : 1
    if (hasMarks(reference)) for (const mark of marksAt(tableOf(reference.marks!), view.clipId, tick)) drawMark(ctx, mark, { ...view.place, rect: seen })
    if (!track) return
    if (reference.shaft) drawShaftPath(ctx, track, clip, tick, view.place.transform, unit)
    if (reference.traces) {
      drawTrace(ctx, wayOf(track, ['hands', 'butt'], clip, tick), view.place.transform, unit, inkColours.reference, rim, true)
      drawTrace(ctx, wayOf(track, ['clubhead', 'shaftEnd'], clip, tick), view.place.transform, unit, inkColours.reference, rim, false)
    }
    if (reference.skeleton) drawFigure(ctx, trackAt(track, tick, reachOf(clip)), view.place.transform, unit)
  })
  if (reference.look === 'wipe' && seen.x > own.rect.x && seen.width > 0) drawEdge(ctx, seen.x, upAndDown(own, ownClip), unit)
}

const reachOf = (clip: ClipTime): number => reachS * ticksPerRealSecond(clip)

/** Where the student's own lines show: the pane, or what a wipe leaves of it. */
const leftOf = (rect: Rect, view: ReferenceView): Rect =>
  view.reference.look === 'wipe' ? { ...rect, width: seenRect(view).x - rect.x } : rect

function inside(ctx: Canvas2D, { x, y, width, height }: Rect, draw: () => void): void {
  if (width <= 0 || height <= 0) return
  ctx.save()
  ctx.beginPath()
  ctx.rect(x, y, width, height)
  ctx.clip()
  ctx.lineCap = 'round'
  ctx.lineJoin = 'round'
  draw()
  ctx.restore()
}

/** The places of the first of these points that is placed at all, up to a tick, in runs that may be joined. */
export function wayOf(track: PointTrack, names: readonly PointName[], clip: ClipTime, until: number): ImagePoint[][] {
  const name = names.find((one) => track.points.includes(one))
  if (name === undefined) return []
  const k = track.points.indexOf(name)
  const reach = reachOf(clip)
  const runs: ImagePoint[][] = []
  let last = -Infinity
  for (const row of track.rows) {
    const [tick, x, y] = [row[0]!, row[1 + 2 * k]!, row[2 + 2 * k]!]
    if (tick > until) break
    if (x === null || y === null) continue
    if (tick - last > reach) runs.push([])
    runs.at(-1)!.push([x, y])
    last = tick
  }
  return runs
}

/** The hands' way is thin and broken, the clubhead's drawn through, so that colour is not all that tells them apart. */
function drawTrace(ctx: Canvas2D, runs: readonly (readonly ImagePoint[])[], map: Affine, unit: number, colour: string, halo: string, broken: boolean): void {
  if (runs.length === 0) return
  const width = Math.max(1.25, (broken ? 2 : 3) * unit)
  const placed = runs.map((run) => run.map((point) => apply(map, point)))
  for (const [stroke, extra] of [[halo, Math.max(1.5, 1.6 * unit)], [colour, 0]] as const) {
    ctx.strokeStyle = stroke
    ctx.fillStyle = stroke
    ctx.lineWidth = width + extra
    ctx.setLineDash(broken && extra === 0 ? [width * 2.2, width * 2.2] : [])
    ctx.beginPath()
    for (const run of placed) if (run.length > 1) run.forEach(([x, y], i) => (i === 0 ? ctx.moveTo(x, y) : ctx.lineTo(x, y)))
    ctx.stroke()
    ctx.setLineDash([])
    for (const run of placed) if (run.length === 1) drawDot(ctx, run[0]!, width * 0.8 + extra / 2)
  }
}

function drawDot(ctx: Canvas2D, [x, y]: Vec2, radius: number): void {
  ctx.beginPath()
  ctx.arc(x, y, radius, 0, 2 * Math.PI)
  ctx.fill()
}

const shaftEnds = (points: TrackPoints): readonly [ImagePoint, ImagePoint] | null => {
  const [low, high] = [points.butt ?? points.hands, points.clubhead ?? points.shaftEnd]
  return low && high ? [low, high] : null
}

/** Where the shaft has been on each frame it is placed on, faint; where it is now, strong. */
function drawShaftPath(ctx: Canvas2D, track: PointTrack, clip: ClipTime, until: number, map: Affine, unit: number): void {
  const lines = track.rows.flatMap((row) => {
    const ends = row[0]! < until ? shaftEnds(trackAt({ ...track, rows: [row] }, row[0]!, 0)) : null
    return ends ? [ends.map((end) => apply(map, end)) as [Vec2, Vec2]] : []
  })
  const now = shaftEnds(trackAt(track, until, reachOf(clip)))?.map((end) => apply(map, end)) as [Vec2, Vec2] | undefined
  const stroke = (all: readonly (readonly [Vec2, Vec2])[], width: number, colour: string): void => {
    ctx.lineWidth = width
    ctx.strokeStyle = colour
    ctx.beginPath()
    for (const [a, b] of all) {
      ctx.moveTo(a[0], a[1])
      ctx.lineTo(b[0], b[1])
    }
    ctx.stroke()
  }
  if (lines.length) stroke(lines, Math.max(1, 1.2 * unit), withAlpha(inkColours.reference, 0.55))
  if (!now) return
  stroke([now], Math.max(2, 4 * unit) + Math.max(1.5, 1.6 * unit), rim)
  stroke([now], Math.max(2, 4 * unit), inkColours.reference)
}

/** The reference's figure in its one ink, so that it is never taken for the student's. */
function drawFigure(ctx: Canvas2D, points: TrackPoints, map: Affine, unit: number): void {
  const at = new Map((Object.entries(points) as [PointName, ImagePoint][]).map(([name, point]) => [name, apply(map, point)]))
  const lines = skeleton.filter(([from, to]) => at.has(from) && at.has(to) && !(from === 'hands' && at.has('butt')) && !(to === 'shaftEnd' && at.has('clubhead')))
  for (const [colour, extra] of [[rim, Math.max(1.5, 1.6 * unit)], [inkColours.reference, 0]] as const) {
    ctx.strokeStyle = colour
    ctx.fillStyle = colour
    ctx.lineWidth = Math.max(2, 3.4 * unit) + extra
    ctx.beginPath()
    for (const [from, to] of lines) {
      ctx.moveTo(...at.get(from)!)
      ctx.lineTo(...at.get(to)!)
    }
    ctx.stroke()
    for (const place of at.values()) drawDot(ctx, place, Math.max(2.5, 4 * unit) + extra / 2)
  }
}

/** From where to where the pane's picture reaches, up and down: on the bare ground beyond it there is nothing to part. */
function upAndDown({ rect, place: { transform } }: PaneView, { width, height }: Size): readonly [number, number] {
  const [a, b] = [apply(transform, [0, 0])[1], apply(transform, [width, height])[1]]
  return [Math.max(rect.y, Math.min(a, b)), Math.min(rect.y + rect.height, Math.max(a, b))]
}

function drawEdge(ctx: Canvas2D, x: number, [top, bottom]: readonly [number, number], unit: number): void {
  ctx.save()
  for (const [width, colour] of [[Math.max(3, 4 * unit), haloColour], [Math.max(1, 1.6 * unit), inkColours.plain]] as const) {
    ctx.lineWidth = width
    ctx.strokeStyle = colour
    ctx.beginPath()
    ctx.moveTo(x, top)
    ctx.lineTo(x, bottom)
    ctx.stroke()
  }
  ctx.restore()
}
