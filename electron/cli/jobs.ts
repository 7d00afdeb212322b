import type { Job } from '../../shared/contract/job.ts'
import type { OpenDesk } from '../desk/createDesk.ts'
import { progressPrinter, type Terminal } from './terminal.ts'

const isOver = ({ state }: Job): boolean => state === 'done' || state === 'failed' || state === 'cancelled'

/** Waits for jobs to come to an end, saying how they stand; an interrupt cancels those that have not. */
export async function waitForJobs(desk: OpenDesk, ids: readonly string[], { say, signal }: Terminal): Promise<Job[]> {
  const print = progressPrinter(say)
  const ours = new Set(ids)
  const ended = new Map<string, Job>()
  const { promise, resolve } = Promise.withResolvers<void>()
  const look = (job: Job): void => {
    if (!ours.has(job.id)) return
    print(job)
    if (!isOver(job)) return
    ended.set(job.id, job)
    if (ended.size === ours.size) resolve()
  }
  const stop = desk.listen((event) => {
    if (event.type === 'job') look(event.job)
  })
  const cancel = (): void => {
    // Last first, so that none begins while those before it are being stopped.
    for (const id of ids.toReversed()) desk.call('job.cancel', { id }).catch(() => {})
  }
  signal.addEventListener('abort', cancel, { once: true })
  for (const job of await desk.call('job.list', {})) look(job)
  if (signal.aborted) cancel()
  await promise
  stop()
  signal.removeEventListener('abort', cancel)
  return ids.map((id) => ended.get(id)!)
}

/** 0 where all were done, 1 where not. */
export const codeOf = (jobs: readonly Job[]): number => (jobs.every(({ state }) => state === 'done') ? 0 : 1)
