import { randomUUID } from 'node:crypto'
import { mkdirSync, rmSync } from 'node:fs'
import { basename, join } from 'node:path'
import { z } from 'zod'
import { clipSchema, type Clip } from '../../shared/contract/clip.ts'
import { takeInItemSchema } from '../../shared/contract/operations.ts'
import { addClip, getClipByHash, updateClip } from '../library/clips.ts'
import type { StoredJob } from '../library/jobs.ts'
import type { Library } from '../library/library.ts'
import { copyHashed, placeDerived, placeOriginal } from '../library/mediaStore.ts'
import type { MediaEngine } from './engines.ts'
import type { EventHub } from './events.ts'
import { faultOf } from './faultOf.ts'
import type { Finished, Running, Work } from './jobRunner.ts'
import type { Staging } from './staging.ts'

/** What a take-in job keeps on disk, so that it can be done again after a crash. */
export const takeInPayloadSchema = z.object({
  source: takeInItemSchema.shape.source,
  captureRate: z.number().positive().nullable(),
  clip: clipSchema.pick({ studentId: true, deliveryId: true, view: true, club: true, handedness: true }),
})
export type TakeInPayload = z.infer<typeof takeInPayloadSchema>

export const nameOfSource = (source: TakeInPayload['source']): string =>
  'path' in source ? basename(source.path) : basename(source.fileName.replaceAll('\\', '/'))

/** Name in the incoming folder that a take-in works in. */
export const workFolderName = (jobId: string): string => `work-${jobId}`

export interface TakeInParts {
  readonly library: Library
  readonly media: MediaEngine
  readonly staging: Staging
  readonly hub: EventHub
  readonly now: () => number
  readonly log: (line: string) => void
}

/** Shares of the whole, roughly as the time goes. */
const share = { inspect: 0.02, copy: 0.1 } as const

/**
 * Takes one file in: look at it, copy and hash it, make what is made of it, then move all to its place and add the rows,
 * in this order, so that an end at any point leaves either a whole clip or nothing that the next start does not sweep.
 */
export async function takeInFile(
  parts: TakeInParts,
  workName: string,
  payload: TakeInPayload,
  { signal, report }: Running,
): Promise<Finished & { clip: Clip }> {
  const { library, media, staging, hub } = parts
  const { source } = payload
  const name = nameOfSource(source)
  const work = join(library.layout.incoming, workName)
  rmSync(work, { recursive: true, force: true })
  try {
    const from = 'path' in source ? source.path : staging.path(source.staged)
    report(0, 'Looking at the file')
    try {
      await media.inspect(from, { signal })
      const derived = join(work, 'derived')
      mkdirSync(derived, { recursive: true })
      const original = join(work, 'original')
      const { hash, bytes } = await copyHashed(from, original, {
        signal,
        onProgress: (done) => report(share.inspect + done * (share.copy - share.inspect), 'Copying'),
      })
      const known = getClipByHash(library.db, hash)
      if (known) return { clip: adopt(parts, known, payload), result: known.id, step: `Already in the library as ${known.fileName}` }
      signal.throwIfAborted()
      const { facts, index } = await media.takeIn(original, derived, {
        signal,
        onProgress: ({ share: done, step }) => report(share.copy + done * (1 - share.copy), step),
      })
      signal.throwIfAborted()
      const rate = payload.captureRate
      const clip: Clip = {
        id: randomUUID(),
        ...payload.clip,
        swingId: null,
        fileName: name,
        hash,
        bytes,
        ...facts,
        ...(rate === null ? {} : { captureRate: rate, captureRateBasis: 'coach' as const }),
        takenInAt: parts.now(),
        note: '',
      }
      placeDerived(library.layout, derived, hash)
      placeOriginal(library.layout, original, hash)
      library.db.transaction(() => addClip(library.db, clip, index)).immediate()
      hub.changed('clips')
      return { clip, result: clip.id, step: 'Taken in' }
    } catch (error) {
      throw faultOf(error, parts.log, { path: from, name })
    }
  } finally {
    rmSync(work, { recursive: true, force: true })
  }
}

/** A clip that was there already gets what it had not been given before; nothing that it has is changed. */
function adopt({ library, hub }: TakeInParts, known: Clip, { clip: given }: TakeInPayload): Clip {
  if (known.studentId !== null || given.studentId === null) return known
  const patch = { studentId: given.studentId, deliveryId: known.deliveryId ?? given.deliveryId }
  updateClip(library.db, known.id, patch)
  hub.changed('clips')
  return { ...known, ...patch }
}

/** The kinds of fault that another try at the same file cannot mend. */
const isHopeless = (job: StoredJob): boolean =>
  job.state === 'failed' && (job.fault?.kind === 'bad-media' || job.fault?.kind === 'bad-input')

/** Take-in as a kind of job; `settled` hears when a job of a delivery has come to an end. */
export function takeInWork(parts: TakeInParts, settled: (deliveryId: string) => void): Work {
  const dropStaged = (job: StoredJob): void => {
    const { source } = takeInPayloadSchema.parse(job.payload)
    if ('staged' in source) parts.staging.drop(source.staged)
  }
  return {
    lane: 'take-in',
    run: (job, running) => takeInFile(parts, workFolderName(job.id), takeInPayloadSchema.parse(job.payload), running),
    ended(job) {
      if (job.state === 'done' || isHopeless(job)) dropStaged(job)
      if (job.deliveryId !== null) settled(job.deliveryId)
    },
    forgotten: dropStaged,
  }
}
