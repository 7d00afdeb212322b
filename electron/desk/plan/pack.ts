import { randomUUID } from 'node:crypto'
import { cpSync, existsSync, mkdirSync, renameSync, rmSync, statSync } from 'node:fs'
import { copyFile, rename, writeFile } from 'node:fs/promises'
import { basename, dirname, isAbsolute, join } from 'node:path'
import { z } from 'zod'
import { DeskError } from '../../../shared/contract/errors.ts'
import type { Job } from '../../../shared/contract/job.ts'
import type { Input } from '../../../shared/contract/operations.ts'
import { planShapes } from '../../../shared/contract/planOperations.ts'
import type { Manifest, Pack, PackFile } from '../../../shared/contract/plan.ts'
import { dayOf, moveToPlace } from '../handoffJob.ts'
import type { Running, Work } from '../jobRunner.ts'
import { workFolderName } from '../takeInJob.ts'
import { fingerprint, manifestText, zipFolder } from '../../handoff/plan/packFiles.ts'
import { getClip } from '../../library/clips.ts'
import { listOwnCards, markHandedOver, prescriptionsOfWalkthrough } from '../../library/drills.ts'
import { getHandoff } from '../../library/handoffs.ts'
import { originalPath } from '../../library/mediaStore.ts'
import { addPack } from '../../library/plans.ts'
import type { DeskContext } from '../context.ts'
import { htmlOf, pdfOf, planWithPictures } from './documents.ts'
import { lessonClips, requireMayGo } from './mayGo.ts'

/** A title as a file name that any system takes. */
export const fileNameOf = (title: string): string =>
  title.normalize('NFC').replaceAll(/[\p{C}<>:"/\\|?*]+/gu, ' ').replaceAll(/\s+/g, ' ').trim().replace(/[. ]+$/, '').slice(0, 80) || 'Lesson'

interface Demonstration { readonly title: string; readonly clipId: string }

/** The clips that demonstrate what is prescribed in a lesson. */
export function demonstrationsOf({ library: { db } }: DeskContext, walkthroughId: string): Demonstration[] {
  const cards = new Map(listOwnCards(db).map((card) => [card.id, card]))
  return prescriptionsOfWalkthrough(db, walkthroughId).flatMap(({ cardId, card }) => {
    const clipId = cards.get(cardId)?.clipId
    return clipId ? [{ title: card.title, clipId }] : []
  })
}

/** What was asked for, with the place that was chosen for it: another try goes to the same place. */
const packPayload = planShapes.pack.input.extend({ id: z.string(), target: z.string() })
type PackRequest = z.output<typeof packPayload>

/** All that must hold before the work begins, and still when its turn has come. Answers with what goes in. */
function requireReady(context: DeskContext, { walkthroughId, videoId, demonstrations, target }: PackRequest): { readonly demos: readonly Demonstration[]; readonly video: string | null } {
  const demos = demonstrations ? demonstrationsOf(context, walkthroughId) : []
  requireMayGo(context, walkthroughId, demos.map(({ clipId }) => clipId))
  if (!isAbsolute(target)) throw new DeskError('bad-input', 'What is handed over needs its full path.', { where: target })
  if (existsSync(target)) throw new DeskError('bad-input', `${basename(target)} is already there.`, { where: target, remedy: 'Choose another name.' })
  if (!existsSync(dirname(target))) throw new DeskError('not-found', `The folder for ${basename(target)} is not there.`, { where: target, remedy: 'Choose another folder.' })
  const video = videoId === null ? null : getHandoff(context.library.db, videoId)
  if (videoId !== null && (!video?.path || video.walkthroughId !== walkthroughId || !existsSync(video.path)))
    throw new DeskError('not-found', 'The finished video is not there any more.', { where: videoId, remedy: 'Make the video again, or hand over without it.' })
  return { demos, video: video?.path ?? null }
}

/** Queues putting together what the student gets. Answers at once; what cannot be is refused at once, too. */
export function startPack(context: DeskContext, asked: Input<'plan.pack'>): Job {
  const { library, jobs, hub } = context
  const id = randomUUID()
  const target = asked.to ?? join(library.layout.handoffs, `${fileNameOf(asked.title)} ${id.slice(0, 8)}${asked.kind === 'zip' ? '.zip' : ''}`)
  const payload: PackRequest = { ...asked, id, target }
  requireReady(context, payload)
  const job = jobs.add({ kind: 'pack', title: basename(target), payload, deliveryId: null, walkthroughId: asked.walkthroughId })
  hub.changed('jobs')
  return job
}

export function packWork(getContext: () => DeskContext): Work {
  return { lane: 'pack', run: (job, running) => makePack(getContext(), packPayload.parse(job.payload), workFolderName(job.id), running) }
}

/** Puts together what the student gets, in one folder or zip with a manifest. Nothing is left behind where it fails or is cancelled. */
async function makePack(context: DeskContext, request: PackRequest, workName: string, running: Running): Promise<{ result: string; step: string }> {
  const { library, hub, now } = context
  const { walkthroughId, kind, title, id, target } = request
  const { demos, video } = requireReady(context, request)
  const work = join(library.layout.incoming, workName)
  rmSync(work, { recursive: true, force: true })
  mkdirSync(work, { mode: 0o700 })
  try {
    const folder = join(work, 'files')
    const { manifest, bytes } = await fillFolder(context, folder, { walkthroughId, name: fileNameOf(title), title, video, demos }, running)
    const paths = ['manifest.json', ...manifest.files.map(({ path }) => path)]
    const zip = join(work, 'pack.zip')
    if (kind === 'zip') {
      await zipFolder(folder, paths, zip, manifest.made, { signal: running.signal, onBytes: (done) => running.report(filledShare + (1 - filledShare) * Math.min(1, done / bytes), 'Writing the zip') })
    }
    running.signal.throwIfAborted()
    await (kind === 'zip' ? moveToPlace(zip, target) : moveFolder(folder, target))
    const pack: Pack = { id, walkthroughId, kind, path: target, bytes: kind === 'zip' ? statSync(target).size : bytes, files: manifest.files, createdAt: now() }
    addPack(library.db, pack, [...new Set([...lessonClips(context, walkthroughId), ...demos.map(({ clipId }) => clipId)])])
    markHandedOver(library.db, walkthroughId, now())
    hub.changed('plans', 'prescriptions')
    return { result: id, step: 'Ready' }
  } finally {
    rmSync(work, { recursive: true, force: true })
  }
}

/** How far the work is when all files lie in the folder and only the zip has to be written. */
const filledShare = 0.6

interface Wanted {
  readonly walkthroughId: string
  readonly name: string
  readonly title: string
  readonly video: string | null
  readonly demos: readonly Demonstration[]
}

async function fillFolder(context: DeskContext, folder: string, { walkthroughId, name, title, video, demos }: Wanted, { signal, report }: Running): Promise<{ manifest: Manifest; bytes: number }> {
  mkdirSync(folder)
  const files: PackFile[] = []
  const shareOf = (done: number): number => (filledShare * done) / (2 + demos.length)
  const add = async (path: string, what: PackFile['what'], words: string, put: (file: string) => Promise<unknown>): Promise<void> => {
    const file = join(folder, ...path.split('/'))
    mkdirSync(dirname(file), { recursive: true })
    signal.throwIfAborted()
    await put(file)
    files.push({ path, what, words, ...(await fingerprint(file, signal)) })
  }
  report(0, 'Copying the video')
  if (video !== null) await add(`${name}.mp4`, 'video', 'The lesson: plays on any phone', (file) => copyFile(video, file))
  report(shareOf(1), 'Making the plan')
  const parts = await planWithPictures(context, walkthroughId)
  await add('Practice plan.pdf', 'plan-pdf', 'The plan on one sheet, for printing', async (file) => writeFile(file, await pdfOf(parts)))
  await add('Practice plan.html', 'plan-page', 'The same plan as a page for a phone or a computer', (file) => writeFile(file, htmlOf(parts)))
  for (const [i, picture] of parts.page.pictures.entries()) {
    const jpeg = parts.pictures[picture.findingId]
    if (jpeg) await add(`pictures/${i + 1} ${fileNameOf(picture.saw).slice(0, 50).trim()}.jpg`, 'picture', picture.alt, (file) => writeFile(file, jpeg))
  }
  for (const [i, { title: drill, clipId }] of demos.entries()) {
    const clip = getClip(context.library.db, clipId)
    if (!clip) continue
    report(shareOf(2 + i), `Copying the demonstration of ${drill}`)
    // As it was filmed, without the tags of place and device that a phone writes.
    const bare = await context.engines.media.strip(originalPath(context.library.layout, clip.hash), join(folder, `demonstration-${i}`))
    await add(`demonstrations/${i + 1} ${fileNameOf(drill).slice(0, 50).trim()}.${bare.ending}`, 'demonstration', `How it is done: ${drill}`, (file) => rename(bare.path, file))
  }
  const manifest: Manifest = { format: 'crossbearing-handoff', version: 1, title, made: dayOf(context.now()), files }
  const text = manifestText(manifest)
  await writeFile(join(folder, 'manifest.json'), text)
  return { manifest, bytes: files.reduce((sum, file) => sum + file.bytes, Buffer.byteLength(text)) }
}

/** Puts a folder under its name by a rename; from another disk it is copied beside it first. */
async function moveFolder(from: string, to: string): Promise<void> {
  try {
    await rename(from, to)
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EXDEV') throw error
    const half = `${to}.part`
    rmSync(half, { recursive: true, force: true })
    try {
      cpSync(from, half, { recursive: true })
      renameSync(half, to)
    } catch (failed) {
      rmSync(half, { recursive: true, force: true })
      throw failed
    }
  }
}
