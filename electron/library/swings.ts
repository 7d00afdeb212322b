import type { Swing } from '../../shared/contract/student.ts'
import type { Sqlite } from './database.ts'
import { all, one, put, run } from './statement.ts'

type SwingRow = Omit<Swing, 'tie'> & { tieLeft: number | null; tieRight: number | null }

const asSwing = ({ tieLeft, tieRight, ...row }: SwingRow): Swing => ({
  ...row,
  tie: tieLeft === null || tieRight === null ? null : { left: tieLeft, right: tieRight },
})

/** Newest first. */
export const listSwings = (db: Sqlite, limit?: number): Swing[] =>
  all<SwingRow>(db, 'SELECT * FROM swings ORDER BY createdAt DESC, id LIMIT ?', limit ?? -1).map(asSwing)

/** Swings by id, in the same order; those that are not there are left out. */
export function someSwings(db: Sqlite, ids: readonly string[]): Swing[] {
  const found = new Map(all<SwingRow>(db, 'SELECT * FROM swings WHERE id IN (SELECT value FROM json_each(?))', JSON.stringify(ids)).map((row) => [row.id, asSwing(row)]))
  return ids.flatMap((id) => found.get(id) ?? [])
}

/** All that any of these clips is part of, newest first. */
export function swingsOfClips(db: Sqlite, clipIds: readonly string[]): Swing[] {
  const list = JSON.stringify(clipIds)
  const wanted = '(SELECT value FROM json_each(?))'
  return all<SwingRow>(db, `SELECT * FROM swings WHERE leftClipId IN ${wanted} OR rightClipId IN ${wanted} ORDER BY createdAt DESC, id`, list, list).map(asSwing)
}

export function getSwing(db: Sqlite, id: string): Swing | null {
  const row = one<SwingRow>(db, 'SELECT * FROM swings WHERE id = ?', id)
  return row ? asSwing(row) : null
}

/** Saves a swing. A clip that belongs to no swing yet belongs to this one from now on. */
export function saveSwing(db: Sqlite, { tie, ...swing }: Swing): void {
  put(db, 'swings', { ...swing, tieLeft: tie?.left ?? null, tieRight: tie?.right ?? null })
  run(db, 'UPDATE clips SET swingId = ? WHERE swingId IS NULL AND id IN (?, ?)', swing.id, swing.leftClipId, swing.rightClipId)
}
