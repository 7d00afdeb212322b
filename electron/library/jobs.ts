import type { Fault } from '../../shared/contract/errors.ts'
import type { Job } from '../../shared/contract/job.ts'
import type { Sqlite } from './database.ts'
import { all, one, run } from './statement.ts'

/** A job with what is needed to do it, or to do it again after a crash. */
export interface StoredJob extends Omit<Job, 'progress' | 'secondsLeft'> {
  readonly payload: unknown
  readonly deliveryId: string | null
  readonly walkthroughId: string | null
  /** Those with a smaller one come first. */
  readonly turn: number
}

type JobRow = Omit<StoredJob, 'fault' | 'payload'> & { place: number; fault: string | null; payload: string }

const asStored = ({ place: _place, ...row }: JobRow): StoredJob => ({
  ...row,
  fault: row.fault === null ? null : (JSON.parse(row.fault) as Fault),
  payload: JSON.parse(row.payload) as unknown,
})

/** In the order of their turns. */
export const listJobs = (db: Sqlite): StoredJob[] => all<JobRow>(db, 'SELECT * FROM jobs ORDER BY turn, place').map(asStored)

export function getJob(db: Sqlite, id: string): StoredJob | null {
  const row = one<JobRow>(db, 'SELECT * FROM jobs WHERE id = ?', id)
  return row ? asStored(row) : null
}

export const addJob = (db: Sqlite, job: StoredJob): number =>
  run(
    db,
    'INSERT INTO jobs (id, kind, title, state, step, result, fault, payload, deliveryId, walkthroughId, promisedOn, turn, tries, retryAt, createdAt) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)',
    job.id,
    job.kind,
    job.title,
    job.state,
    job.step,
    job.result,
    job.fault && JSON.stringify(job.fault),
    JSON.stringify(job.payload),
    job.deliveryId,
    job.walkthroughId,
    job.promisedOn,
    job.turn,
    job.tries,
    job.retryAt,
    job.createdAt,
  )

/** Puts on disk how a job stands. */
export const updateJob = (
  db: Sqlite,
  { id, state, step, result, fault, tries = 0, retryAt = null }: Pick<StoredJob, 'id' | 'state' | 'step' | 'result' | 'fault'> & Partial<Pick<StoredJob, 'tries' | 'retryAt'>>,
): number =>
  run(
    db,
    'UPDATE jobs SET state = ?, step = ?, result = ?, fault = ?, tries = ?, retryAt = ? WHERE id = ?',
    state,
    step,
    result,
    fault && JSON.stringify(fault),
    tries,
    retryAt,
    id,
  )

export const setTurn = (db: Sqlite, id: string, turn: number): number => run(db, 'UPDATE jobs SET turn = ? WHERE id = ?', turn, id)

export const setPromise = (db: Sqlite, id: string, promisedOn: string | null): number => run(db, 'UPDATE jobs SET promisedOn = ? WHERE id = ?', promisedOn, id)

export const removeJob = (db: Sqlite, id: string): number => run(db, 'DELETE FROM jobs WHERE id = ?', id)

/** How many jobs of a delivery are still to be done. */
export const openJobsOfDelivery = (db: Sqlite, deliveryId: string): number =>
  one<{ n: number }>(db, `SELECT count(*) AS n FROM jobs WHERE deliveryId = ? AND state IN ('waiting', 'running')`, deliveryId)!.n
