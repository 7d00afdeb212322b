import { apply } from '../geometry/affine.ts'
import type { ImagePoint } from '../geometry/vec.ts'
import type { Mark, Shape, Span } from '../markup/mark.ts'
import { atTitle, measureTitle } from '../swing/measureWords.ts'
import { measures } from '../swing/registry.ts'
import { ticksPerRealSecond, type ClipTime } from '../walkthrough/motion.ts'
import { similarityMap, type Similarity, type TrackPoints } from '../walkthrough/reference.ts'
import { differenceWords, sideWords, type Difference } from './differences.ts'
import { landmarkOf } from './track.ts'

/** As many differences as a student can take away from one lesson. */
export const mostPins = 3

/** Seconds of the world for which a pinned difference shows before and after its position. */
const showsS = 0.12

/** Whether two pins of a clip show at the same time for a while; null ticks are of the whole swing. */
export const pinsMeet = (clip: ClipTime, one: number | null, other: number | null): boolean =>
  one === null || other === null || Math.abs(one - other) <= 2 * showsS * ticksPerRealSecond(clip)

export const pinKey = ({ id, view, at }: Pick<Difference, 'id' | 'view' | 'at'>): string => `${id}/${view ?? 'both'}/${at}`
const besideEnd = '/reference'
const lineEnd = '/line'
const parts = [besideEnd, lineEnd]
const prefix = (clipId: string): string => `${clipId}/difference/`
export const pinId = (clipId: string, difference: Pick<Difference, 'id' | 'view' | 'at'>): string => `${prefix(clipId)}${pinKey(difference)}`
/** The pinned difference that a mark of a clip stands for; null for any other mark. */
export const keyOfPin = (clipId: string, markId: string): string | null =>
  markId.startsWith(prefix(clipId)) && !parts.some((end) => markId.endsWith(end)) ? markId.slice(prefix(clipId).length) : null
/** Whether a mark of a clip is part of any pin. */
export const isOnPins = (clipId: string, markId: string): boolean => markId.startsWith(prefix(clipId))
/** The marks of a pin on whichever clip. */
export const isOfPin = (key: string, markId: string): boolean => ['', ...parts].some((end) => markId.endsWith(`/difference/${key}${end}`))

export interface PinPlace {
  readonly clip: ClipTime & { readonly id: string; readonly width: number; readonly height: number }
  /** The position on the student's clip, ticks; null for a measure of the whole swing, which shows throughout. */
  readonly tick: number | null
  /** Points of the student's clip there and at address, and the reference's there. */
  readonly points: TrackPoints
  readonly address: TrackPoints
  readonly reference: TrackPoints
  readonly transform: Similarity
  /** Which of the pins it is: captions without a place of their own stand under one another. */
  readonly index: number
  /** Whether another pin shows at the same time: then the caption stands apart from its line, so that none covers another. */
  readonly crowded: boolean
  readonly order: number
}

/** What the student reads: the measure, then both numbers, then their difference; short lines, for panes are narrow. */
export const pinCaption = (difference: Difference): string => [
  `${measureTitle(difference.id)}${difference.at === 'swing' ? '' : `, ${atTitle(difference.at)}`}`,
  sideWords(difference.own),
  `reference ${sideWords(difference.reference)}`,
  `difference ${differenceWords(difference)}`,
].join('\n')

/** Where captions apart from their line stand, parts of the picture's height: the first in the middle, the next on the ground before the player. */
const heights = [0.44, 0.84, 0.64]

interface Drawn { readonly shape: Shape; readonly points: ImagePoint[] }

/** The line that a measure is read from, where its points are placed; null where it has none. */
function lineOf(id: string, here: TrackPoints, address: TrackPoints): Drawn | null {
  const inputs = measures.find((measure) => measure.id === id)?.planar?.inputs ?? []
  const names = [...new Set(inputs.map(([name]) => name))]
  const at = (name: (typeof names)[number], points: TrackPoints) => landmarkOf(points, name)
  if (names.length === 1 && inputs.some(([, when]) => when === 'address')) {
    const [from, to] = [at(names[0]!, address), at(names[0]!, here)]
    return from && to ? { shape: 'arrow', points: [from, to] } : null
  }
  const places = inputs.filter(([, when]) => when === 'here').map(([name]) => at(name, here)).filter((place) => place !== null)
  const distinct = places.filter((place, i) => places.findIndex((other) => other[0] === place[0] && other[1] === place[1]) === i)
  return distinct.length >= 2 ? { shape: distinct.length === 2 ? 'segment' : 'polyline', points: distinct } : null
}

/**
 * A pinned difference as marks of the student's clip: the line it is read from with its caption, and the reference's own line,
 * laid over by the comparison's transform and dashed. Without points the caption stands by itself at the
 * picture's left.
 */
export function marksOfPin(difference: Difference, { clip, tick, points, address, reference, transform, index, crowded, order }: PinPlace): Mark[] {
  const reach = showsS * ticksPerRealSecond(clip)
  const { ticks } = clip.frames
  const span: Span = tick === null ? null : { from: Math.max(ticks[0]!, Math.round(tick - reach)), to: Math.min(ticks.at(-1)!, Math.round(tick + reach)) }
  const base = { clipId: clip.id, meaning: null, span, hidden: false, weight: 5 } as const
  const own = lineOf(difference.id, points, address)
  const caption = pinCaption(difference)
  const id = pinId(clip.id, difference)
  const spot: ImagePoint = [Math.round(clip.width * 0.03), Math.round(clip.height * (heights[index] ?? 0.44))]
  if (!own) return [{ ...base, id, shape: 'dot', points: [spot], text: caption, ink: 'plain', dashed: false, weight: 2, order }]
  const map = similarityMap(transform)
  const other = lineOf(difference.id, reference, {})
  const beside: Mark[] = other && other.shape !== 'arrow'
    ? [{ ...base, id: `${id}${besideEnd}`, shape: other.shape, points: other.points.map((point) => apply(map, point)), text: '', ink: 'reference', dashed: true, order }] : []
  const line: Mark = { ...base, id: crowded ? `${id}${lineEnd}` : id, shape: own.shape, points: own.points, text: crowded ? '' : caption, ink: 'plain', dashed: false, order: order + 1 }
  return [...beside, line, ...(crowded ? [{ ...base, id, shape: 'dot', points: [spot], text: caption, ink: 'plain', dashed: false, weight: 2, order: order + 2 } satisfies Mark] : [])]
}
