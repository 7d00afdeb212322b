import { samplesPerSecond, toMs } from './edits.ts'
import type { OutSpan } from './editPieces.ts'
import type { Programme } from './programme.ts'

/** Loudest sample, 0 to 1, of each of `perSecond` equal parts of a second. */
export interface PeakTrack {
  readonly perSecond: number
  readonly values: Float32Array
}

/** Peaks at which takes are read: a hundred a second. */
export const peaksPerSecond = 100

/** The peaks of a lesson as it is edited, from those of its takes; silence where a piece has no sound or its take's peaks are not known yet. */
export function programmePeaks(programme: Programme, takes: ReadonlyMap<string, PeakTrack>): PeakTrack {
  const each = samplesPerSecond / peaksPerSecond
  const values = new Float32Array(Math.ceil(programme.length / each))
  for (const { piece, at, length } of programme.pieces) {
    const track = piece.kind === 'take' ? takes.get(piece.takeId) : undefined
    if (piece.kind !== 'take' || !track) continue
    const scale = track.perSecond / samplesPerSecond
    for (let i = Math.ceil(at / each); i * each < at + length && i < values.length; i++) {
      const from = Math.floor((piece.from + i * each - at) * scale)
      const to = Math.max(from + 1, Math.floor((piece.from + Math.min((i + 1) * each - at, length)) * scale))
      let peak = 0
      for (let k = from; k < to; k++) peak = Math.max(peak, track.values[k] ?? 0)
      values[i] = peak
    }
  }
  return { perSecond: peaksPerSecond, values }
}

/** A stretch of a lesson in which nobody speaks. */
export interface Silence {
  /** What would be cut: what is left of it before and after the words is not in it. */
  readonly span: OutSpan
  /** The picture plays, is drawn on or changes meanwhile: a silence that may be meant. */
  readonly isShowing: boolean
}

export interface SilenceOptions {
  /** Milliseconds: shorter ones are the breath between sentences. */
  readonly leastMs: number
  /** Milliseconds of it that stay, half on either side. */
  readonly leaveMs: number
}
export const usualSilence: SilenceOptions = { leastMs: 1200, leaveMs: 400 }

/**
 * Level under which nothing is said, found from the sound itself: a third of the way, in decibels, from the room's noise (the
 * level that a tenth of the parts stay under) to the speech (a tenth are louder). Null where the two lie too close to be told apart.
 */
export function silenceLevel({ values }: PeakTrack): number | null {
  // Dead silence (a card, a hold, a muted microphone) says nothing of the room.
  const heard = values.filter((value) => value > 1e-4).sort()
  if (heard.length < 20) return null
  const dB = (share: number): number => 20 * Math.log10(heard[Math.floor(share * (heard.length - 1))]!)
  const [noise, speech] = [dB(0.1), dB(0.9)]
  return speech - noise < 6 ? null : 10 ** ((noise + (speech - noise) / 3) / 20)
}

/** Clicks shorter than this (milliseconds) do not end a silence: a mouse, a key. */
const clickMs = 60

/** Silences of a lesson, found from its peaks. Cards and held pictures are silent on purpose and are left out. */
export function findSilences(programme: Programme, peaks: PeakTrack, { leastMs, leaveMs }: SilenceOptions = usualSilence): Silence[] {
  const level = silenceLevel(peaks)
  if (level === null) return []
  const each = samplesPerSecond / peaks.perSecond
  const loud = withoutClicks(peaks.values, level, Math.round((clickMs * peaks.perSecond) / 1000))
  const least = (leastMs / 1000) * samplesPerSecond
  const leave = (leaveMs / 1000) * samplesPerSecond
  const found: Silence[] = []
  for (const { piece, at, length } of programme.pieces) {
    if (piece.kind !== 'take') continue
    const [first, end] = [Math.ceil(at / each), Math.floor((at + length) / each)]
    let from = first
    for (let i = first; i <= end; i++) {
      if (i < end && !loud[i]) continue
      const span = { from: from * each, to: i * each }
      from = i + 1
      if (span.to - span.from < least) continue
      // At the very beginning and end of a lesson nothing need be left on the outer side but a breath.
      const inner = { from: Math.round(span.from + leave / 2), to: Math.round(span.to - leave / 2) }
      if (inner.to > inner.from) found.push({ span: inner, isShowing: isShowing(programme, inner) })
    }
  }
  return found
}

/** Whether the picture is on the move, or anything is drawn, pointed at or changed on the stage, in a span. */
export function isShowing(programme: Programme, { from, to }: OutSpan): boolean {
  const before = programme.at(toMs(from))
  if (before?.kind === 'stage' && before.stage.motion !== null) return true
  return programme.rowsIn(toMs(from), toMs(to)).some(([, event]) => event.type !== 'chapter' && event.type !== 'clips' && event.type !== 'stop')
}

/** Parts that are loud: sounds with less than a quarter of a second between them are one, and one that is too short for a word is none. */
function withoutClicks(values: Float32Array, level: number, click: number): Uint8Array {
  const loud = new Uint8Array(values.length)
  const gap = click * 4
  for (let i = 0; i < values.length;) {
    if (values[i]! < level) {
      i++
      continue
    }
    let end = i + 1
    for (let k = end; k < values.length && k - end < gap; k++) if (values[k]! >= level) end = k + 1
    if (end - i >= click) loud.fill(1, i, end)
    i = end
  }
  return loud
}
