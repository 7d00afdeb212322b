import { keptComparisonSchema, type KeptComparison } from '../../shared/contract/comparison.ts'
import type { Sqlite } from './database.ts'
import { one, run } from './statement.ts'

/** Of the comparisons kept with these clips the newest. */
export function keptComparison(db: Sqlite, clipIds: readonly string[]): KeptComparison | null {
  const row = one<{ record: string }>(db, 'SELECT record FROM comparisons WHERE clipId IN (SELECT value FROM json_each(?)) ORDER BY keptAt DESC LIMIT 1', JSON.stringify(clipIds))
  // One that an older program wrote and this one does not understand is as good as none.
  return row ? keptComparisonSchema.safeParse(JSON.parse(row.record)).data ?? null : null
}

/** Answers with how many clips it was kept with. */
export function keepComparison(db: Sqlite, clips: readonly { readonly clipId: string; readonly referenceClipId: string }[], comparison: KeptComparison, at: number): number {
  const record = JSON.stringify(comparison)
  return db.transaction(() => clips.reduce((kept, { clipId, referenceClipId }) => kept + run(
    db,
    `INSERT INTO comparisons (clipId, referenceClipId, record, keptAt)
     SELECT own.id, other.id, ?, ? FROM clips own, clips other WHERE own.id = ? AND other.id = ?
     ON CONFLICT (clipId) DO UPDATE SET referenceClipId = excluded.referenceClipId, record = excluded.record, keptAt = excluded.keptAt`,
    record, at, clipId, referenceClipId,
  ), 0))()
}
