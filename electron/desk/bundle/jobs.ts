import { existsSync, mkdirSync, rmSync } from 'node:fs'
import { basename, isAbsolute, join } from 'node:path'
import { z } from 'zod'
import { bundleEnding } from '../../../shared/contract/bundle.ts'
import { DeskError } from '../../../shared/contract/errors.ts'
import type { Job } from '../../../shared/contract/job.ts'
import { sourceSchema } from '../../../shared/contract/operations.ts'
import { consentGap } from '../../../shared/contract/student.ts'
import { itemsOfKeys } from '../../library/shelf.ts'
import { getStudent } from '../../library/students.ts'
import type { StoredJob } from '../../library/jobs.ts'
import type { DeskContext } from '../context.ts'
import { dayOf, moveToPlace } from '../handoffJob.ts'
import type { Work } from '../jobRunner.ts'
import { nameOfSource, workFolderName } from '../takeInJob.ts'
import { bringBundle } from './bringBundle.ts'
import { writeBundle } from './writeBundle.ts'

const bundlePayload = z.object({ key: z.string(), to: z.string(), withName: z.boolean() })
export const unbundlePayloadSchema = z.object({ source: sourceSchema })

/** The swing to write, or why it may not be. */
function swingToSend({ library: { db }, now }: DeskContext, key: string) {
  const [item] = itemsOfKeys(db, [key])
  if (!item) throw new DeskError('not-found', 'This swing is not in the library any more.', { where: key })
  const student = item.studentId === null ? null : getStudent(db, item.studentId)
  const gap = student && consentGap(student, dayOf(now()))
  if (gap) throw new DeskError('no-consent', gap, { where: student.name, remedy: `Record the consent on ${student.name}'s page, then send the swing.` })
  return item
}

function mustBeFree(to: string): void {
  if (existsSync(to)) throw new DeskError('bad-input', `${basename(to)} is already there.`, { where: to, remedy: 'Choose another name.' })
}

/** Queues the writing of a bundle. */
export function startBundle(context: DeskContext, { key, to, withName }: z.output<typeof bundlePayload>): Job {
  const item = swingToSend(context, key)
  if (!isAbsolute(to)) throw new DeskError('bad-input', 'A bundle needs the full path of its file.', { where: to, remedy: 'Name it from the root of the disk on.' })
  if (!to.endsWith('.zip')) throw new DeskError('bad-input', `A bundle's name ends in ${bundleEnding}.`, { where: to, remedy: `Name it so, for example Swing${bundleEnding}.` })
  mustBeFree(to)
  const job = context.jobs.add({ kind: 'bundle', title: [item.student, item.club].filter(Boolean).join(', ') || item.clips[0]!.fileName, payload: { key, to, withName }, deliveryId: null, walkthroughId: null })
  context.hub.changed('jobs')
  return job
}

/** Queues the bringing in of one. */
export function startUnbundle({ staging, jobs, hub }: DeskContext, source: z.output<typeof sourceSchema>): Job {
  if ('staged' in source) staging.path(source.staged)
  else if (!isAbsolute(source.path)) throw new DeskError('bad-input', 'A file needs its full path.', { where: source.path, remedy: 'Name it from the root of the disk on.' })
  const job = jobs.add({ kind: 'unbundle', title: nameOfSource(source), payload: { source }, deliveryId: null, walkthroughId: null })
  hub.changed('jobs')
  return job
}

export function bundleWork(getContext: () => DeskContext): Work {
  return {
    lane: 'take-in',
    async run(job, running) {
      const context = getContext()
      const { key, to, withName } = bundlePayload.parse(job.payload)
      const item = swingToSend(context, key)
      mustBeFree(to)
      const work = join(context.library.layout.incoming, workFolderName(job.id))
      rmSync(work, { recursive: true, force: true })
      mkdirSync(work)
      try {
        const made = await writeBundle({ library: context.library, media: context.engines.media }, item, withName, work, running)
        running.signal.throwIfAborted()
        await moveToPlace(made, to)
        return { result: to, step: `Written to ${basename(to)}` }
      } finally {
        rmSync(work, { recursive: true, force: true })
      }
    },
  }
}

export function unbundleWork(getContext: () => DeskContext): Work {
  const sourceOf = (job: StoredJob) => unbundlePayloadSchema.parse(job.payload).source
  const drop = (job: StoredJob): void => {
    const source = sourceOf(job)
    if ('staged' in source) getContext().staging.drop(source.staged)
  }
  return {
    // Making review copies wants the same cores as taking in does.
    lane: 'take-in',
    run(job, running) {
      const { library, engines, staging, hub, now, log } = getContext()
      const source = sourceOf(job)
      const path = 'path' in source ? source.path : staging.path(source.staged)
      return bringBundle({ library, media: engines.media, staging, hub, now, log }, path, nameOfSource(source), join(library.layout.incoming, workFolderName(job.id)), running)
    },
    ended(job) {
      if (job.state === 'done' || (job.state === 'failed' && (job.fault?.kind === 'bad-input' || job.fault?.kind === 'bad-media'))) drop(job)
    },
    forgotten: drop,
  }
}
