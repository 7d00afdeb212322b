import type { RecordsDiff } from '../../shared/markup/diff.ts'
import type { Mark } from '../../shared/markup/mark.ts'
import type { Sqlite } from './database.ts'
import { all, put, run } from './statement.ts'

export const listMarks = (db: Sqlite, clipIds: readonly string[]): Mark[] =>
  all<{ record: string }>(db, 'SELECT record FROM marks WHERE clipId IN (SELECT value FROM json_each(?))', JSON.stringify(clipIds)).map(
    (row) => JSON.parse(row.record) as Mark,
  )

/** Puts a diff on disk, wholly or not at all; answers with the number of marks it touched. Applying it twice does no harm. */
export function applyMarks(db: Sqlite, diff: RecordsDiff<Mark>): number {
  const saved = [...Object.values(diff.added), ...Object.values(diff.updated).map(([, after]) => after)]
  const removed = Object.keys(diff.removed)
  db.transaction(() => {
    for (const mark of saved) put(db, 'marks', { id: mark.id, clipId: mark.clipId, record: JSON.stringify(mark) })
    for (const id of removed) run(db, 'DELETE FROM marks WHERE id = ?', id)
  }).immediate()
  return saved.length + removed.length
}
