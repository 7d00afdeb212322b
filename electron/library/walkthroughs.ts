import type { Walkthrough } from '../../shared/contract/walkthrough.ts'
import type { Input, Output } from '../../shared/contract/operations.ts'
import type { Sqlite } from './database.ts'
import { all, one, put, run, type Value } from './statement.ts'

type WalkthroughRow = Omit<Walkthrough, 'durationMs'> & { samples: number }

const asWalkthrough = ({ samples, ...row }: WalkthroughRow): Walkthrough => ({ ...row, durationMs: (samples / row.sampleRate) * 1000 })

const withOwner = 'SELECT walkthroughs.*, (SELECT lessonId FROM lessonTakes WHERE takeId = walkthroughs.id AND own = 1) AS takeOf FROM walkthroughs'

export const listWalkthroughs = (db: Sqlite): Walkthrough[] =>
  all<WalkthroughRow>(db, `${withOwner} ORDER BY createdAt DESC, id`).map(asWalkthrough)

/** Walkthroughs by id, in the same order; those that are not there are left out. */
export function someWalkthroughs(db: Sqlite, ids: readonly string[]): Walkthrough[] {
  const found = new Map(all<WalkthroughRow>(db, `${withOwner} WHERE id IN (SELECT value FROM json_each(?))`, JSON.stringify(ids)).map((row) => [row.id, asWalkthrough(row)]))
  return ids.flatMap((id) => found.get(id) ?? [])
}

/** Those that were recorded to be put into a lesson, the oldest first. */
export const takesRecordedFor = (db: Sqlite, lessonId: string): Walkthrough[] =>
  all<WalkthroughRow>(db, `${withOwner} WHERE id IN (SELECT takeId FROM lessonTakes WHERE lessonId = ? AND own = 1) ORDER BY createdAt, id`, lessonId).map(asWalkthrough)

/** One page of the lessons, the newest first: no recording under way, and none that was made to be put into another. */
export function pageOfWalkthroughs(db: Sqlite, { text, studentId, offset, limit }: Input<'walkthrough.page'>): Output<'walkthrough.page'> {
  const values: Value[] = []
  const conditions = [`state <> 'recording'`, 'NOT EXISTS (SELECT 1 FROM lessonTakes WHERE takeId = walkthroughs.id AND own = 1)']
  if (studentId !== undefined) {
    conditions.push('studentId IS ?')
    values.push(studentId)
  }
  for (const word of text.toLowerCase().split(/\s+/).filter(Boolean)) {
    conditions.push(`instr(lower(title || ' ' || coalesce((SELECT name FROM students WHERE students.id = walkthroughs.studentId), '')), ?) > 0`)
    values.push(word)
  }
  const where = conditions.join(' AND ')
  return {
    total: one<{ n: number }>(db, `SELECT count(*) AS n FROM walkthroughs WHERE ${where}`, ...values)!.n,
    items: all<WalkthroughRow>(db, `${withOwner} WHERE ${where} ORDER BY createdAt DESC, id LIMIT ? OFFSET ?`, ...values, limit, offset).map(asWalkthrough),
  }
}

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
