import { compose, type Affine } from '../geometry/affine.ts'
import { similarityMap, type Reference } from '../walkthrough/reference.ts'
import { referenceOf, type Pane, type PaneId, type Stage, type StageClips } from '../walkthrough/stage.ts'

export interface Rect {
  readonly x: number
  readonly y: number
  readonly width: number
  readonly height: number
}

export interface Size {
  readonly width: number
  readonly height: number
}

/** The gap between two panes, in thousandths of the short side. */
const gap = 6

type Arranged = Pick<Stage, 'layout' | 'active' | 'panes' | 'references'>

export interface StageRects {
  readonly panes: readonly [Rect | null, Rect | null]
  /** Where each pane's reference shows: beside it, or the pane's own place where it lies over it; null for none. */
  readonly references: readonly [Rect | null, Rect | null]
}

/**
 * Where each pane and each reference stands in a picture of this size; null for what is not shown. Twin panes stand side by
 * side, or one above the other where that shows more of the clips; the room of a pane with a reference beside it is halved
 * the same way, so that the student's picture and the reference's are as large. Sizes are whole and even, as video wants them.
 */
export function stageRects(size: Size, stage: Arranged, clips: StageClips): StageRects {
  const between = Math.max(2, even((gap * Math.min(size.width, size.height)) / 1000))
  const shown = stage.layout === 'single' ? [stage.active] : ([0, 1] as const)
  const isSplit = (pane: PaneId): boolean => {
    const reference = referenceOf(stage, pane)
    return reference?.look === 'beside' && stage.panes[pane].clipId !== null
  }
  const whole = evenRect(0, 0, size.width, size.height)
  const splits = shown.some(isSplit) ? [false, true] : [false]
  const outer = stage.layout === 'single' ? [[whole]] : [halves(whole, between, false), halves(whole, between, true)]
  let best: { readonly rects: StageRects; readonly covers: number } | null = null
  for (const rooms of outer)
    for (const stacked of splits) {
      const panes: [Rect | null, Rect | null] = [null, null]
      const references: [Rect | null, Rect | null] = [null, null]
      let covers = 0
      shown.forEach((pane, i) => {
        const room = rooms[i]!
        const [own, other] = isSplit(pane) ? halves(room, between, stacked) : [room, room]
        panes[pane] = own!
        if (referenceOf(stage, pane) && stage.panes[pane].clipId !== null) references[pane] = other!
        const clip = clipOf(stage, pane, clips) ?? { width: 9, height: 16 }
        covers += clip.width * clip.height * fitScale(own!, clip) ** 2
      })
      // What stands beside something stays there unless another way shows clearly more.
      if (!best || covers > best.covers * 1.1) best = { rects: { panes, references }, covers }
    }
  return best!.rects
}

/** The panes' places alone. */
export const paneRects = (size: Size, stage: Arranged, clips: StageClips): StageRects['panes'] => stageRects(size, stage, clips).panes

/** A room's two halves with a gap between them, whole and even. */
function halves(room: Rect, between: number, stacked: boolean): readonly [Rect, Rect] {
  const { x, y, width, height } = room
  if (stacked) {
    const half = even((height - between) / 2)
    return [{ x, y, width, height: half }, { x, y: y + height - half, width, height: half }]
  }
  const half = even((width - between) / 2)
  return [{ x, y, width: half, height }, { x: x + width - half, y, width: half, height }]
}

export const clipOf = (stage: Pick<Stage, 'panes'>, pane: PaneId, clips: StageClips): StageClips[string] | null => {
  const { clipId } = stage.panes[pane]
  return clipId === null ? null : (clips[clipId] ?? null)
}

const fitScale = (rect: Rect, clip: Size): number => Math.min(rect.width / clip.width, rect.height / clip.height)

/**
 * Image space to canvas for one pane. Where the zoomed picture is larger than the pane it covers it (the centre is held
 * inside); where it is smaller it stands in the middle. Mirroring turns left and right about the pane's middle.
 */
export function paneTransform(rect: Rect, clip: Size, pane: Pick<Pane, 'zoom' | 'centre' | 'mirror'>): Affine {
  const scale = fitScale(rect, clip) * pane.zoom
  if (pane.zoom === 1 && pane.centre === null) return fittedTransform(rect, clip, scale, pane.mirror)
  const [cx, cy] = pane.centre ?? [clip.width / 2, clip.height / 2]
  const x = hold(cx, clip.width, rect.width / scale)
  const y = hold(cy, clip.height, rect.height / scale)
  const sign = pane.mirror ? -1 : 1
  return {
    a: sign * scale,
    b: 0,
    c: 0,
    d: scale,
    e: rect.x + rect.width / 2 - sign * x * scale,
    f: rect.y + rect.height / 2 - y * scale,
  }
}

/** A length moves to a whole, even one where that changes it by no more than this part: less than anyone sees. */
const unseen = 1 / 400

/**
 * The whole picture at rest stands on even pixels where they are near, so that neither screen nor video has to draw between
 * them: that is sharper, and costs the video a third. Width and height may differ in scale by as little as `unseen`.
 */
function fittedTransform(rect: Rect, clip: Size, scale: number, mirror: boolean): Affine {
  const snapped = (length: number): number => {
    const near = 2 * Math.round(length / 2)
    return Math.abs(near - length) <= length * unseen ? near : length
  }
  const [width, height] = [snapped(clip.width * scale), snapped(clip.height * scale)]
  const margin = (room: number, length: number): number => (length % 2 === 0 ? 2 * Math.round((room - length) / 4) : (room - length) / 2)
  const [left, top] = [rect.x + margin(rect.width, width), rect.y + margin(rect.height, height)]
  const a = width / clip.width
  return { a: mirror ? -a : a, b: 0, c: 0, d: height / clip.height, e: mirror ? left + width : left, f: top }
}

/** A picture's size, and whether its file shows the world left for right. */
type FilmedSize = Size & { readonly mirrored?: boolean | undefined }

/**
 * The reference's image space to canvas. Aligned, it lies where the student's picture does, wherever that is looked at, so
 * that what stands over one another in the overlay stands at the same place of two panes side by side. Else it is fitted into
 * its place and zoomed with the pane, each clip the way round that it is in the world where the pane shows its own so.
 */
export function referenceTransform(rect: Rect, own: { readonly rect: Rect; readonly clip: FilmedSize; readonly pane: Pick<Pane, 'zoom' | 'centre' | 'mirror'> }, reference: Pick<Reference, 'aligned' | 'transform'>, clip: FilmedSize): Affine {
  if (!reference.aligned) {
    const { centre, mirror } = own.pane
    const isOther = (own.clip.mirrored ?? false) !== (clip.mirrored ?? false)
    const across = centre && (isOther ? own.clip.width - centre[0] : centre[0])
    return paneTransform(rect, clip, { ...own.pane, mirror: mirror !== isOther, centre: centre && [(across! * clip.width) / own.clip.width, (centre[1] * clip.height) / own.clip.height] })
  }
  const { a, b, c, d, e, f } = paneTransform(own.rect, own.clip, own.pane)
  return compose(similarityMap(reference.transform), { a, b, c, d, e: e + rect.x - own.rect.x, f: f + rect.y - own.rect.y })
}

/** The centre nearest to the wanted one that leaves no bare edge while there is picture to show. */
const hold = (centre: number, length: number, seen: number): number =>
  seen >= length ? length / 2 : Math.min(Math.max(centre, seen / 2), length - seen / 2)

const even = (value: number): number => 2 * Math.floor(value / 2)
const evenRect = (x: number, y: number, width: number, height: number): Rect => ({ x: even(x), y: even(y), width: even(width), height: even(height) })
