import { consentGap, type Delivery, type Student, type Swing } from '../../shared/contract/student.ts'
import type { ClipSummary } from '../../shared/contract/lists.ts'
import type { Output } from '../../shared/contract/operations.ts'

/** Clips as they lie on the table: two that are a pair, or one alone. */
export type Unit =
  | { readonly kind: 'pair'; readonly swing: Swing; readonly clips: readonly [ClipSummary, ClipSummary] }
  | { readonly kind: 'single'; readonly clip: ClipSummary }

/** What one student sent together. */
export interface Arrival {
  readonly key: string
  readonly student: Student | null
  readonly delivery: Delivery | null
  readonly receivedAt: number
  /** When a hand-off about it was finished, or null while the student waits. */
  readonly answeredAt: number | null
  /** Whether a student waits for an answer. Clips that no delivery brought, such as a reference swing's, wait for none. */
  readonly waits: boolean
  readonly units: readonly Unit[]
}

export const clipsOf = (unit: Unit): readonly ClipSummary[] => (unit.kind === 'pair' ? unit.clips : [unit.clip])

export const arrivalKey = ({ studentId, delivery }: Pick<Output<'arrival.page'>['items'][number], 'studentId' | 'delivery'>): string => `${studentId ?? ''} ${delivery?.id ?? ''}`

/** An arrival as the desk tells it, with its student, its clips as they lie. */
export function arrivalOf({ studentId, delivery, clips, swings, ...times }: Output<'arrival.page'>['items'][number], students: readonly Student[]): Arrival {
  const { receivedAt, answeredAt, waits } = times
  return { key: arrivalKey({ studentId, delivery }), student: students.find(({ id }) => id === studentId) ?? null, delivery, receivedAt, answeredAt, waits, units: unitsOf(clips, swings) }
}

/** Clips as they lie: pairs whose both clips are among them together, in order of filming. */
export function unitsOf(clips: readonly ClipSummary[], swings: readonly Swing[]): Unit[] {
  const byId = new Map(clips.map((clip) => [clip.id, clip]))
  const pairs = swings.flatMap((swing): Unit[] => {
    const left = byId.get(swing.leftClipId ?? '')
    const right = byId.get(swing.rightClipId ?? '')
    return left && right ? [{ kind: 'pair', swing, clips: [left, right] }] : []
  })
  const paired = new Set(pairs.flatMap(clipsOf))
  const alone = clips.filter((clip) => !paired.has(clip)).map((clip): Unit => ({ kind: 'single', clip }))
  const time = (unit: Unit): number => Math.min(...clipsOf(unit).map((clip) => clip.filmedAt ?? clip.takenInAt))
  return [...pairs, ...alone].toSorted((a, b) => time(a) - time(b))
}

/** The pair that a clip is part of, or null. */
export const pairOf = (clipId: string, swings: readonly Swing[]): Swing | null =>
  swings.find(({ leftClipId, rightClipId }) => leftClipId !== null && rightClipId !== null && (leftClipId === clipId || rightClipId === clipId)) ?? null

/** Face-on goes to the left pane, down the line to the right; else in the order in which they were chosen. */
export function sides<C extends Pick<ClipSummary, 'view'>>(a: C, b: C): readonly [C, C] {
  const swapped = a.view !== b.view && (b.view === 'face-on' || a.view === 'down-the-line')
  return swapped ? [b, a] : [a, b]
}

/** The gap in a student's consent on a day, as one sentence; null where there is none or no student. */
export const gapOf = (student: Student | null, today: string): string | null => (student ? consentGap(student, today) : null)
