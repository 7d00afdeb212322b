import { apply, type Affine } from '../geometry/affine.ts'
import type { ImagePoint } from '../geometry/vec.ts'
import { marksAt } from '../markup/mark.ts'
import { frameAt, tickOf } from '../walkthrough/motion.ts'
import type { PaneId, Stage, StageClips } from '../walkthrough/stage.ts'
import type { Canvas2D } from './canvas.ts'
import { drawMark, type MarkPlace } from './drawMark.ts'
import { clipOf, paneRects, paneTransform, type Rect, type Size } from './layout.ts'

/** Everything above the video at one instant, and what it depends on. */
export interface Overlay {
  readonly size: Size
  readonly stage: Stage
  readonly clips: StageClips
}

/** A pane's place, the frame it shows, and how image space lies on it. */
export interface PaneView {
  readonly pane: PaneId
  readonly rect: Rect
  readonly clipId: string
  readonly frame: number
  readonly place: MarkPlace
}

/** The panes that show a clip, in a picture of this size. */
export function paneViews({ size, stage, clips }: Overlay): PaneView[] {
  const rects = paneRects(size, stage, clips)
  const views: PaneView[] = []
  for (const pane of [0, 1] as const) {
    const rect = rects[pane]
    const clip = clipOf(stage, pane, clips)
    if (!rect || !clip) continue
    const transform = paneTransform(rect, clip, stage.panes[pane])
    views.push({ pane, rect, clipId: clip.id, frame: frameAt(clip.frames, stage.panes[pane].tick), place: { transform, rect, unit: unitOf(size) } })
  }
  return views
}

/** The part of a pane that its picture covers. */
function pictureRect(pane: Rect, clip: Size, transform: Affine): Rect {
  const [ax, ay] = apply(transform, [0, 0] as ImagePoint)
  const [bx, by] = apply(transform, [clip.width, clip.height] as ImagePoint)
  const x = Math.max(pane.x, Math.min(ax, bx))
  const y = Math.max(pane.y, Math.min(ay, by))
  return { x, y, width: Math.max(0, Math.min(pane.x + pane.width, Math.max(ax, bx)) - x), height: Math.max(0, Math.min(pane.y + pane.height, Math.max(ay, by)) - y) }
}

export const unitOf = (size: Size): number => Math.min(size.width, size.height) / 1000

/**
 * Draws marks, the mark in the making and the pointer of one pane onto a context whose transform is the identity.
 * `frame` is the frame that is really on the screen: marks belong to frames, not to the playhead.
 */
export function drawPane(ctx: Canvas2D, view: PaneView, overlay: Overlay, frame: number = view.frame): void {
  const { stage, clips } = overlay
  const { rect } = view
  const clip = clips[view.clipId]!
  // Marks that run on end with the picture, not on the bare ground beside it.
  const place = { ...view.place, rect: pictureRect(view.place.rect, clip, view.place.transform) }
  const tick = tickOf(clip.frames, frame)
  ctx.save()
  ctx.beginPath()
  ctx.rect(rect.x, rect.y, rect.width, rect.height)
  ctx.clip()
  for (const mark of marksAt(stage.marks, view.clipId, tick)) if (mark.id !== stage.draft?.id) drawMark(ctx, mark, place)
  if (stage.draft && stage.draft.clipId === view.clipId && !stage.draft.hidden) drawMark(ctx, stage.draft, place)
  if (stage.pointer?.pane === view.pane) drawPointer(ctx, apply(place.transform, stage.pointer.at), place.unit)
  ctx.restore()
}

/** All panes' overlays; what the hand-off lays over the video. */
export function drawOverlay(ctx: Canvas2D, overlay: Overlay): void {
  for (const view of paneViews(overlay)) drawPane(ctx, view, overlay)
}

/** A ring with an open middle, so that what is pointed at stays in sight. */
function drawPointer(ctx: Canvas2D, at: readonly [number, number], unit: number): void {
  ctx.save()
  for (const [width, colour] of [[unit * 7, 'rgba(8, 10, 12, 0.6)'], [unit * 3.5, '#F5F2EA']] as const) {
    ctx.lineWidth = width
    ctx.strokeStyle = colour
    ctx.beginPath()
    ctx.arc(at[0], at[1], unit * 20, 0, 2 * Math.PI)
    ctx.stroke()
  }
  ctx.restore()
}

/**
 * A key that changes exactly when the overlay's pixels may: the hand-off draws again only on a new key, and the screen's
 * layers only when dirty. Records are immutable, so identity stands for content.
 */
export class OverlayWatch {
  #last: readonly unknown[] = []

  /** Whether anything drawn has changed since the last call. */
  changed(overlay: Overlay): boolean {
    const parts: unknown[] = [overlay.size.width, overlay.size.height, overlay.stage.marks, overlay.stage.draft, overlay.stage.pointer]
    for (const view of paneViews(overlay)) {
      const { a, d, e, f } = view.place.transform
      const tick = tickOf(overlay.clips[view.clipId]!.frames, view.frame)
      const shown = marksAt(overlay.stage.marks, view.clipId, tick).map((mark) => mark.id).join(' ')
      parts.push(view.pane, view.clipId, a, d, e, f, shown)
    }
    const same = parts.length === this.#last.length && parts.every((part, i) => part === this.#last[i])
    this.#last = parts
    return !same
  }
}
