import type { Walkthrough } from '../../shared/contract/walkthrough.ts'
import type { Sqlite } from './database.ts'
import { all, one, put, run } from './statement.ts'

type WalkthroughRow = Omit<Walkthrough, 'durationMs'> & { samples: number }

const asWalkthrough = ({ samples, ...row }: WalkthroughRow): Walkthrough => ({ ...row, durationMs: (samples / row.sampleRate) * 1000 })

const withOwner = 'SELECT walkthroughs.*, (SELECT lessonId FROM lessonTakes WHERE takeId = walkthroughs.id AND own = 1) AS takeOf FROM walkthroughs'

export const listWalkthroughs = (db: Sqlite): Walkthrough[] =>
  all<WalkthroughRow>(db, `${withOwner} ORDER BY createdAt DESC, id`).map(asWalkthrough)

export function getWalkthrough(db: Sqlite, id: string): Walkthrough | null {
  const row = one<WalkthroughRow>(db, `${withOwner} WHERE id = ?`, id)
  return row ? asWalkthrough(row) : null
}

export function addWalkthrough(db: Sqlite, walkthrough: Omit<Walkthrough, 'durationMs' | 'takeOf'>, clipIds: readonly string[]): void {
  db.transaction(() => {
    put(db, 'walkthroughs', { ...walkthrough, samples: 0 })
    for (const clipId of clipIds) run(db, 'INSERT INTO walkthroughClips (walkthroughId, clipId) VALUES (?, ?)', walkthrough.id, clipId)
  }).immediate()
}

/** Clips that came into a walkthrough while it was recorded. */
export function addClipsToWalkthrough(db: Sqlite, id: string, clipIds: readonly string[]): void {
  db.transaction(() => {
    for (const clipId of clipIds) run(db, 'INSERT OR IGNORE INTO walkthroughClips (walkthroughId, clipId) VALUES (?, ?)', id, clipId)
  }).immediate()
}

export const endWalkthrough = (db: Sqlite, id: string, state: Walkthrough['state'], samples: number): number =>
  run(db, 'UPDATE walkthroughs SET state = ?, samples = ? WHERE id = ?', state, samples, id)

export const renameWalkthrough = (db: Sqlite, id: string, title: string): number =>
  run(db, 'UPDATE walkthroughs SET title = ? WHERE id = ?', title, id)

/** Clips that a walkthrough shows. */
export const clipsOfWalkthrough = (db: Sqlite, id: string): string[] =>
  all<{ clipId: string }>(db, 'SELECT clipId FROM walkthroughClips WHERE walkthroughId = ?', id).map((row) => row.clipId)
