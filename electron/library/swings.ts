import type { Swing } from '../../shared/contract/student.ts'
import type { Sqlite } from './database.ts'
import { all, one, put, run } from './statement.ts'

type SwingRow = Omit<Swing, 'tie'> & { tieLeft: number | null; tieRight: number | null }

const asSwing = ({ tieLeft, tieRight, ...row }: SwingRow): Swing => ({
  ...row,
  tie: tieLeft === null || tieRight === null ? null : { left: tieLeft, right: tieRight },
})

export const listSwings = (db: Sqlite): Swing[] => all<SwingRow>(db, 'SELECT * FROM swings ORDER BY createdAt DESC, id').map(asSwing)

export function getSwing(db: Sqlite, id: string): Swing | null {
  const row = one<SwingRow>(db, 'SELECT * FROM swings WHERE id = ?', id)
  return row ? asSwing(row) : null
}

/** Saves a swing. A clip that belongs to no swing yet belongs to this one from now on. */
export function saveSwing(db: Sqlite, { tie, ...swing }: Swing): void {
  put(db, 'swings', { ...swing, tieLeft: tie?.left ?? null, tieRight: tie?.right ?? null })
  run(db, 'UPDATE clips SET swingId = ? WHERE swingId IS NULL AND id IN (?, ?)', swing.id, swing.leftClipId, swing.rightClipId)
}
