import { apply, type Affine } from '../geometry/affine.ts'
import type { ImagePoint } from '../geometry/vec.ts'
import { marksAt } from '../markup/mark.ts'
import { tickOf } from '../walkthrough/motion.ts'
import type { Canvas2D } from './canvas.ts'
import { drawMark } from './drawMark.ts'
import { drawReferenceInk, hasInk } from './drawReference.ts'
import type { Rect, Size } from './layout.ts'
import { paneViews, referenceViews, type Overlay, type PaneView } from './views.ts'

export { paneViews, unitOf, type Overlay, type PaneView } from './views.ts'

/** The part of a pane that its picture covers. */
function pictureRect(pane: Rect, clip: Size, transform: Affine): Rect {
  const [ax, ay] = apply(transform, [0, 0] as ImagePoint)
  const [bx, by] = apply(transform, [clip.width, clip.height] as ImagePoint)
  const x = Math.max(pane.x, Math.min(ax, bx))
  const y = Math.max(pane.y, Math.min(ay, by))
  return { x, y, width: Math.max(0, Math.min(pane.x + pane.width, Math.max(ax, bx)) - x), height: Math.max(0, Math.min(pane.y + pane.height, Math.max(ay, by)) - y) }
}

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

/** All panes' overlays, references' lines under the marks; what the hand-off lays over the video. */
export function drawOverlay(ctx: Canvas2D, overlay: Overlay): void {
  if (overlay.only !== 'marks') for (const view of referenceViews(overlay)) drawReferenceInk(ctx, view, overlay.clips)
  if (overlay.only !== 'references') for (const view of paneViews(overlay)) drawPane(ctx, view, overlay)
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
    const { size, stage, only } = overlay
    const parts: unknown[] = [size.width, size.height, only]
    if (only !== 'references') parts.push(stage.marks, stage.draft, stage.pointer)
    for (const view of paneViews(overlay)) {
      const { a, d, e, f } = view.place.transform
      const tick = tickOf(overlay.clips[view.clipId]!.frames, view.frame)
      const shown = only === 'references' ? '' : marksAt(stage.marks, view.clipId, tick).map((mark) => mark.id).join(' ')
      parts.push(view.pane, view.clipId, a, d, e, f, shown)
    }
    if (only !== 'marks') for (const view of referenceViews(overlay)) {
      const { a, b, c, d, e, f } = view.place.transform
      parts.push('reference', view.pane, hasInk(view.reference) && view.reference)
      if (hasInk(view.reference)) parts.push(view.own.frame, view.frame, view.rect.x, view.rect.y, a, b, c, d, e, f)
    }
    const same = parts.length === this.#last.length && parts.every((part, i) => part === this.#last[i])
    this.#last = parts
    return !same
  }
}
