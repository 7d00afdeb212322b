import type { Digitised, MarkSet } from '../../shared/contract/digitising.ts'
import { DeskError } from '../../shared/contract/errors.ts'
import type { RecordsDiff } from '../../shared/markup/diff.ts'
import { digitisedFault } from '../../shared/swing/digitised.ts'
import { getClip } from './clips.ts'
import type { Sqlite } from './database.ts'
import { all, put, run } from './statement.ts'

export const listDigitised = (db: Sqlite, clipIds: readonly string[]): Digitised[] =>
  all<{ record: string }>(db, 'SELECT record FROM digitised WHERE clipId IN (SELECT value FROM json_each(?)) ORDER BY id', JSON.stringify(clipIds)).map((row) => JSON.parse(row.record) as Digitised)

/**
 * Puts a diff on disk, wholly or not at all; answers with the number of records it touched. What does not hold together
 * afterwards (a point off the picture, positions out of order) is refused in one sentence. Applying it twice does no harm.
 */
export function applyDigitised(db: Sqlite, diff: RecordsDiff<Digitised>): number {
  const saved = [...Object.values(diff.added), ...Object.values(diff.updated).map(([, after]) => after)]
  const removed = Object.keys(diff.removed)
  db.transaction(() => {
    for (const id of removed) run(db, 'DELETE FROM digitised WHERE id = ?', id)
    const clips = new Map([...new Set(saved.map((record) => record.clipId))].map((id) => [id, getClip(db, id)]))
    for (const [id, clip] of clips) if (!clip) throw new DeskError('not-found', 'This clip is not in the library any more.', { where: id })
    for (const record of saved) put(db, 'digitised', { id: record.id, clipId: record.clipId, record: JSON.stringify(record) })
    for (const clip of clips.values()) {
      const fault = digitisedFault(listDigitised(db, [clip!.id]), clip!)
      if (fault) throw new DeskError('bad-input', fault, { where: clip!.fileName, remedy: 'Nothing of this change was saved.' })
    }
  }).immediate()
  return saved.length + removed.length
}

export const listMarkSets = (db: Sqlite): MarkSet[] => all<{ record: string }>(db, 'SELECT record FROM markSets ORDER BY name').map((row) => JSON.parse(row.record) as MarkSet)

/** Saves a set; one of the same name gives way to it. */
export function saveMarkSet(db: Sqlite, set: MarkSet): void {
  db.transaction(() => {
    run(db, 'DELETE FROM markSets WHERE name = ? AND id <> ?', set.name, set.id)
    put(db, 'markSets', { id: set.id, name: set.name, record: JSON.stringify(set) })
  }).immediate()
}

export const removeMarkSet = (db: Sqlite, id: string): number => run(db, 'DELETE FROM markSets WHERE id = ?', id)
