import type { Clip } from '../../../shared/contract/clip.ts'
import type { ClickError } from '../../../shared/contract/digitising.ts'
import type { Student, Swing } from '../../../shared/contract/student.ts'
import { isOnPins } from '../../../shared/compare/pins.ts'
import { measureRecords, type Measured } from '../../../shared/compare/measureRecords.ts'
import type { MeasuredClip } from '../../../shared/swing/assemble.ts'
import type { PaneId, Stage, StageClips } from '../../../shared/walkthrough/stage.ts'
import type { BenchRequest } from '../../ui/appStore.ts'
import type { Bridge } from '../../bridge/index.ts'
import type { ClipSummary } from '../../ui/libraryStore.ts'
import { viewWords } from '../../ui/words.ts'
import type { Beside } from './compareState.ts'

/** What the comparison needs to know of the library: the clips on the panes, and everybody. */
export interface Known {
  readonly clips: readonly ClipSummary[]
  readonly students: readonly Student[]
}

const listOf = (swing: Swing): string[] => [swing.leftClipId, swing.rightClipId].filter((id) => id !== null)

/** Fetches a reference's clips and what was placed on them; what it measures comes later. */
export async function loadReference(desk: Bridge, request: BenchRequest, known: Known): Promise<Beside> {
  const swing = 'swingId' in request ? (await desk.call('swing.some', { ids: [request.swingId] }))[0] ?? null : null
  const ids = 'clipId' in request ? [request.clipId] : swing ? listOf(swing) : []
  if (ids.length === 0) throw new Error('This swing is not in the library any more, or has no clips. Choose another one.')
  const [clips, records, marks] = await Promise.all([
    Promise.all(ids.map((id) => desk.call('clip.get', { id }))),
    desk.call('digitising.list', { clipIds: ids }),
    desk.call('marks.list', { clipIds: ids }),
  ])
  const student = known.students.find(({ id }) => id === clips[0]!.studentId) ?? null
  return {
    key: 'clipId' in request ? request.clipId : request.swingId, swing, student, clips,
    title: [student?.name ?? 'No student', swing?.title || clips[0]!.club, clips.length === 1 ? viewWords[clips[0]!.view].toLowerCase() : ''].filter(Boolean).join(', '),
    // What was pinned on it is of another comparison.
    marks: marks.filter(({ id, clipId, hidden }) => !hidden && !isOnPins(clipId, id)),
    table: Object.fromEntries(records.map((record) => [record.id, record])), measured: null,
  }
}

/** The reference measured by the very code that measures the student. */
export function measureReference({ clips, swing, student, table }: Beside, clickError: ClickError): Measured {
  const [left, right] = clips as readonly (Clip | undefined)[]
  const isPair = left !== undefined && right !== undefined && [left.view, right.view].toSorted().join() === 'down-the-line,face-on'
  const measured = isPair ? [left, right] : clips.filter(({ view }) => view !== 'other').slice(0, 1)
  if (measured.length === 0) return { kind: 'none', reasons: ['It was filmed from another side; measures are had face-on and down the line.'] }
  const club = clips[0]!.club
  return measureRecords({
    clips: measured as readonly MeasuredClip[],
    oneSwing: swing?.pairing === 'one-swing', tie: isPair ? swing?.tie ?? null : null,
    statureM: student?.statureM ?? null,
    repeatability: student?.repeatability ?? null,
    club: club === '' ? null : { kind: club, lengthM: student?.clubs.find(({ kind }) => kind.toLowerCase() === club.toLowerCase())?.lengthM ?? null },
    records: table, clickError,
  })
}

/** Which of the reference's clips belongs beside each pane, and what must be said of it. */
export function seatClips(stage: Pick<Stage, 'panes' | 'active'>, known: StageClips, beside: Beside): { readonly clips: readonly [Clip | null, Clip | null]; readonly notes: readonly string[] } {
  const seats: [Clip | null, Clip | null] = [null, null]
  const notes: string[] = []
  const panes = ([0, 1] as const).flatMap((pane) => {
    const { clipId } = stage.panes[pane]
    const own = clipId === null ? undefined : known[clipId]
    return own ? [{ pane, own }] : []
  })
  for (const { pane, own } of panes) seats[pane] = beside.clips.find(({ view }) => view === own.view) ?? null
  const bare = panes.filter(({ pane }) => seats[pane] === null)
  if (panes.length > 0 && bare.length === panes.length) {
    // No view fits: the coach asked for it all the same, and gets it with a word of warning.
    const pane: PaneId = panes.some((one) => one.pane === stage.active) ? stage.active : panes[0]!.pane
    const own = panes.find((one) => one.pane === pane)!.own
    const clip = beside.clips[0]!
    seats[pane] = clip
    notes.push(`The reference was filmed ${lower(clip.view)}, the student ${lower(own.view)}: places and angles cannot be compared by eye.`)
  } else for (const { own } of bare) notes.push(`The reference has no ${own.view === 'other' ? 'clip from that side' : `${lower(own.view)} clip`}, so the student's stands alone there.`)
  return { clips: seats, notes }
}

const lower = (view: Clip['view']): string => (view === 'other' ? 'from another side' : viewWords[view].toLowerCase())

/** What makes two swings less alike than they seem, in sentences. */
export function unlike(own: Clip | ClipSummary | undefined, reference: Clip): string[] {
  const notes: string[] = []
  if (own && own.handedness !== reference.handedness) notes.push(`The reference plays ${reference.handedness}-handed and stands mirrored; key 7 shows it as it was filmed.`)
  else if (own && (own.mirrored ?? false) !== (reference.mirrored ?? false)) notes.push(`${reference.mirrored ? 'The reference' : 'The student'} was filmed mirrored and is turned back.`)
  if (own && own.club !== '' && reference.club !== '' && own.club.toLowerCase() !== reference.club.toLowerCase()) notes.push(`Not the same club: ${own.club} here, ${reference.club} there.`)
  if (own && Math.abs(own.captureRate / reference.captureRate - 1) > 0.01) notes.push(`Filmed at ${Math.round(own.captureRate)} frames a second here, ${Math.round(reference.captureRate)} there: each instant has the nearest frame beside it.`)
  return notes
}

