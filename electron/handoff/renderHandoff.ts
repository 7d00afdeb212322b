import { mkdir, open, rename, rm, stat } from 'node:fs/promises'
import { availableParallelism } from 'node:os'
import { dirname, join } from 'node:path'
import { DeskError } from '../../shared/contract/errors.ts'
import { handoffSize, type HandoffSettings } from '../../shared/contract/walkthrough.ts'
import type { Edits } from '../../shared/walkthrough/edits.ts'
import { Programme } from '../../shared/walkthrough/programme.ts'
import type { StageClip } from '../../shared/walkthrough/stage.ts'
import { asHandoffError, cancelled } from './handoffError.ts'
import { encodeSound, soundBitRate } from './handoffSound.ts'
import { LessonFrames } from './lessonFrames.ts'
import { lessonSound, type SoundedTake } from './lessonSound.ts'
import { muxHandoff, type Caption } from './muxHandoff.ts'
import { probedClips, type HandoffClip } from './openClips.ts'
import { PictureMaker } from './pictureMaker.ts'
import { SegmentStore } from './segmentStore.ts'
import { findLevel, type Loudness } from './speech.ts'

export interface HandoffRequest {
  /** The recordings that the lesson is made of. */
  readonly takes: readonly SoundedTake[]
  readonly edits: Edits
  /** Originals by clip id: all that the takes show. */
  readonly clips: Readonly<Record<string, HandoffClip>>
  readonly settings: HandoffSettings
  readonly captions?: readonly Caption[]
  /** Folder in which finished segments are kept for the next time; left out, none are. */
  readonly segments?: string
  /** Where the finished file is to lie. Until it is whole, only files of other names beside it exist. */
  readonly out: string
}

export interface HandoffProgress {
  /** 0 to 1. */
  readonly share: number
  readonly step: string
  readonly framesDone: number
  readonly framesTotal: number
}

export interface HandoffOptions {
  readonly onProgress?: (progress: HandoffProgress) => void
  readonly signal?: AbortSignal
  /** How many segments are made at once; by default as many as there are cores, four at most. The file is the same whatever the number. */
  readonly workers?: number
}

export interface HandoffResult {
  readonly path: string
  readonly bytes: number
  readonly frames: number
  /** How many segments there are, and how many of them were there from before. */
  readonly segments: number
  readonly reused: number
  /** The encoder's quality, lower is better; more than the usual 20 where a size had to be met. */
  readonly crf: number
  /** Of the sound as it went to the encoder. */
  readonly loudness: Loudness
}

/** What the sound and the putting together are of the work. */
const share = { sound: 0.03, pictures: 0.96 } as const

/**
 * Renders a lesson to one MP4. Frame n shows the lesson at n / fps seconds (see LessonFrames for what that means after a cut);
 * there are as many frames as the sound needs, rounded up. The picture is made in closed segments, several at once; those
 * that were made before stand again. Nothing but finished segments is left behind on failure or cancel.
 * Throws a DeskError, or a MediaError that names the clip or the sound.
 */
export async function renderHandoff(request: HandoffRequest, options: HandoffOptions = {}): Promise<HandoffResult> {
  const { out } = request
  const work = `${out}.part`
  try {
    await rm(work, { recursive: true, force: true })
    await mkdir(work)
    const made = await writeHandoff(request, work, options)
    if (options.signal?.aborted) throw cancelled()
    await rename(join(work, 'whole.mp4'), out)
    await flushFolder(dirname(out))
    return { path: out, bytes: (await stat(out)).size, ...made }
  } catch (error) {
    throw asHandoffError(error, out, options.signal)
  } finally {
    await rm(work, { recursive: true, force: true })
  }
}

async function writeHandoff(request: HandoffRequest, work: string, { onProgress, signal, workers }: HandoffOptions): Promise<Omit<HandoffResult, 'path' | 'bytes'>> {
  const { takes, edits, settings, captions = [] } = request
  const { fps } = settings
  const size = handoffSize(settings)
  const programme = new Programme(takes, edits)
  const frames = new LessonFrames(programme, fps)
  if (frames.count < 1) throw new DeskError('bad-input', 'This lesson is empty, so there is nothing to hand off.', { remedy: 'Record it again, or bring back what was cut.' })
  const tell = (part: number, step: string, done: number): void => onProgress?.({ share: Math.min(1, part), step, framesDone: done, framesTotal: frames.count })
  tell(0, 'Reading the clips', 0)
  const clips = await probedClips(clipsOf(request), request.clips, signal)
  const store = await SegmentStore.open(request.segments ?? join(work, 'segments'))
  const maker = new PictureMaker({ takes, edits, frames, clips, size, fps, store, workers: workers ?? Math.min(4, availableParallelism()) })

  const soundReady = (async () => {
    const path = await lessonSound(takes, programme, work, signal)
    const level = await findLevel(path, signal)
    return { level, run: await encodeSound(path, level, signal) }
  })()
  soundReady.catch(() => {})
  const pictures = maker.make({
    goalBytes: settings.sizeGoalMb ? settings.sizeGoalMb * 1_000_000 : null,
    soundBytes: async () => (await soundReady).run.packets.reduce((sum, { data }) => sum + data.length, 0),
    signal,
    onProgress: (part, done, step) => tell(share.pictures * part, step, done),
  })
  const [sound, picture] = await bothOf(soundReady, pictures)
  tell(share.pictures, 'Putting it together', frames.count)
  await muxHandoff({
    size, fps, title: settings.title, segments: picture.segments,
    read: async (i) => {
      const run = await store.read(picture.segments[i]!.key)
      if (!run) throw new Error('a part of the picture that was just made cannot be read')
      return run
    },
    sound: sound.run, soundBitRate, captions, chapters: programme.chapters(), lengthMs: programme.lengthMs,
    scratch: join(work, 'scratch.mp4'), out: join(work, 'whole.mp4'),
  })
  if (request.segments) await store.sweep()
  tell(1, 'Ready', frames.count)
  return { frames: frames.count, segments: picture.segments.length, reused: picture.reused, crf: picture.crf, loudness: sound.level.after }
}

/** Waits for both even if one fails: what is still at work must not lose its files. */
async function bothOf<A, B>(one: Promise<A>, two: Promise<B>): Promise<[A, B]> {
  await Promise.allSettled([one, two])
  return [await one, await two]
}

/** Every clip that any of the takes knows, as it knows it. */
function clipsOf({ takes }: HandoffRequest): Record<string, StageClip> {
  return Object.assign({}, ...takes.map(({ log }) => log.header.clips)) as Record<string, StageClip>
}

async function flushFolder(path: string): Promise<void> {
  try {
    await using folder = await open(path, 'r')
    await folder.sync()
  } catch {
    // Windows has no way to flush a folder.
  }
}
