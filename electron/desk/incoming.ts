import type { Sqlite } from '../library/database.ts'
import { listJobs } from '../library/jobs.ts'
import { unbundlePayloadSchema } from './bundle/jobs.ts'
import { takeInPayloadSchema, workFolderName } from './takeInJob.ts'

/** Names in the incoming folder that work on the list still needs. */
export function neededIncoming(db: Sqlite): Set<string> {
  const needed = new Set<string>()
  for (const job of listJobs(db)) {
    if (job.state === 'running') needed.add(workFolderName(job.id))
    if (job.kind !== 'take-in' && job.kind !== 'unbundle') continue
    const payload = (job.kind === 'take-in' ? takeInPayloadSchema : unbundlePayloadSchema).safeParse(job.payload)
    if (payload.success && 'staged' in payload.data.source) needed.add(payload.data.source.staged)
  }
  return needed
}
