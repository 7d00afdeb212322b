import { open, type FileHandle } from 'node:fs/promises'
import { Readable } from 'node:stream'
import type { Edits } from '../../shared/walkthrough/edits.ts'
import { Programme, type SoundPiece } from '../../shared/walkthrough/programme.ts'
import { emptyStage } from '../../shared/walkthrough/stage.ts'
import type { Log } from '../../shared/walkthrough/log.ts'
import { wavHeader } from '../media/wav.ts'
import { getWalkthrough } from '../library/walkthroughs.ts'
import { parseRange } from './byteRange.ts'
import { cleaningKey } from './cleaning.ts'
import type { DeskContext } from './context.ts'
import { readEdits } from './lessons.ts'
import type { MediaRequest } from './mediaRoutes.ts'
import { soundPath } from './recordings.ts'

const rate = 48_000
const bytesPerSample = 2
/** Samples read at a time. */
const stretch = rate

/** A take's sound at 48 kHz: where its samples lie in a file. */
interface Source {
  readonly path: string
  readonly skip: number
}

/** The sound of the pieces does not depend on what is seen: a log without rows will do. */
const noLog: Log = { header: { format: 'crossbearing-walkthrough', version: 1, clips: {}, initial: emptyStage }, rows: [] }

/**
 * The sound of a lesson as it is edited, as a WAV file that is nowhere on disk: put together from the recordings as it is asked
 * for, by range. Null where the lesson has changed since `version`, or where a copy that it needs is not there yet.
 */
export function lessonSoundResponse(context: DeskContext, id: string, version: number, asRecorded: boolean, request: MediaRequest): Response | null {
  const lesson = getWalkthrough(context.library.db, id)
  if (!lesson || lesson.state === 'recording') return null
  const stored = readEdits(context, id)
  if (stored.version !== version) return null
  const takes = takesOf(context, stored.edits)
  const sources = new Map<string, Source>()
  for (const { id: takeId, sampleRate } of takes) {
    const source = sourceOf(context, takeId, sampleRate, asRecorded ? { ...stored.edits.sound, on: false } : stored.edits.sound)
    if (!source) return null
    sources.set(takeId, source)
  }
  const pieces = new Programme(takes.map((take) => ({ id: take.id, log: noLog, durationMs: take.durationMs })), stored.edits).soundPieces()
  return wavResponse(pieces, sources, `${id}-${version}-${asRecorded ? 'recorded' : cleaningKey(stored.edits.sound)}`, request)
}

function takesOf({ library }: DeskContext, edits: Edits) {
  const ids = new Set(edits.pieces.flatMap((piece) => (piece.kind === 'card' ? [] : [piece.takeId])))
  return [...ids].flatMap((takeId) => {
    const take = getWalkthrough(library.db, takeId)
    return take ? [take] : []
  })
}

function sourceOf({ library, cleaning }: DeskContext, takeId: string, sampleRate: number, wanted: Edits['sound']): Source | null {
  if (!wanted.on && sampleRate === rate) return { path: soundPath(library, takeId), skip: 0 }
  const path = cleaning.pathOf(takeId, cleaningKey(wanted))
  return path === null ? null : { path, skip: 44 }
}

function wavResponse(pieces: readonly SoundPiece[], sources: ReadonlyMap<string, Source>, tag: string, request: MediaRequest): Response {
  const samples = pieces.reduce((sum, piece) => sum + lengthOf(piece), 0)
  const header = wavHeader(rate, 1, samples * bytesPerSample)
  const size = header.length + samples * bytesPerSample
  const headers = new Headers({
    'content-type': 'audio/wav',
    'accept-ranges': 'bytes',
    'cache-control': 'private, max-age=31536000, immutable',
    'x-content-type-options': 'nosniff',
    etag: `"${tag}"`,
  })
  const range = parseRange(request.headers.get('range'), size)
  if (range === null) {
    headers.set('content-range', `bytes */${size}`)
    return new Response(null, { status: 416, headers })
  }
  const { first, last } = range === 'whole' ? { first: 0, last: size - 1 } : range
  headers.set('content-length', String(last - first + 1))
  if (range !== 'whole') headers.set('content-range', `bytes ${first}-${last}/${size}`)
  const status = range === 'whole' ? 200 : 206
  if (request.method === 'HEAD') return new Response(null, { status, headers })
  const bytes = async function* (): AsyncGenerator<Uint8Array> {
    if (first < header.length) yield header.subarray(first, Math.min(header.length, last + 1))
    if (last >= header.length) yield* soundBytes(pieces, sources, Math.max(0, first - header.length), last + 1 - header.length)
  }
  return new Response(Readable.toWeb(Readable.from(bytes(), { objectMode: false, highWaterMark: 1 << 18 })) as ReadableStream<Uint8Array>, { status, headers })
}

const lengthOf = (piece: SoundPiece): number => (piece.kind === 'take' ? piece.to - piece.from : piece.length)

/** Bytes [from, to) of the samples. */
async function* soundBytes(pieces: readonly SoundPiece[], sources: ReadonlyMap<string, Source>, from: number, to: number): AsyncGenerator<Uint8Array> {
  const files = new Map<string, FileHandle>()
  try {
    const firstSample = Math.floor(from / bytesPerSample)
    const endSample = Math.ceil(to / bytesPerSample)
    for (const piece of pieces) {
      const length = lengthOf(piece)
      const begin = Math.max(0, firstSample - piece.at)
      const end = Math.min(length, endSample - piece.at)
      for (let at = begin; at < end; at += stretch) {
        const samples = new Int16Array(Math.min(stretch, end - at))
        if (piece.kind === 'take') {
          const source = sources.get(piece.takeId)!
          let file = files.get(piece.takeId)
          if (!file) files.set(piece.takeId, (file = await open(source.path, 'r')))
          // Beyond the end of what was recorded there is silence.
          await file.read(samples, 0, samples.byteLength, source.skip + (piece.from + at) * bytesPerSample)
          fade(samples, at, length, piece.fadeIn, piece.fadeOut)
        }
        const bytes = Buffer.from(samples.buffer)
        const start = (piece.at + at) * bytesPerSample
        yield bytes.subarray(Math.max(0, from - start), Math.min(bytes.length, to - start))
      }
    }
  } finally {
    for (const file of files.values()) await file.close()
  }
}

/** Lets a sound come and go on straight lines; `done` of its samples lie before these. */
export function fade(samples: Int16Array, done: number, length: number, fadeIn: number, fadeOut: number): void {
  for (let i = 0; i < samples.length && done + i < fadeIn; i++) samples[i] = Math.round(samples[i]! * ((done + i + 0.5) / fadeIn))
  for (let i = Math.max(0, length - fadeOut - done); i < samples.length; i++) samples[i] = Math.round(samples[i]! * ((length - done - i - 0.5) / fadeOut))
}
