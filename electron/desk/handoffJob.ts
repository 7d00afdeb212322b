import { randomUUID } from 'node:crypto'
import { existsSync, mkdirSync, renameSync, rmSync, statSync } from 'node:fs'
import { open } from 'node:fs/promises'
import { basename, dirname, isAbsolute, join } from 'node:path'
import { z } from 'zod'
import { DeskError, type Fault } from '../../shared/contract/errors.ts'
import { consentGap } from '../../shared/contract/student.ts'
import { coarseCrf, type HandoffSettings, type Walkthrough } from '../../shared/contract/walkthrough.ts'
import { addHandoff, dropUnfinishedHandoff, finishHandoff, getHandoff, takeOffTheList } from '../library/handoffs.ts'
import { listJobs, type StoredJob } from '../library/jobs.ts'
import { permissionGaps } from '../library/shelf.ts'
import { copyHashed, syncFolder } from '../library/mediaStore.ts'
import { getStudent } from '../library/students.ts'
import { getWalkthrough } from '../library/walkthroughs.ts'
import type { Answer, DeskContext } from './context.ts'
import type { Rendered } from './engines.ts'
import { captionsOf } from './operations/captions.ts'
import { isAbort } from './faultOf.ts'
import type { Finished, Running, Work } from './jobRunner.ts'
import { clipsHandedOff, renderSource, studentsHandedOff } from './renderSource.ts'
import { workFolderName } from './takeInJob.ts'

const payloadSchema = z.object({ handoffId: z.string() })

/** The ISO day in the time zone of this machine. */
export const dayOf = (ms: number): string => {
  const date = new Date(ms)
  const two = (n: number) => String(n).padStart(2, '0')
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`
}

/** Throws `may-not-be-sent` where a walkthrough shows a swing that the coach may only look at. */
function requirePermission(context: DeskContext, walkthroughId: string): void {
  const [gap] = permissionGaps(context.library.db, clipsHandedOff(context, walkthroughId), getWalkthrough(context.library.db, walkthroughId)?.studentId ?? null)
  if (gap)
    throw new DeskError('may-not-be-sent', gap.why, {
      where: gap.name,
      remedy: 'Make a lesson without it, or say on the Shelf that it may be sent if you have leave to.',
    })
}

/** Throws `no-consent` where anyone in a walkthrough may not be handed off today. */
function requireConsent(context: DeskContext, walkthroughId: string): void {
  const today = dayOf(context.now())
  for (const id of studentsHandedOff(context, walkthroughId)) {
    const student = id === null ? null : getStudent(context.library.db, id)
    const gap = student && consentGap(student, today)
    if (gap)
      throw new DeskError('no-consent', gap, {
        where: student.name,
        remedy: `Record the consent on ${student.name}'s page, then hand off again.`,
      })
  }
}

/** The title as a file name any system takes. */
const fileNameOf = (title: string): string =>
  title
    .normalize('NFC')
    .replaceAll(/[\p{C}<>:"/\\|?*]+/gu, ' ')
    .replaceAll(/\s+/g, ' ')
    .trim()
    .replace(/[. ]+$/, '')
    .slice(0, 80) || 'Lesson'

/** Queues a render. Answers at once. */
export function startHandoff(
  context: DeskContext,
  walkthrough: Walkthrough,
  settings: HandoffSettings,
  to: string | null,
  promisedOn: string | null = null,
): Answer<'handoff.start'> {
  const { library, jobs, hub, now } = context
  if (walkthrough.state === 'recording')
    throw new DeskError('bad-input', 'This walkthrough is still being recorded.', {
      where: walkthrough.title,
      remedy: 'Stop the recording first.',
    })
  if (walkthrough.durationMs === 0)
    throw new DeskError('bad-input', 'This walkthrough has no sound, so there is nothing to hand off.', { where: walkthrough.title })
  requireConsent(context, walkthrough.id)
  requirePermission(context, walkthrough.id)
  const id = randomUUID()
  const title = settings.title || walkthrough.title
  if (to !== null && !isAbsolute(to)) throw new DeskError('bad-input', 'A hand-off needs the full path of its file.', { where: to })
  if (to !== null && existsSync(to))
    throw new DeskError('bad-input', `${basename(to)} is already there.`, { where: to, remedy: 'Choose another name.' })
  const target = to ?? join(library.layout.handoffs, `${fileNameOf(title)} ${id.slice(0, 8)}.mp4`)
  const handoff = { id, walkthroughId: walkthrough.id, jobId: randomUUID(), settings, createdAt: now() }
  addHandoff(library.db, handoff, target)
  const job = jobs.add({
    id: handoff.jobId,
    kind: 'handoff',
    title,
    payload: { handoffId: id },
    deliveryId: null,
    walkthroughId: walkthrough.id,
    promisedOn,
  })
  hub.changed('handoffs', 'jobs')
  return { handoff: { ...handoff, path: null, bytes: null }, job }
}

/** Takes a video off the list. Its file goes only where it is still the one that was made. */
export function removeHandoff({ library: { db }, jobs, hub }: DeskContext, id: string, file: 'keep' | 'delete'): Answer<'handoff.remove'> {
  const handoff = getHandoff(db, id)
  if (!handoff) throw new DeskError('not-found', 'This video is not on the list any more.', { where: id })
  const { target, path, bytes, jobId } = handoff
  const deletes = path !== null && file === 'delete' && existsSync(target)
  if (deletes && statSync(target).size !== bytes)
    throw new DeskError('bad-input', `${basename(target)} has changed since it was made, so it is left as it is.`, { where: target, remedy: 'Take it off the list and keep the file.' })
  if (path === null) {
    jobs.forget(jobId)
    dropUnfinishedHandoff(db, jobId)
  } else {
    if (deletes) rmSync(target)
    takeOffTheList(db, id, file === 'delete' ? 'deleted' : 'kept')
  }
  hub.changed('handoffs')
  return { deleted: deletes }
}

/** Stops renders of a walkthrough that is about to go. */
export async function cancelHandoffsOf({ library, jobs }: DeskContext, walkthroughId: string): Promise<void> {
  for (const job of listJobs(library.db))
    if (job.walkthroughId === walkthroughId && (job.state === 'waiting' || job.state === 'running')) await jobs.cancel(job.id)
}

/** Half a minute, then five. */
const waits: readonly number[] = [30_000, 300_000]

/** A full disk, a file held by another program, a process that went down may pass; nothing else is tried again. */
const mayPass = ({ kind }: Fault): boolean => kind === 'internal' || kind === 'disk-full' || kind === 'not-allowed'

/** What the coach should know of the finished file. */
function readyWords({ crf, reused, segments }: Rendered): string {
  if (crf > coarseCrf) return 'Ready, but coarse: for this size 720p, or a shorter lesson, would look better'
  return reused > 0 && reused < segments ? `Ready; ${segments - reused} of ${segments} parts were new` : 'Ready'
}

export function handoffWork(getContext: () => DeskContext, retryWaits: readonly number[] = waits): Work {
  return {
    lane: 'handoff',
    canPause: true,
    retryAfter: (fault, tries) => (mayPass(fault) ? (retryWaits[tries - 1] ?? null) : null),
    run: (job, running) => renderJob(getContext(), job, running),
    forgotten: (job) => void dropUnfinishedHandoff(getContext().library.db, job.id),
  }
}

async function renderJob(context: DeskContext, job: StoredJob, { signal, report }: Running): Promise<Finished> {
  const { library, engines, hub } = context
  const handoff = getHandoff(library.db, payloadSchema.parse(job.payload).handoffId)
  const walkthrough = handoff && getWalkthrough(library.db, handoff.walkthroughId)
  if (!handoff || !walkthrough)
    throw new DeskError('not-found', 'The walkthrough of this hand-off is not in the library any more.', { where: job.title })
  requireConsent(context, walkthrough.id)
  requirePermission(context, walkthrough.id)
  const { target } = handoff
  if (existsSync(target))
    throw new DeskError('bad-input', `${basename(target)} is already there.`, { where: target, remedy: 'Move it away, then try again.' })
  const work = join(library.layout.incoming, workFolderName(job.id))
  rmSync(work, { recursive: true, force: true })
  mkdirSync(work)
  try {
    report(0, 'Reading the walkthrough')
    const source = await renderSource(context, walkthrough.id, work, { signal, onProgress: ({ step }) => report(0, step) })
    const out = join(work, 'handoff.mp4')
    signal.throwIfAborted()
    const rendered = await engines.render(
      {
        ...source,
        settings: { ...handoff.settings, title: handoff.settings.title || walkthrough.title },
        captions: handoff.settings.captions ? captionsOf(context, walkthrough.id) : [],
        segments: library.layout.segments,
        out,
      },
      { signal, onProgress: ({ share, step }) => report(share, step) },
    )
    signal.throwIfAborted()
    const { size } = statSync(out)
    await moveToPlace(out, target)
    finishHandoff(library.db, handoff.id, size)
    hub.changed('handoffs')
    return { result: target, step: readyWords(rendered) }
  } catch (error) {
    if (signal.aborted && !isAbort(error)) throw new DOMException('cancelled', 'AbortError')
    throw error
  } finally {
    rmSync(work, { recursive: true, force: true })
  }
}

/** Puts a finished file under its name by a rename; from another disk it is copied beside it first. */
export async function moveToPlace(from: string, to: string): Promise<void> {
  const file = await open(from, 'r+')
  await file.sync()
  await file.close()
  mkdirSync(dirname(to), { recursive: true })
  try {
    renameSync(from, to)
  } catch (error) {
    if (!(error instanceof Error && 'code' in error && error.code === 'EXDEV')) throw error
    const beside = join(dirname(to), `.${basename(to)}.unfinished`)
    rmSync(beside, { force: true })
    try {
      await copyHashed(from, beside)
      renameSync(beside, to)
    } catch (failure) {
      rmSync(beside, { force: true })
      throw failure
    }
  }
  syncFolder(dirname(to))
}
