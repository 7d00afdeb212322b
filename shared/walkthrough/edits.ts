import { z } from 'zod'
import { imagePointSchema, inkSchema, markSchema, spanSchema } from '../markup/mark.ts'
import type { Log } from './log.ts'

/**
 * A lesson is an edit list by reference over one or more *takes* (recordings, each a log and its sound, never changed).
 *
 * All times in the list are whole samples at 48,000 a second, whatever rate a take was recorded at, so that lengths add up
 * exactly and the sound of a lesson has exactly as many samples as its picture has time. There are 48 in a millisecond.
 */
export const samplesPerSecond = 48_000
const samplesPerMs = samplesPerSecond / 1000

export const toMs = (samples: number): number => samples / samplesPerMs
export const toSamples = (ms: number): number => Math.round(ms * samplesPerMs)

const samples = z.number().int().min(0)
const lasting = z.number().int().positive()
const id = z.string().min(1)

export const takePieceSchema = z.object({ id, kind: z.literal('take'), takeId: id, from: samples, to: samples }).refine(({ from, to }) => from < to, { message: 'a piece must have a length', path: ['to'] })
/** The picture of one instant of a take standing still, in silence: a pause that was moved or made longer. */
export const holdPieceSchema = z.object({ id, kind: z.literal('hold'), takeId: id, at: samples, lasts: lasting })
/** Words on a plain ground, in silence: the title at the beginning, the closing words at the end. */
export const cardPieceSchema = z.object({ id, kind: z.literal('card'), title: z.string().max(200), lines: z.array(z.string().max(200)).max(12).readonly(), lasts: lasting })
export const pieceSchema = z.union([takePieceSchema, holdPieceSchema, cardPieceSchema])
export type TakePiece = Readonly<z.infer<typeof takePieceSchema>>
export type HoldPiece = Readonly<z.infer<typeof holdPieceSchema>>
export type CardPiece = Readonly<z.infer<typeof cardPieceSchema>>
export type Piece = TakePiece | HoldPiece | CardPiece

/** A heading fixed to content: an instant of a take, or a piece that has no take (a card). It goes where its content goes. */
export const chapterMarkSchema = z.object({
  id,
  title: z.string().max(200),
  on: z.union([z.object({ takeId: id, at: samples }).readonly(), z.object({ pieceId: id }).readonly()]),
})
export type ChapterMark = Readonly<z.infer<typeof chapterMarkSchema>>

/** What of a mark can be set right afterwards; what is left out stays as it was drawn, moving as it moved. */
export const markPatchSchema = z
  .object({
    points: z.array(imagePointSchema),
    text: z.string().max(2000),
    span: spanSchema,
    ink: inkSchema,
    weight: z.number().min(1).max(30),
    dashed: z.boolean(),
  })
  .partial()
export type MarkPatch = Readonly<z.infer<typeof markPatchSchema>>

/** A stretch of a take: [from, to). */
const stretchSchema = z.object({ takeId: id, from: samples, to: samples }).readonly()
export type Stretch = Readonly<z.infer<typeof stretchSchema>>

/** A mark set right after the fact, over stretches of takes, so that it stays on its content through every later edit. The sound is not touched. */
export const markFixSchema = z.object({
  id,
  over: z.array(stretchSchema).min(1).readonly(),
  change: z.discriminatedUnion('kind', [
    z.object({ kind: z.literal('change'), markId: id, patch: markPatchSchema }).readonly(),
    z.object({ kind: z.literal('remove'), markId: id }).readonly(),
    z.object({ kind: z.literal('add'), mark: markSchema }).readonly(),
  ]),
})
export type MarkFix = Readonly<z.infer<typeof markFixSchema>>

/** How the sound is cleaned before it is brought to its level. */
export const soundCleaningSchema = z.object({
  /** The one switch: false is the sound as recorded. */
  on: z.boolean(),
  /** Takes out the mains hum that is found, and its harmonics. */
  hum: z.boolean(),
  noise: z.enum(['off', 'light', 'firm']),
  /** Quiet words are lifted and loud ones held. */
  even: z.boolean(),
})
export type SoundCleaning = Readonly<z.infer<typeof soundCleaningSchema>>
export const asRecorded: SoundCleaning = { on: false, hum: true, noise: 'light', even: true }

export const editsSchema = z.object({
  version: z.literal(1),
  pieces: z.array(pieceSchema).readonly(),
  chapters: z.array(chapterMarkSchema).readonly(),
  fixes: z.array(markFixSchema).readonly(),
  sound: soundCleaningSchema.readonly(),
})
export type Edits = Readonly<z.infer<typeof editsSchema>>

/** A recording that edits refer to. */
export interface Take {
  readonly id: string
  readonly log: Log
  /** Milliseconds of sound. */
  readonly durationMs: number
}

/** Samples that a piece lasts. */
export const lengthOf = (piece: Piece): number => (piece.kind === 'take' ? piece.to - piece.from : piece.lasts)
/** Samples that pieces last together. */
export const lengthOfAll = (pieces: readonly Piece[]): number => pieces.reduce((sum, piece) => sum + lengthOf(piece), 0)

/** A whole take as one piece, named after it, so that it is the same list wherever it is made. */
export const wholePiece = (take: Pick<Take, 'id' | 'durationMs'>): TakePiece => ({ id: take.id, kind: 'take', takeId: take.id, from: 0, to: Math.max(1, toSamples(take.durationMs)) })

/** The chapters that were set while a take was recorded; one without words is numbered, from `firstNumber`. */
export function recordedChapters(take: Take, firstNumber = 1): ChapterMark[] {
  return take.log.rows
    .flatMap(([at, event]) => (event.type === 'chapter' ? [{ at, title: event.title }] : []))
    .map(({ at, title }, i) => ({ id: `${take.id}-chapter-${i}`, title: (title || `Chapter ${firstNumber + i}`).slice(0, 200), on: { takeId: take.id, at: toSamples(at) } }))
}

/** What a take is before anything is edited: all of it. A pure function of the take, its ids too. */
export const untouched = (take: Take): Edits => ({
  version: 1,
  pieces: take.durationMs > 0 ? [wholePiece(take)] : [],
  chapters: recordedChapters(take),
  fixes: [],
  sound: asRecorded,
})

/** The takes that a list refers to, in the order of their first appearance. */
export const takesIn = ({ pieces }: Pick<Edits, 'pieces'>): string[] => [...new Set(pieces.flatMap((piece) => (piece.kind === 'card' ? [] : [piece.takeId])))]
