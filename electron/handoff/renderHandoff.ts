import { open, rename, rm, stat } from 'node:fs/promises'
import { availableParallelism } from 'node:os'
import { basename, dirname } from 'node:path'
import { Dictionary, FFmpegError } from 'node-av'
import { DeskError } from '../../shared/contract/errors.ts'
import { handoffSize, type HandoffSettings } from '../../shared/contract/walkthrough.ts'
import { Replay, type Log } from '../../shared/walkthrough/log.ts'
import { openFileWriter } from '../media/fileWriter.ts'
import { MediaError } from '../media/mediaError.ts'
import { addSoundTrack, type SoundTrack } from '../media/soundTrack.ts'
import { Composer, heldPictures } from './composer.ts'
import { openClips, type HandoffClip } from './openClips.ts'
import { addHandoffVideo } from './handoffVideo.ts'
import { findLevel, levelledSound, type Loudness } from './speech.ts'

export interface HandoffRequest {
  readonly log: Log
  /** A sound file; time 0 of the log is its first sample. */
  readonly soundPath: string
  /** Originals by clip id: all that the log shows. */
  readonly clips: Readonly<Record<string, HandoffClip>>
  readonly settings: HandoffSettings
  /** Where the finished file is to lie. Until it is whole, only a file of another name beside it exists. */
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
  /** Of the encoder; by default as many as there are cores. The same input with as many threads gives the same bytes (see handoffVideo.ts for where not). */
  readonly threads?: number
}

export interface HandoffResult {
  readonly path: string
  readonly bytes: number
  readonly frames: number
  /** Of the sound as it went to the encoder. */
  readonly loudness: Loudness
}

/** AAC-LC at 128 kbit/s in two channels: speech needs less, and every phone plays it from both sides. */
const soundBitRate = 128_000
/** Finding the sound's level is a small part of the work. */
const soundShare = 0.04

/**
 * Renders a walkthrough to one MP4. Frame n shows the stage at n / fps seconds; there are as many frames as the sound
 * needs, rounded up. Nothing is left behind on failure or cancel.
 * Throws a DeskError, or a MediaError that names the clip or the sound.
 */
export async function renderHandoff(request: HandoffRequest, options: HandoffOptions = {}): Promise<HandoffResult> {
  const { out } = request
  const half = `${out}.part`
  try {
    const made = await writeHandoff(request, half, options)
    if (options.signal?.aborted) throw cancelled()
    await flush(half)
    await rename(half, out)
    await flush(dirname(out)).catch(() => {}) // Windows has no way to flush a folder.
    return { path: out, bytes: (await stat(out)).size, ...made }
  } catch (error) {
    await rm(half, { force: true })
    throw asHandoffError(error, out, options.signal)
  }
}

async function writeHandoff(request: HandoffRequest, path: string, { onProgress, signal, threads }: HandoffOptions): Promise<Pick<HandoffResult, 'frames' | 'loudness'>> {
  const { log, settings, soundPath } = request
  const { fps } = settings
  const size = handoffSize(settings)
  const tell = (share: number, step: string, framesDone = 0, framesTotal = 0): void => onProgress?.({ share, step, framesDone, framesTotal })
  tell(0, 'Levelling the sound')
  const level = await findLevel(soundPath, signal)
  const frames = Math.ceil((level.samples / 48_000) * fps - 1e-6)
  if (frames < 1) throw new DeskError('bad-input', 'This walkthrough has no sound in it, so there is nothing to hand off.', { remedy: 'Record it again.' })

  await using clips = await openClips(log, request.clips, size, signal)
  await using output = openFileWriter(path, 'mp4')
  // Bit-exact writing leaves out the names and dates of tools.
  output.format.setOption('fflags', '+bitexact')
  using video = await addHandoffVideo(output, { ...size, fps, threads: threads ?? availableParallelism() })
  using sound = await addSoundTrack(output, { channels: 2, bitRate: soundBitRate })
  if (settings.title !== '') output.format.metadata = Dictionary.fromObject({ title: settings.title })
  await output.start({ movflags: '+faststart', video_track_timescale: fps * 1000, movie_timescale: 48_000 })

  using composer = new Composer(size, log.header.clips, clips.frame)
  const replay = new Replay(log)
  const compose = async (n: number): ReturnType<Composer['compose']> => {
    // Waking the event loop lets a cancel come through.
    await new Promise(setImmediate)
    if (signal?.aborted) throw cancelled()
    return composer.compose(replay.at((n / fps) * 1000))
  }
  const feed = soundFeed(levelledSound(soundPath, level, signal), sound)
  // Composing runs ahead of encoding by as many pictures as the composer keeps, and decoding ahead of composing, on a
  // reader of the log of its own: so no one waits for another as long as there is anything to do.
  const coming: ReturnType<Composer['compose']>[] = []
  let composing: Promise<unknown> = Promise.resolve()
  const ahead = new Replay(log)
  let preparing: Promise<void> = Promise.resolve()
  let next = 0
  const goOn = (): void => {
    const n = next++
    if (n >= frames) return
    const made = composing.then(() => compose(n))
    composing = made
    coming.push(made)
    if (n + 2 < frames) preparing = preparing.then(() => composer.prepare(ahead.at(((n + 2) / fps) * 1000)))
    for (const promise of [made, preparing]) promise.catch(() => {})
  }
  try {
    while (next < heldPictures) goOn()
    for (let n = 0; n < frames; n++) {
      const frame = await coming.shift()!
      goOn()
      await allOf([video.write(frame, n), feed.upTo((n + 1) / fps + 0.5)])
      tell(soundShare + (1 - soundShare) * ((n + 1) / frames), 'Drawing and encoding', n + 1, frames)
    }
    await feed.upTo(Infinity)
    await video.write(null, frames)
    await sound.write(null)
    await output.finish()
  } finally {
    await composing.catch(() => {})
    await preparing.catch(() => {})
    await feed.close()
  }
  return { frames, loudness: level.after }
}

/** Waits for all even if one fails: what is still at work must not be closed. */
async function allOf(works: readonly Promise<unknown>[]): Promise<void> {
  for (const done of await Promise.allSettled(works)) if (done.status === 'rejected') throw done.reason
}

/** Hands sound to its track as the pictures come to need it, so that both lie close together in the file. */
function soundFeed(frames: ReturnType<typeof levelledSound>, track: SoundTrack): { upTo(seconds: number): Promise<void>; close(): Promise<void> } {
  let at = 0
  let ended = false
  return {
    async upTo(seconds) {
      while (!ended && at < seconds) {
        const { value, done } = await frames.next()
        if (done || !value) {
          ended = true
          return
        }
        using frame = value
        at = (Number(frame.pts) + frame.nbSamples) / 48_000
        await track.write(frame)
      }
    },
    close: async () => void (await frames.return()),
  }
}

async function flush(path: string): Promise<void> {
  await using file = await open(path, 'r')
  await file.sync()
}

const cancelled = (): DeskError => new DeskError('cancelled', 'The hand-off was cancelled.')

/** What went wrong, in terms of the coach's file. FFmpeg's codes are negative errno values: -28 is "no space left", -13 "not allowed", -2 "no such folder". */
export function asHandoffError(error: unknown, out: string, signal?: AbortSignal): Error {
  if (signal?.aborted) return cancelled()
  if (error instanceof DeskError || (error instanceof MediaError && error.kind !== 'disk-full')) return error
  const code = error instanceof FFmpegError ? error.code : error instanceof Error && 'errno' in error ? error.errno : null
  const name = basename(out)
  if (code === -28 || error instanceof MediaError) {
    return new DeskError('disk-full', `The disk filled up before ${name} was finished.`, { where: out, remedy: 'Make room on it, or choose another folder, and hand off again.', cause: error })
  }
  if (code === -13 || code === -1 || code === -30) {
    return new DeskError('not-allowed', `${name} may not be written there.`, { where: out, remedy: 'Choose a folder of your own.', cause: error })
  }
  if (code === -2) return new DeskError('not-found', `The folder for ${name} is not there any more.`, { where: out, remedy: 'Choose another folder.', cause: error })
  return error instanceof Error ? error : new Error(String(error))
}

