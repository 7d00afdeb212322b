import type { Affine } from '../geometry/affine.ts'
import { frameAt } from '../walkthrough/motion.ts'
import type { Reference } from '../walkthrough/reference.ts'
import { referenceFrame, referenceOf, type PaneId, type Stage, type StageClips } from '../walkthrough/stage.ts'
import type { MarkPlace } from './drawMark.ts'
import { clipOf, paneTransform, referenceTransform, stageRects, type Rect, type Size } from './layout.ts'

/** Everything above the video at one instant, and what it depends on. */
export interface Overlay {
  readonly size: Size
  readonly stage: Stage
  readonly clips: StageClips
  /** Left out: all of it. Else what is drawn of it: the lines of references, or the marks, the draft and the pointer. */
  readonly only?: 'references' | 'marks'
}

/** A pane's place, the frame it shows, and how image space lies on it. */
export interface PaneView {
  readonly pane: PaneId
  readonly rect: Rect
  readonly clipId: string
  readonly frame: number
  readonly place: MarkPlace
}

/** A reference's place beside its pane or over it, its frame, and how its image space lies there; it may be turned a little. */
export interface ReferenceView extends PaneView {
  readonly reference: Reference
  readonly own: PaneView
}

export const unitOf = (size: Size): number => Math.min(size.width, size.height) / 1000

/** The panes that show a clip, in a picture of this size. */
export function paneViews({ size, stage, clips }: Overlay): PaneView[] {
  const { panes } = stageRects(size, stage, clips)
  const views: PaneView[] = []
  for (const pane of [0, 1] as const) {
    const rect = panes[pane]
    const clip = clipOf(stage, pane, clips)
    if (!rect || !clip) continue
    const transform = paneTransform(rect, clip, stage.panes[pane])
    views.push({ pane, rect, clipId: clip.id, frame: frameAt(clip.frames, stage.panes[pane].tick), place: { transform, rect, unit: unitOf(size) } })
  }
  return views
}

/** The references that show, each with its pane. */
export function referenceViews(overlay: Overlay): ReferenceView[] {
  const { size, stage, clips } = overlay
  if (!stage.references) return []
  const { references } = stageRects(size, stage, clips)
  return paneViews(overlay).flatMap((own): ReferenceView[] => {
    const rect = references[own.pane]
    const reference = referenceOf(stage, own.pane)
    const clip = reference && clips[reference.clipId]
    const frame = referenceFrame(stage, own.pane, clips)
    if (!rect || !reference || !clip || frame === null) return []
    const transform = referenceTransform(rect, { rect: own.rect, clip: clips[own.clipId]!, pane: stage.panes[own.pane] }, reference, clip)
    return [{ pane: own.pane, rect, clipId: clip.id, frame, place: { transform, rect, unit: own.place.unit }, reference, own }]
  })
}

/** How much of a reference's own picture shows: all of it beside, as much as the slider says in a ghost. */
export const pictureAlpha = ({ look, picture, amount }: Reference): number => (look === 'ghost' ? (picture ? amount : 0) : 1)

/** The part of its rectangle in which a reference's picture shows: all of it, or what lies right of the wipe's edge. Whole, even pixels. */
export function seenRect({ rect, reference }: Pick<ReferenceView, 'rect' | 'reference'>): Rect {
  if (reference.look !== 'wipe') return rect
  const edge = 2 * Math.round((rect.width * reference.amount) / 2)
  return { ...rect, x: rect.x + edge, width: rect.width - edge }
}

export const sameMap = (one: Affine, two: Affine): boolean => one.a === two.a && one.b === two.b && one.c === two.c && one.d === two.d && one.e === two.e && one.f === two.f

/** A clip's picture as it lies on the canvas: drawn in this order, later ones over those before. */
export interface PictureLayer {
  readonly clipId: string
  readonly frame: number
  /** Image space to canvas. */
  readonly transform: Affine
  /** What of the canvas it may cover. */
  readonly rect: Rect
  readonly alpha: number
}

/** All pictures of an instant: panes, then what stands beside or over them, as far as anything of it is seen. */
export const pictureLayers = (overlay: Overlay): PictureLayer[] => [
  ...paneViews(overlay).map(({ clipId, frame, place: { transform }, rect }) => ({ clipId, frame, transform, rect, alpha: 1 })),
  ...referenceViews(overlay)
    .map((view) => ({ clipId: view.clipId, frame: view.frame, transform: view.place.transform, rect: seenRect(view), alpha: pictureAlpha(view.reference) }))
    .filter(({ alpha, rect }) => alpha > 0 && rect.width > 0),
]
