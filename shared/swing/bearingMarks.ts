import { pictureHand, type Clip, type Handedness, type View } from '../contract/clip.ts'
import { imagePoint, type ImagePoint } from '../geometry/vec.ts'
import type { Mark } from '../markup/mark.ts'
import { rounded } from '../markup/tools/tool.ts'
import { positionAt } from './definition.ts'
import type { SwingResult } from './measureSwing.ts'
import { isMissing, type Swing } from './reading.ts'
import { placeAt } from './track.ts'
import { fanIn, lookIn, topReading } from './twoBearings.ts'
import type { SwingView } from './viewOf.ts'

/** Whether the shaft at the top is shown as the picture has it, or as it was reconstructed. */
export type ShaftShown = 'looks' | 'is'

/**
 * A clip of the swing and the ticks of the frames in which it is at the top: that which holds the instant and, where the
 * next begins nearer to it, that one too, since a clip that is tied rests on the nearest.
 */
export interface TopFrame {
  readonly clip: { readonly id: string; readonly view: View; readonly width: number; readonly height: number; readonly handedness: Handedness; readonly mirrored?: Clip['mirrored'] }
  readonly from: number
  readonly to: number
}

const kinds = ['fan', 'plan', 'look'] as const
type Kind = (typeof kinds)[number]

/** The same at every drawing, so that a new one takes the place of the old. */
export const bearingId = (clipId: string, kind: Kind): string => `${clipId}/shaft-at-top/${kind}`
export const bearingIds = (clipId: string): readonly string[] => kinds.map((kind) => bearingId(clipId, kind))

/** What the ids on the stage show; null where none of them is there. */
export function shownBy(marks: Readonly<Record<string, Mark>>, clipIds: readonly (string | null)[]): ShaftShown | null {
  const has = (kind: Kind): boolean => clipIds.some((id) => id !== null && marks[bearingId(id, kind)] !== undefined)
  return has('fan') || has('plan') ? 'is' : has('look') ? 'looks' : null
}

/** Marks that show the shaft at the top on its clips; none for a clip on which it cannot be had. */
export function bearingMarks(shown: ShaftShown, swing: Swing, result: SwingResult, tops: readonly TopFrame[], order: number): Mark[] {
  const marks: Mark[] = []
  for (const { clip, from, to } of tops) {
    const view = swing.views.find(({ name }) => name === clip.view)
    if (!view) continue
    const mark = (kind: Kind, shape: Mark['shape'], points: readonly ImagePoint[], more: Partial<Mark> = {}): void => {
      marks.push({
        id: bearingId(clip.id, kind), clipId: clip.id, shape, meaning: null, points: points.map(rounded), text: '', span: { from, to }, ink: 'club',
        weight: 5, dashed: false, hidden: false, order: order + marks.length, ...more,
      })
    }
    if (shown === 'looks') {
      const look = lookIn(swing, view, 'top', clip.handedness)
      if (!isMissing(look)) mark('look', 'line', look.ends, { meaning: 'shaft-line', weight: 4, text: `looks ${Math.round(look.angle.value)} \u00b1 ${Math.max(1, Math.round(look.angle.sigma))}\u00b0 from level` })
      continue
    }
    const fan = fanIn(swing, view, 'top', clip.handedness)
    if (!isMissing(fan)) mark('fan', 'fan', fan)
    // Drawn beside the picture as it lies in the file, whose sides may be the other way round.
    const reading = clip.view === 'down-the-line' ? topReading(result, pictureHand(clip)) : null
    if (reading) mark('plan', 'plan', freeCorner(swing, view, clip, isMissing(fan) ? [] : fan), { reading })
  }
  return marks
}

/** The corner of the picture for the plate where it hides the least of the player, upper ones first. */
function freeCorner(swing: Swing, view: SwingView, clip: TopFrame['clip'], fan: readonly ImagePoint[]): readonly [ImagePoint, ImagePoint] {
  const { width, height } = clip
  const [w, h] = width <= height ? [0.5 * width, 0.64 * width] : [0.44 * height, 0.56 * height]
  const edge = 0.02 * Math.min(width, height)
  const top = positionAt(swing, view.name, 'top')
  const seen: (readonly [number, number])[] = [...fan]
  if (!isMissing(top))
    for (const track of view.tracks.values()) {
      const at = placeAt(track, top.t.value + view.clock.value)
      if (at) seen.push([pictureHand(clip) === 'left' ? width - at[0] : at[0], at[1]])
    }
  const corners = [[width - edge - w, edge], [edge, edge], [width - edge - w, height - edge - h], [edge, height - edge - h]] as const
  const hides = ([x, y]: readonly [number, number]): number => seen.filter((p) => p[0] > x - edge && p[0] < x + w + edge && p[1] > y - edge && p[1] < y + h + edge).length
  const [x, y] = corners.toSorted((a, b) => hides(a) - hides(b))[0]!
  return [imagePoint(x, y), imagePoint(x + w, y + h)]
}

/**
 * The marks that are there, brought up to date: a plate stays where the coach has put it, and looks, order and a span that
 * the coach has widened stay. Only what differs comes back.
 */
export function refreshed(marks: Readonly<Record<string, Mark>>, fresh: readonly Mark[], ownTicks?: OwnTicks): Mark[] {
  return fresh.flatMap((mark) => {
    const old = marks[mark.id]
    if (!old) return []
    const next = kept(mark, old, ownTicks)
    return JSON.stringify(sorted(next)) === JSON.stringify(sorted(old)) ? [] : [next]
  })
}

/** From the first to the last frame of a clip that a mark may span by itself, ticks; a longer span is the coach's. */
export type OwnTicks = (clipId: string) => number

/** A fresh mark with what the coach may have changed of the one before it. */
export function kept(mark: Mark, old: Mark | undefined, ownTicks: OwnTicks = () => 0): Mark {
  if (!old) return mark
  const isOwn = old.span !== null && old.span.to - old.span.from <= ownTicks(mark.clipId)
  return {
    ...mark, order: old.order, weight: old.weight, dashed: old.dashed, ink: old.ink, hidden: old.hidden,
    span: isOwn ? mark.span : old.span, points: mark.shape === 'plan' ? old.points : mark.points,
    text: mark.shape === 'line' || mark.shape === 'segment' ? mark.text : old.text,
  }
}

const sorted = (mark: Mark): readonly unknown[] => Object.entries(mark).toSorted(([a], [b]) => (a < b ? -1 : 1))
