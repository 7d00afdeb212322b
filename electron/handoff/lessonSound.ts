import { open, type FileHandle } from 'node:fs/promises'
import { join } from 'node:path'
import { samplesPerSecond, wholePiece, type Take } from '../../shared/walkthrough/edits.ts'
import type { Programme, SoundPiece } from '../../shared/walkthrough/programme.ts'
import { samplesOf } from '../media/soundDecoder.ts'
import { stopIfCancelled } from '../media/mediaError.ts'
import { toInt16, wavHeader } from '../media/wav.ts'
import { soundThrough } from './speech.ts'

/** A recording with where its sound lies. */
export interface SoundedTake extends Take {
  /** A sound file; time 0 of the log is its first sample. */
  readonly soundPath: string
}

/** Samples that are moved at a time: ten seconds. */
const stretch = samplesPerSecond * 10

/**
 * The sound of an edited lesson as one file. A take that is played through as it was recorded is its own file; else pieces are
 * put together, sample by sample, in a new one inside `folder`.
 */
export async function lessonSound(takes: readonly SoundedTake[], programme: Programme, folder: string, signal?: AbortSignal): Promise<string> {
  const pieces = programme.soundPieces()
  const only = pieces.length === 1 ? pieces[0]! : null
  const whole = only?.kind === 'take' && takes.find(({ id }) => id === only.takeId)
  if (whole && only.kind === 'take' && only.from === 0 && only.to === wholePiece(whole).to) return whole.soundPath
  const raw = new Map<string, FileHandle>()
  const path = join(folder, 'lesson.wav')
  const out = await open(path, 'w')
  try {
    for (const { id, soundPath } of takes) if (pieces.some((piece) => piece.kind === 'take' && piece.takeId === id)) raw.set(id, await decoded(soundPath, join(folder, `${id}.pcm`), signal))
    await out.write(wavHeader(samplesPerSecond, 1, programme.length * 2))
    for (const piece of pieces) await put(out, piece, raw, path, signal)
    return path
  } finally {
    for (const file of [out, ...raw.values()]) await file.close()
  }
}

/** A sound as 16-bit samples at 48 kHz, one channel, nothing else. */
async function decoded(soundPath: string, path: string, signal?: AbortSignal): Promise<FileHandle> {
  const file = await open(path, 'w+')
  try {
    for await (const frame of soundThrough(soundPath, 'anull', { channels: 1, signal })) {
      using own = frame
      await file.write(toInt16([samplesOf(own, 0)]))
    }
    return file
  } catch (error) {
    await file.close()
    throw error
  }
}

async function put(out: FileHandle, piece: SoundPiece, raw: ReadonlyMap<string, FileHandle>, path: string, signal?: AbortSignal): Promise<void> {
  const length = piece.kind === 'take' ? piece.to - piece.from : piece.length
  for (let done = 0; done < length; done += stretch) {
    stopIfCancelled(signal, path)
    const count = Math.min(stretch, length - done)
    const samples = new Int16Array(count)
    if (piece.kind === 'take') {
      // Beyond the end of what was recorded there is silence.
      await raw.get(piece.takeId)!.read(samples, 0, count * 2, (piece.from + done) * 2)
      fade(samples, done, length, piece.fadeIn, piece.fadeOut)
    }
    await out.write(samples)
  }
}

/** Lets a sound come and go on straight lines; `done` of its samples lie before these. */
function fade(samples: Int16Array, done: number, length: number, fadeIn: number, fadeOut: number): void {
  for (let i = 0; i < samples.length && done + i < fadeIn; i++) samples[i] = Math.round(samples[i]! * ((done + i + 0.5) / fadeIn))
  for (let i = Math.max(0, length - fadeOut - done); i < samples.length; i++) samples[i] = Math.round(samples[i]! * ((length - done - i - 0.5) / fadeOut))
}
