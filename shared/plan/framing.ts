import type { FindingPicture, Framed } from '../contract/finding.ts'
import { imagePoint, type ImagePoint } from '../geometry/vec.ts'
import { marksAt, shapes, type Mark } from '../markup/mark.ts'
import { paneRects, type Size } from '../picture/layout.ts'
import { emptyPane, emptyStage, type Pane, type Stage, type StageClip } from '../walkthrough/stage.ts'

/** Pixels of a finding's picture: three stand beside one another on a page, each sharp in print. */
export const pictureSize: Size = { width: 900, height: 1200 }
/** Of one that shows both views: two phones' upright pictures side by side fill it. */
export const pairSize: Size = { width: 1200, height: 1000 }
export const sizeOf = ({ beside }: FindingPicture): Size => (beside?.shown ? pairSize : pictureSize)

/** How much of the picture's short side stays free around marks. */
const air = 0.06
/** Of two views side by side at least this part of each one's width is seen: a club at the side of a swing goes on being there. */
const widthKept = 0.85

/** The points that have to be in sight: a line that runs on to the edges needs only those it was drawn through. */
const pointsOf = (marks: readonly Mark[]): readonly ImagePoint[] => marks.filter(({ hidden, shape }) => !hidden && shapes[shape].least > 0).flatMap(({ points }) => points)

/**
 * How close, and about which point, a clip is shown in a picture: as it stood in the pane where the coach had gone closer;
 * else so that the picture is filled, as long as that cuts no mark off.
 */
export function framingOf(picture: Framed, clip: Size, size: Size = pictureSize): { readonly zoom: number; readonly centre: ImagePoint | null } {
  if (picture.zoom > 1) return { zoom: picture.zoom, centre: picture.centre }
  const fit = Math.min(size.width / clip.width, size.height / clip.height)
  const fill = Math.max(size.width / clip.width, size.height / clip.height)
  const points = pointsOf(picture.marks)
  const inside = points.map(([x, y]): ImagePoint => imagePoint(Math.min(Math.max(x, 0), clip.width), Math.min(Math.max(y, 0), clip.height)))
  const [left, right] = [Math.min(...inside.map(([x]) => x)), Math.max(...inside.map(([x]) => x))]
  const [top, bottom] = [Math.min(...inside.map(([, y]) => y)), Math.max(...inside.map(([, y]) => y))]
  if (inside.length === 0) return { zoom: fill / fit, centre: null }
  const margin = air * Math.min(clip.width, clip.height)
  const holds = Math.min(size.width / (right - left + 2 * margin), size.height / (bottom - top + 2 * margin))
  return { zoom: Math.max(1, Math.min(fill, holds) / fit), centre: imagePoint((left + right) / 2, (top + bottom) / 2) }
}

/**
 * The stage that is drawn for a finding: its clip at its frame with the marks of then, and the other view of that instant
 * where the coach wants both and its clip is given.
 */
export function stageOf(picture: FindingPicture, clip: StageClip, size: Size = sizeOf(picture), other: StageClip | null = null): Stage {
  const { beside } = picture
  const paneOf = (part: Framed, of: StageClip, room: Size, most = Infinity): Pane => {
    const { zoom, centre } = framingOf(part, of, room)
    return { ...emptyPane, clipId: of.id, tick: part.tick, zoom: Math.min(part.zoom > 1 ? zoom : Math.max(1, Math.min(zoom, most)), 40), centre, mirror: part.mirror }
  }
  const marksOf = (...parts: readonly Framed[]): Stage['marks'] => Object.fromEntries(parts.flatMap(({ marks }) => marks.map((mark) => [mark.id, mark])))
  if (!beside?.shown || !other) return { ...emptyStage, layout: 'single', active: 0, panes: [paneOf(picture, clip, size), emptyPane], marks: marksOf(picture) }
  const inOrder = <T>(own: T, its: T): readonly [T, T] => (beside.pane === 0 ? [its, own] : [own, its])
  const twin: Stage = { ...emptyStage, layout: 'twin', active: beside.pane === 0 ? 1 : 0, marks: marksOf(picture, beside) }
  const [left, right] = inOrder<readonly [Framed, StageClip]>([picture, clip], [beside, other])
  const clips = { [clip.id]: clip, [other.id]: other }
  const rects = paneRects(size, { ...twin, panes: [{ ...emptyPane, clipId: left[1].id }, { ...emptyPane, clipId: right[1].id }] }, clips)
  const placed = ([part, of]: readonly [Framed, StageClip], room: Size): Pane => paneOf(part, of, room, room.width / widthKept / (of.width * Math.min(room.width / of.width, room.height / of.height)))
  return { ...twin, panes: [placed(left, rects[0]!), placed(right, rects[1]!)] }
}

/** The marks of a stage that a finding's picture keeps: those that show on the frame. */
export const marksFor = (marks: Stage['marks'], clipId: string, tick: number): Mark[] => marksAt(marks, clipId, tick).slice(0, 200)
