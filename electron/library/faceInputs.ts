import { faceInputSchema, type FaceInput } from '../../shared/contract/faceInput.ts'
import type { Sqlite } from './database.ts'
import { one, run } from './statement.ts'

/** Of what was said of face and path with these clips, the newest. */
export function keptFaceInput(db: Sqlite, clipIds: readonly string[]): FaceInput | null {
  const row = one<{ record: string }>(db, 'SELECT record FROM faceInputs WHERE clipId IN (SELECT value FROM json_each(?)) ORDER BY keptAt DESC LIMIT 1', JSON.stringify(clipIds))
  // One that an older program wrote and this one does not understand is as good as none.
  return row ? faceInputSchema.safeParse(JSON.parse(row.record)).data ?? null : null
}

/** Answers with how many clips it was kept with, or taken from. */
export function keepFaceInput(db: Sqlite, clipIds: readonly string[], input: FaceInput | null, at: number): number {
  return db.transaction(() => clipIds.reduce((kept, clipId) => kept + (input
    ? run(
      db,
      `INSERT INTO faceInputs (clipId, record, keptAt) SELECT id, ?, ? FROM clips WHERE id = ?
       ON CONFLICT (clipId) DO UPDATE SET record = excluded.record, keptAt = excluded.keptAt`,
      JSON.stringify(input), at, clipId,
    )
    : run(db, 'DELETE FROM faceInputs WHERE clipId = ?', clipId)), 0))()
}
