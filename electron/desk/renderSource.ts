import { open, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { DeskError } from '../../shared/contract/errors.ts'
import type { Edits } from '../../shared/walkthrough/edits.ts'
import { getClip, mediaIndexText } from '../library/clips.ts'
import { originalPath } from '../library/mediaStore.ts'
import { getWalkthrough } from '../library/walkthroughs.ts'
import type { RawSound } from '../media/rawSound.ts'
import { wavHeader } from '../media/wav.ts'
import type { DeskContext } from './context.ts'
import type { EngineOptions, RenderClip, RenderTake } from './engines.ts'
import { clipsOfLesson, lessonSource, type TakeSource } from './lessons.ts'

/** What a lesson is rendered from. */
export interface RenderSource {
  readonly takes: readonly RenderTake[]
  readonly edits: Edits
  readonly clips: Readonly<Record<string, RenderClip>>
}

/** Every clip that a lesson shows, those of recordings that edits brought in from elsewhere too. */
export const clipsHandedOff = (context: Pick<DeskContext, 'library' | 'recordings'>, lessonId: string): string[] =>
  [...new Set([...context.recordings.clips(lessonId), ...clipsOfLesson(context, lessonId)])]

/** The student whose lesson it is and those whose clips are in it. */
export function studentsHandedOff(context: Pick<DeskContext, 'library' | 'recordings'>, lessonId: string): (string | null)[] {
  const { db } = context.library
  return [...new Set([getWalkthrough(db, lessonId)?.studentId ?? null, ...clipsHandedOff(context, lessonId).map((clipId) => getClip(db, clipId)?.studentId ?? null)])]
}

/**
 * Gathers what an edited lesson is rendered from: its recordings with their sound cleaned as the coach has set it (which takes
 * a while the first time), and the clips' originals. Files that have to be written lie in `folder`.
 */
export async function renderSource(context: DeskContext, lessonId: string, folder: string, options: EngineOptions = {}): Promise<RenderSource> {
  const { edits, takes } = lessonSource(context, lessonId)
  const clips: Record<string, RenderClip> = {}
  for (const { log } of takes) for (const clipId of Object.keys(log.header.clips)) clips[clipId] ??= renderClip(context, clipId)
  const sounded: RenderTake[] = []
  for (const take of takes) sounded.push({ id: take.id, log: take.log, durationMs: take.durationMs, soundPath: await soundOf(context, take, edits, folder, options) })
  return { takes: sounded, edits, clips }
}

function renderClip({ library }: DeskContext, clipId: string): RenderClip {
  const clip = getClip(library.db, clipId)
  if (!clip) throw new DeskError('not-found', 'A clip of this walkthrough is not in the library any more.', { where: clipId })
  return { path: originalPath(library.layout, clip.hash), frames: clip.frames, index: JSON.parse(mediaIndexText(library.db, clipId)!), hash: clip.hash }
}

/** A take's sound as a file with a header. */
async function soundOf({ cleaning }: DeskContext, take: TakeSource, edits: Edits, folder: string, options: EngineOptions): Promise<string> {
  const sound: RawSound = edits.sound.on ? await cleaning.sound(take.id, edits.sound, options) : { path: take.soundPath, sampleRate: take.sampleRate }
  if (sound.skip === 44) return sound.path
  const path = join(folder, `${take.id}.wav`)
  await using source = await open(sound.path, 'r')
  await writeFile(path, wavHeader(sound.sampleRate, 1, (await source.stat()).size))
  await writeFile(path, source.createReadStream({ autoClose: false }), { flag: 'a' })
  return path
}
