import type { EditChange } from '../../shared/walkthrough/editSteps.ts'
import { applyChange, EditConflict, isNoChange, reverseChange } from '../../shared/walkthrough/editSteps.ts'
import { takesIn, untouched, type Edits, type Take } from '../../shared/walkthrough/edits.ts'
import { parseLog } from '../../shared/walkthrough/log.ts'
import { DeskError } from '../../shared/contract/errors.ts'
import type { Lesson, LessonTake } from '../../shared/contract/lesson.ts'
import type { Walkthrough } from '../../shared/contract/walkthrough.ts'
import { addStep, changesBetween, getLesson, goToStep, listSteps, takesOfLesson, type StoredLesson } from '../library/lessons.ts'
import type { Sqlite } from '../library/database.ts'
import { clipsOfWalkthrough, getWalkthrough } from '../library/walkthroughs.ts'
import type { DeskContext } from './context.ts'
import { soundPath } from './recordings.ts'

type Parts = Pick<DeskContext, 'library' | 'recordings'>

const known = (db: Sqlite, id: string): Walkthrough => {
  const found = getWalkthrough(db, id)
  if (!found) throw new DeskError('not-found', 'This lesson is not in the library any more.', { where: id })
  return found
}

/** The lists of lessons that were never edited: a function of their recordings, which do not change once they are whole. */
const untouchedLists = new WeakMap<object, Map<string, Edits>>()

function untouchedList({ recordings }: Parts, { id, durationMs, state }: Walkthrough): Edits {
  let lists = untouchedLists.get(recordings)
  if (!lists) untouchedLists.set(recordings, (lists = new Map()))
  const kept = lists.get(id)
  if (kept) return kept
  const list = untouched({ id, log: parseLog(recordings.log(id)), durationMs })
  if (state !== 'recording') lists.set(id, list)
  return list
}

function stored(parts: Parts, lesson: Walkthrough): StoredLesson {
  return getLesson(parts.library.db, lesson.id) ?? { edits: untouchedList(parts, lesson), step: 0, version: 0 }
}

/** A lesson's edit list as it is now. */
export const readEdits = (parts: Parts, id: string): StoredLesson => stored(parts, known(parts.library.db, id))

/** The recordings of a lesson, its first one first. */
function takesOf(db: Sqlite, first: Walkthrough): LessonTake[] {
  const others = takesOfLesson(db, first.id).flatMap(({ takeId, own, place }) => {
    const take = getWalkthrough(db, takeId)
    return take ? [{ ...take, own, place }] : []
  })
  return [{ ...first, own: true, place: null }, ...others]
}

export function readLesson(parts: Parts, id: string): Lesson {
  const { db } = parts.library
  const first = known(db, id)
  return { id, ...stored(parts, first), steps: listSteps(db, id), takes: takesOf(db, first) }
}

const meanwhile = (title: string): DeskError =>
  new DeskError('bad-input', 'This lesson was edited elsewhere meanwhile; what you did last is not in it.', { where: title, remedy: 'Look at it as it is now, and do it again.' })

/** Makes a step. Refused where the lesson has changed since `version`, or where the step shows a recording that is not there. */
export function applyStep(parts: Parts, id: string, version: number, name: string, change: EditChange, madeAt: number): Lesson {
  const { db } = parts.library
  const first = known(db, id)
  const before = stored(parts, first)
  if (before.version !== version) throw meanwhile(first.title)
  if (isNoChange(change)) return readLesson(parts, id)
  let edits: Edits
  try {
    edits = applyChange(before.edits, change)
  } catch (error) {
    if (error instanceof EditConflict) throw meanwhile(first.title)
    throw error
  }
  // What an earlier step showed may have been deleted since; what this one adds must be there.
  for (const piece of change.pieces?.added ?? []) {
    if (piece.kind === 'card') continue
    const take = getWalkthrough(db, piece.takeId)
    if (!take || take.state === 'recording') throw new DeskError('not-found', 'A recording that this step puts into the lesson is not in the library.', { where: piece.takeId })
    const end = piece.kind === 'take' ? piece.to : piece.at
    if (end > Math.max(1, Math.round(take.durationMs * 48)) + 1) throw new DeskError('bad-input', 'A piece goes beyond the end of its recording.', { where: take.title })
  }
  addStep(db, id, { edits, step: before.step + 1, version: version + 1 }, { name, change, madeAt }, takesIn(edits))
  return readLesson(parts, id)
}

/** Goes to another step of the lesson's own: back is undoing, on is doing again. */
export function toStep(parts: Parts, id: string, version: number, to: number): Lesson {
  const { db } = parts.library
  const first = known(db, id)
  const now = stored(parts, first)
  if (now.version !== version) throw meanwhile(first.title)
  const last = listSteps(db, id).at(-1)?.number ?? 0
  if (to > last) throw new DeskError('bad-input', `This lesson has ${last} steps; there is no step ${to}.`, { where: first.title })
  if (to === now.step) return readLesson(parts, id)
  const changes = to < now.step ? changesBetween(db, id, to, now.step).reverse().map(reverseChange) : changesBetween(db, id, now.step, to)
  goToStep(db, id, { edits: changes.reduce(applyChange, now.edits), step: to, version: version + 1 })
  return readLesson(parts, id)
}

/** A recording of a lesson for whoever renders it. */
export interface TakeSource extends Take {
  readonly sampleRate: number
  /** Bare mono 16-bit little-endian samples at that rate; sample 0 is time 0 of the log. */
  readonly soundPath: string
}

/** All that a lesson is made of: its edit list and the recordings that the list shows. Feed both to `editedReplay`. */
export function lessonSource(parts: Parts, id: string): { readonly edits: Edits; readonly takes: readonly TakeSource[] } {
  const { library, recordings } = parts
  const { edits } = stored(parts, known(library.db, id))
  const takes = takesIn(edits).flatMap((takeId) => {
    const take = getWalkthrough(library.db, takeId)
    return take ? [{ id: takeId, log: parseLog(recordings.log(takeId)), durationMs: take.durationMs, sampleRate: take.sampleRate, soundPath: soundPath(library, takeId) }] : []
  })
  return { edits, takes }
}

/** Clips that an edited lesson shows, of all the recordings in it: whose consent it needs. */
export const clipsOfLesson = (parts: Parts, id: string): string[] =>
  [...new Set(takesIn(stored(parts, known(parts.library.db, id)).edits).flatMap((takeId) => clipsOfWalkthrough(parts.library.db, takeId)))]
