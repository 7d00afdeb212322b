import { consentGap, type Delivery, type Student, type Swing } from '../../shared/contract/student.ts'
import type { ClipSummary, Library } from '../ui/libraryStore.ts'

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

export interface ArrivalFilter {
  readonly studentId: string | null
  /** Words that must all be found in the student, the question, the feel, a file's name, a club, a view or a note. */
  readonly text: string
  readonly show: 'waiting' | 'all'
}

type Lists = Pick<Library, 'students' | 'deliveries' | 'clips' | 'swings' | 'walkthroughs' | 'handoffs'>

export const clipsOf = (unit: Unit): readonly ClipSummary[] => (unit.kind === 'pair' ? unit.clips : [unit.clip])

/**
 * What came in, by student and delivery: those who wait first, the longest wait on top; below them what was answered or
 * waits for no answer, the newest on top.
 */
export function arrivals(lists: Lists, filter: ArrivalFilter): Arrival[] {
  const students = new Map(lists.students.map((student) => [student.id, student]))
  const deliveries = new Map(lists.deliveries.map((delivery) => [delivery.id, delivery]))
  const known = indexed(lists)
  const byKey = Map.groupBy(lists.clips, (clip) => `${clip.studentId ?? ''} ${clip.deliveryId ?? ''}`)
  const words = filter.text.toLowerCase().split(/\s+/).filter(Boolean)
  const found: Arrival[] = []
  for (const [key, clips] of byKey) {
    const { studentId, deliveryId } = clips[0]!
    if (filter.studentId !== null && studentId !== filter.studentId) continue
    const student = studentId === null ? null : (students.get(studentId) ?? null)
    const delivery = deliveryId === null ? null : (deliveries.get(deliveryId) ?? null)
    const receivedAt = delivery?.receivedAt ?? Math.min(...clips.map((clip) => clip.takenInAt))
    const answered = answeredAt(known, clips, studentId, receivedAt)
    const arrival: Arrival = { key, student, delivery, receivedAt, answeredAt: answered, waits: answered === null && deliveryId !== null, units: units(clips, known) }
    if (filter.show === 'waiting' && !arrival.waits) continue
    if (words.length && !holds(arrival, words)) continue
    found.push(arrival)
  }
  return found.toSorted((a, b) =>
    a.waits === b.waits ? (a.waits ? a.receivedAt - b.receivedAt : b.receivedAt - a.receivedAt) : (a.waits ? -1 : 1))
}

/** What belongs to a clip, a swing, a student, looked up once for all groups: a library may hold a hundred thousand clips. */
interface Indexed {
  readonly swingsOfClip: ReadonlyMap<string, readonly Swing[]>
  /** When hand-offs were finished, by the swing that they are about. */
  readonly ofSwing: ReadonlyMap<string, readonly number[]>
  /** The same for those about no one swing, by student. */
  readonly ofStudent: ReadonlyMap<string, readonly number[]>
}

function indexed({ swings, walkthroughs, handoffs }: Lists): Indexed {
  const swingsOfClip = new Map<string, Swing[]>()
  const add = <V,>(map: Map<string, V[]>, key: string | null, value: V): void => {
    if (key === null) return
    const there = map.get(key)
    if (there) there.push(value)
    else map.set(key, [value])
  }
  for (const swing of swings) for (const id of new Set([swing.leftClipId, swing.rightClipId])) add(swingsOfClip, id, swing)
  const [ofSwing, ofStudent] = [new Map<string, number[]>(), new Map<string, number[]>()]
  const about = new Map(walkthroughs.map((walkthrough) => [walkthrough.id, walkthrough]))
  for (const { path, walkthroughId, createdAt } of handoffs) {
    const walkthrough = about.get(walkthroughId)
    if (path === null || !walkthrough) continue
    if (walkthrough.swingId === null) add(ofStudent, walkthrough.studentId, createdAt)
    else add(ofSwing, walkthrough.swingId, createdAt)
  }
  return { swingsOfClip, ofSwing, ofStudent }
}

/** The earliest finished hand-off after the clips came in that is about one of their swings, or about the student at large. */
function answeredAt({ swingsOfClip, ofSwing, ofStudent }: Indexed, clips: readonly ClipSummary[], studentId: string | null, receivedAt: number): number | null {
  const swings = new Set(clips.flatMap((clip) => swingsOfClip.get(clip.id) ?? []).map((swing) => swing.id))
  const times = [...swings].flatMap((id) => ofSwing.get(id) ?? []).concat(studentId === null ? [] : (ofStudent.get(studentId) ?? [])).filter((at) => at >= receivedAt)
  return times.length ? Math.min(...times) : null
}

function units(clips: readonly ClipSummary[], { swingsOfClip }: Indexed): Unit[] {
  const swings = new Set(clips.flatMap((clip) => swingsOfClip.get(clip.id) ?? []))
  const byId = new Map(clips.map((clip) => [clip.id, clip]))
  const pairs = [...swings].flatMap((swing): Unit[] => {
    const left = byId.get(swing.leftClipId ?? '')
    const right = byId.get(swing.rightClipId ?? '')
    return left && right ? [{ kind: 'pair', swing, clips: [left, right] }] : []
  })
  const paired = new Set(pairs.flatMap(clipsOf))
  const alone = clips.filter((clip) => !paired.has(clip)).map((clip): Unit => ({ kind: 'single', clip }))
  const time = (unit: Unit): number => Math.min(...clipsOf(unit).map((clip) => clip.filmedAt ?? clip.takenInAt))
  return [...pairs, ...alone].toSorted((a, b) => time(a) - time(b))
}

function holds({ student, delivery, units: list }: Arrival, words: readonly string[]): boolean {
  const clips = list.flatMap(clipsOf)
  const text = [student?.name, delivery?.question, delivery?.feel, ...clips.flatMap((clip) => [clip.fileName, clip.club, clip.view.replaceAll('-', ' '), clip.note])]
    .filter(Boolean).join('\n').toLowerCase()
  return words.every((word) => text.includes(word))
}

/** The pair that a clip is part of, or null. */
export const pairOf = (clipId: string, swings: readonly Swing[]): Swing | null =>
  swings.find(({ leftClipId, rightClipId }) => leftClipId !== null && rightClipId !== null && (leftClipId === clipId || rightClipId === clipId)) ?? null

/** Face-on goes to the left pane, down the line to the right; else in the order in which they were chosen. */
export function sides<C extends Pick<ClipSummary, 'view'>>(a: C, b: C): readonly [C, C] {
  const swapped = a.view !== b.view && (b.view === 'face-on' || a.view === 'down-the-line')
  return swapped ? [b, a] : [a, b]
}

/** Students as the column lists them: who waits longest first, then by name. */
export function studentsInOrder(lists: Lists): { student: Student; waitsSince: number | null; answered: boolean; clips: number }[] {
  const waiting = arrivals(lists, { studentId: null, text: '', show: 'waiting' })
  const waits = new Map<string, number>()
  // They stand in order, the longest wait first.
  for (const { student, receivedAt } of waiting) if (student && !waits.has(student.id)) waits.set(student.id, receivedAt)
  const clips = new Map<string, number>()
  for (const { studentId } of lists.clips) if (studentId !== null) clips.set(studentId, (clips.get(studentId) ?? 0) + 1)
  const sent = new Set(lists.deliveries.map((delivery) => delivery.studentId))
  return lists.students
    .map((student) => ({
      student,
      waitsSince: waits.get(student.id) ?? null,
      answered: sent.has(student.id),
      clips: clips.get(student.id) ?? 0,
    }))
    .toSorted((a, b) => (a.waitsSince ?? Infinity) - (b.waitsSince ?? Infinity) || a.student.name.localeCompare(b.student.name))
}

/** The gap in a student's consent on a day, as one sentence; null where there is none or no student. */
export const gapOf = (student: Student | null, today: string): string | null => (student ? consentGap(student, today) : null)
