import { repeatabilitySchema, type RepeatabilityFigure } from '../../shared/contract/repeatability.ts'
import type { Sqlite } from './database.ts'
import { put, run } from './statement.ts'

/** A student's figure as it is kept; null for none, or for one that is not understood. */
export const readRepeatability = (record: string | null): RepeatabilityFigure | null =>
  record === null ? null : (repeatabilitySchema.safeParse(JSON.parse(record)).data ?? null)

/** Sets a student's figure, or with null forgets it. */
export function setRepeatability(db: Sqlite, studentId: string, figure: RepeatabilityFigure | null): void {
  if (figure) put(db, 'repeatability', { studentId, record: JSON.stringify(figure) }, 'studentId')
  else run(db, 'DELETE FROM repeatability WHERE studentId = ?', studentId)
}
