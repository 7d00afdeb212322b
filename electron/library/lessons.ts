import type { EditStep, TakePlace } from '../../shared/contract/lesson.ts'
import { editsSchema, type Edits } from '../../shared/walkthrough/edits.ts'
import { editChangeSchema, type EditChange } from '../../shared/walkthrough/editSteps.ts'
import type { Sqlite } from './database.ts'
import { all, one, put, run } from './statement.ts'

/** What is on record of a lesson that was edited. */
export interface StoredLesson {
  readonly edits: Edits
  readonly step: number
  readonly version: number
}

/** Null for a lesson that was never edited. */
export function getLesson(db: Sqlite, id: string): StoredLesson | null {
  const row = one<{ edits: string; step: number; version: number }>(db, 'SELECT edits, step, version FROM lessons WHERE id = ?', id)
  return row ? { ...row, edits: editsSchema.parse(JSON.parse(row.edits)) } : null
}

export const listSteps = (db: Sqlite, lessonId: string): EditStep[] =>
  all<EditStep>(db, 'SELECT number, name, madeAt FROM editSteps WHERE lessonId = ? ORDER BY number', lessonId)

/** Changes from step `after` on to step `to`, in order. */
export const changesBetween = (db: Sqlite, lessonId: string, after: number, to: number): EditChange[] =>
  all<{ change: string }>(db, 'SELECT change FROM editSteps WHERE lessonId = ? AND number > ? AND number <= ? ORDER BY number', lessonId, after, to).map(({ change }) => editChangeSchema.parse(JSON.parse(change)))

const putLesson = (db: Sqlite, id: string, { edits, step, version }: StoredLesson): void => put(db, 'lessons', { id, edits: JSON.stringify(edits), step, version })

/** A new step after the last one that is done; what had been undone beyond it goes. */
export function addStep(db: Sqlite, id: string, lesson: StoredLesson, { name, change, madeAt }: { readonly name: string; readonly change: EditChange; readonly madeAt: number }, takeIds: readonly string[]): void {
  db.transaction(() => {
    putLesson(db, id, lesson)
    run(db, 'DELETE FROM editSteps WHERE lessonId = ? AND number >= ?', id, lesson.step)
    run(db, 'INSERT INTO editSteps (lessonId, number, name, change, madeAt) VALUES (?, ?, ?, ?, ?)', id, lesson.step, name, JSON.stringify(change), madeAt)
    for (const takeId of takeIds) if (takeId !== id) run(db, 'INSERT OR IGNORE INTO lessonTakes (lessonId, takeId, own, place) VALUES (?, ?, 0, NULL)', id, takeId)
  }).immediate()
}

/** Puts the list of another step in place; the steps themselves stay. */
export const goToStep = (db: Sqlite, id: string, lesson: StoredLesson): void => db.transaction(() => putLesson(db, id, lesson)).immediate()

/** Notes that a recording is being made to be put into a lesson. */
export const addOwnTake = (db: Sqlite, lessonId: string, takeId: string, place: TakePlace): number =>
  run(db, 'INSERT INTO lessonTakes (lessonId, takeId, own, place) VALUES (?, ?, 1, ?)', lessonId, takeId, JSON.stringify(place))

export const takesOfLesson = (db: Sqlite, lessonId: string): { takeId: string; own: boolean; place: TakePlace | null }[] =>
  all<{ takeId: string; own: number; place: string | null }>(
    db,
    'SELECT takeId, own, place FROM lessonTakes JOIN walkthroughs ON walkthroughs.id = takeId WHERE lessonId = ? ORDER BY own DESC, createdAt, takeId',
    lessonId,
  ).map(({ takeId, own, place }) => ({ takeId, own: own === 1, place: place === null ? null : (JSON.parse(place) as TakePlace) }))

/** The lesson that a recording was made to be put into; null for a lesson's first recording. */
export const ownerOfTake = (db: Sqlite, takeId: string): string | null =>
  one<{ lessonId: string }>(db, 'SELECT lessonId FROM lessonTakes WHERE takeId = ? AND own = 1', takeId)?.lessonId ?? null
