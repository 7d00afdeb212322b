import type { Handoff, HandoffSettings } from '../../shared/contract/walkthrough.ts'
import type { Sqlite } from './database.ts'
import { all, one, put, run } from './statement.ts'

interface HandoffRow {
  id: string
  walkthroughId: string
  jobId: string
  settings: string
  target: string
  finished: number
  bytes: number | null
  createdAt: number
}

const asHandoff = ({ settings, target, finished, ...row }: HandoffRow): Handoff => ({
  ...row,
  settings: JSON.parse(settings) as HandoffSettings,
  path: finished ? target : null,
})

/** Newest first, without those taken off the list; of one walkthrough or of all. */
export const listHandoffs = (db: Sqlite, walkthroughId?: string): Handoff[] =>
  (walkthroughId === undefined
    ? all<HandoffRow>(db, 'SELECT * FROM handoffs WHERE id NOT IN (SELECT handoffId FROM videosOffTheList) ORDER BY createdAt DESC, id')
    : all<HandoffRow>(db, 'SELECT * FROM handoffs WHERE walkthroughId = ? AND id NOT IN (SELECT handoffId FROM videosOffTheList) ORDER BY createdAt DESC, id', walkthroughId)
  ).map(asHandoff)

export function getHandoff(db: Sqlite, id: string): (Handoff & { target: string }) | null {
  const row = one<HandoffRow>(db, 'SELECT * FROM handoffs WHERE id = ?', id)
  return row ? { ...asHandoff(row), target: row.target } : null
}

/** `target` is where the finished file will lie. */
export const addHandoff = (db: Sqlite, handoff: Omit<Handoff, 'path' | 'bytes'>, target: string): void =>
  put(db, 'handoffs', { ...handoff, settings: JSON.stringify(handoff.settings), target, finished: 0, bytes: null })

export const finishHandoff = (db: Sqlite, id: string, bytes: number): number =>
  run(db, 'UPDATE handoffs SET finished = 1, bytes = ? WHERE id = ?', bytes, id)

/** Takes a finished one off the list: that it was made stays known, for whom it answered. */
export const takeOffTheList = (db: Sqlite, id: string, file: 'kept' | 'deleted'): number =>
  run(db, 'INSERT OR REPLACE INTO videosOffTheList (handoffId, file) VALUES (?, ?)', id, file)

/** Takes a hand-off off the list whose render came to nothing. */
export const dropUnfinishedHandoff = (db: Sqlite, jobId: string): number =>
  run(db, 'DELETE FROM handoffs WHERE jobId = ? AND finished = 0', jobId)
