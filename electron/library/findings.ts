import type { Finding, FindingOrder } from '../../shared/contract/finding.ts'
import type { Sqlite } from './database.ts'
import { all, one, put, run } from './statement.ts'

type Columns = 'id' | 'clipId' | 'swingId' | 'saw' | 'role' | 'createdAt'
type FindingRow = Pick<Finding, Columns> & { record: string; shown: number; place: number }

const asFinding = ({ record, shown, place, ...row }: FindingRow): Finding =>
  ({ ...row, ...(JSON.parse(record) as Omit<Finding, Columns | 'shown' | 'order'>), shown: shown === 1, order: place })

const rank = `CASE role WHEN 'cause' THEN 0 WHEN 'follows' THEN 1 ELSE 2 END`

/** The findings on some clips: the cause, then what follows, then what is kept aside, each in the coach's order. */
export const findingsOfClips = (db: Sqlite, clipIds: readonly string[]): Finding[] =>
  all<FindingRow>(db, `SELECT * FROM findings WHERE clipId IN (SELECT value FROM json_each(?)) ORDER BY ${rank}, place, createdAt, id`, JSON.stringify(clipIds)).map(asFinding)

export function getFinding(db: Sqlite, id: string): Finding | null {
  const row = one<FindingRow>(db, 'SELECT * FROM findings WHERE id = ?', id)
  return row ? asFinding(row) : null
}

export const saveFinding = (db: Sqlite, { id, clipId, swingId, saw, shown, role, order, createdAt, ...record }: Finding): void =>
  put(db, 'findings', { id, clipId, swingId, saw, record: JSON.stringify(record), shown: shown ? 1 : 0, role, place: order, createdAt })

export const removeFinding = (db: Sqlite, id: string): number => run(db, 'DELETE FROM findings WHERE id = ?', id)

/** Puts findings in their places, all of them or none; answers with how many were found. */
export function arrangeFindings(db: Sqlite, { cause, follows, aside }: FindingOrder): number {
  const place = (role: Finding['role'], ids: readonly string[]): number =>
    ids.reduce((sum, id, i) => sum + run(db, 'UPDATE findings SET role = ?, place = ? WHERE id = ?', role, i, id), 0)
  return db.transaction(() => place('cause', cause === null ? [] : [cause]) + place('follows', follows) + place('aside', aside)).immediate()
}
