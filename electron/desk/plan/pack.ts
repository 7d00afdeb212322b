import { randomUUID } from 'node:crypto'
import { cpSync, existsSync, mkdirSync, renameSync, rmSync, statSync } from 'node:fs'
import { copyFile, rename, writeFile } from 'node:fs/promises'
import { basename, dirname, isAbsolute, join } from 'node:path'
import { DeskError } from '../../../shared/contract/errors.ts'
import type { Input } from '../../../shared/contract/operations.ts'
import type { Manifest, Pack, PackFile } from '../../../shared/contract/plan.ts'
import { dayOf, moveToPlace } from '../handoffJob.ts'
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

/** Puts together what the student gets, in one folder or zip with a manifest. Nothing is left behind where it fails. */
export async function makePack(context: DeskContext, { walkthroughId, kind, title, videoId, demonstrations, to }: Input<'plan.pack'>): Promise<Pack> {
  const { library, now } = context
  const demos = demonstrations ? demonstrationsOf(context, walkthroughId) : []
  requireMayGo(context, walkthroughId, demos.map(({ clipId }) => clipId))
  const id = randomUUID()
  const name = fileNameOf(title)
  const target = to ?? join(library.layout.handoffs, `${name} ${id.slice(0, 8)}${kind === 'zip' ? '.zip' : ''}`)
  if (!isAbsolute(target)) throw new DeskError('bad-input', 'What is handed over needs its full path.', { where: target })
  if (existsSync(target)) throw new DeskError('bad-input', `${basename(target)} is already there.`, { where: target, remedy: 'Choose another name.' })
  if (!existsSync(dirname(target))) throw new DeskError('not-found', `The folder for ${basename(target)} is not there.`, { where: target, remedy: 'Choose another folder.' })
  const video = videoId === null ? null : getHandoff(library.db, videoId)
  if (videoId !== null && (!video?.path || video.walkthroughId !== walkthroughId || !existsSync(video.path)))
    throw new DeskError('not-found', 'The finished video is not there any more.', { where: videoId, remedy: 'Make the video again, or hand over without it.' })
  const work = join(library.layout.incoming, `pack-${id}`)
  mkdirSync(work, { recursive: true, mode: 0o700 })
  try {
    const folder = join(work, 'files')
    const { manifest, bytes } = await fillFolder(context, folder, { walkthroughId, name, title, video: video?.path ?? null, demos })
    const paths = ['manifest.json', ...manifest.files.map(({ path }) => path)]
    if (kind === 'zip') {
      const zip = join(work, 'pack.zip')
      await zipFolder(folder, paths, zip, manifest.made)
      await moveToPlace(zip, target)
    } else await moveFolder(folder, target)
    const pack: Pack = { id, walkthroughId, kind, path: target, bytes: kind === 'zip' ? statSync(target).size : bytes, files: manifest.files, createdAt: now() }
    addPack(library.db, pack, [...new Set([...lessonClips(context, walkthroughId), ...demos.map(({ clipId }) => clipId)])])
    markHandedOver(library.db, walkthroughId, now())
    return pack
  } finally {
    rmSync(work, { recursive: true, force: true })
  }
}

interface Wanted {
  readonly walkthroughId: string
  readonly name: string
  readonly title: string
  readonly video: string | null
  readonly demos: readonly Demonstration[]
}

async function fillFolder(context: DeskContext, folder: string, { walkthroughId, name, title, video, demos }: Wanted): Promise<{ manifest: Manifest; bytes: number }> {
  mkdirSync(folder)
  const files: PackFile[] = []
  const add = async (path: string, what: PackFile['what'], words: string, put: (file: string) => Promise<unknown>): Promise<void> => {
    const file = join(folder, ...path.split('/'))
    mkdirSync(dirname(file), { recursive: true })
    await put(file)
    files.push({ path, what, words, ...(await fingerprint(file)) })
  }
  if (video !== null) await add(`${name}.mp4`, 'video', 'The lesson: plays on any phone', (file) => copyFile(video, file))
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
