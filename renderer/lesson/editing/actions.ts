import { addChapter } from '../../../shared/walkthrough/editHeadings.ts'
import { cutSpan, cutSpans, insertAt, mergedSpans, moveSpan, pauseAt, placeOf, replaceSpan, setLasts, within, withPieces, type OutSpan } from '../../../shared/walkthrough/editPieces.ts'
import { lengthOf, lengthOfAll, toMs, toSamples, type Piece, type Stretch } from '../../../shared/walkthrough/edits.ts'
import { tellDone } from '../../ui/notices.ts'
import { clockWords } from '../clockWords.ts'
import { newId, type LessonEditor } from './lessonEditor.ts'

/** What the coach does to a lesson, each one step with a name. Times are milliseconds of the lesson as it stands. */

export const secondsWords = (samples: number): string => {
  const seconds = toMs(samples) / 1000
  return seconds >= 60 ? clockWords(seconds * 1000) : `${seconds.toFixed(seconds < 10 ? 1 : 0)} s`
}
const spanWords = ({ from, to }: OutSpan): string => `${secondsWords(to - from)} at ${clockWords(toMs(from))}`

/** What was cut or copied last, to be put in elsewhere; kept while the window lives. */
let held: readonly Piece[] = []
export const heldLength = (): number => lengthOfAll(held)

/** Pieces under names of their own, so that the same part can stand in a lesson twice. */
const renamed = (pieces: readonly Piece[]): Piece[] => pieces.map((piece) => ({ ...piece, id: newId() }))

export function cutSelection(editor: LessonEditor, keep = false): boolean {
  const { selection, programme, lesson } = editor.view.getState()
  if (!selection || !programme || !lesson) return false
  if (selection.from <= 0 && selection.to >= programme.length) {
    tellDone('That is the whole lesson; cut a part of it, or remove the lesson.')
    return false
  }
  if (keep) held = within(lesson.edits.pieces, selection, newId)
  const done = editor.edit(`Cut ${spanWords(selection)}`, (edits) => withPieces(edits, cutSpan(edits.pieces, selection, newId)), toMs(selection.from))
  editor.select(null)
  return done
}

export function copySelection(editor: LessonEditor): void {
  const { selection, lesson } = editor.view.getState()
  if (!selection || !lesson) return
  held = within(lesson.edits.pieces, selection, newId)
  tellDone(`${secondsWords(selection.to - selection.from)} copied; go to a place and put it in.`)
}

export function pasteHere(editor: LessonEditor, ms: number): void {
  if (held.length === 0) return
  const pieces = renamed(held)
  editor.edit(`Put in ${secondsWords(heldLength())} at ${clockWords(ms)}`, (edits) => withPieces(edits, insertAt(edits.pieces, toSamples(ms), pieces, newId)), ms)
}

export function moveSelectionTo(editor: LessonEditor, ms: number): void {
  const { selection } = editor.view.getState()
  if (!selection) return
  const at = toSamples(ms)
  const lands = at < selection.from ? at : at - (selection.to - selection.from)
  if (editor.edit(`Move ${spanWords(selection)} to ${clockWords(ms)}`, (edits) => withPieces(edits, moveSpan(edits.pieces, selection, at, newId)), toMs(Math.max(0, lands)))) editor.select(null)
}

/** Holds the picture for so long; on a pause or a card that is there, lengthens it. */
export function pauseHere(editor: LessonEditor, ms: number, seconds: number): void {
  editor.edit(`Pause of ${seconds} s at ${clockWords(ms)}`, (edits) => withPieces(edits, pauseAt(edits.pieces, toSamples(ms), seconds * 48_000, newId)), ms)
}

/** The pause or card at a time, or null: a take has its own length. */
export function heldPieceAt(editor: LessonEditor, ms: number): Exclude<Piece, { kind: 'take' }> | null {
  const { lesson } = editor.view.getState()
  const place = lesson && placeOf(lesson.edits.pieces, toSamples(ms))
  return place && place.piece.kind !== 'take' ? place.piece : null
}

export function setPause(editor: LessonEditor, id: string, seconds: number): void {
  editor.edit(seconds > 0 ? `Make it last ${seconds} s` : 'Take a pause out', (edits) => withPieces(edits, setLasts(edits.pieces, id, seconds * 48_000)))
}

export function trimSilences(editor: LessonEditor, spans: readonly OutSpan[]): void {
  const merged = mergedSpans(spans)
  const total = merged.reduce((sum, { from, to }) => sum + to - from, 0)
  if (merged.length === 0) return
  editor.edit(merged.length === 1 ? `Trim a silence, ${spanWords(merged[0]!)}` : `Trim ${merged.length} silences, ${secondsWords(total)}`, (edits) => withPieces(edits, cutSpans(edits.pieces, merged, newId)))
}

export const chapterHere = (editor: LessonEditor, ms: number, title: string): boolean =>
  editor.edit(`Add chapter “${title}”`, (edits) => addChapter(edits, toSamples(ms), title, newId))

/** Where a stretch of a take that was cut stood: after what comes before it in the same take, else before what comes after. Null where nothing of the take is left. */
export function oldPlaceOf(pieces: readonly Piece[], stretch: Stretch): number | null {
  let at = 0
  let best: { readonly near: number; readonly place: number } | null = null
  for (const piece of pieces) {
    const length = lengthOf(piece)
    if (piece.kind === 'take' && piece.takeId === stretch.takeId) {
      const after = stretch.from - piece.to
      const before = piece.from - stretch.to
      if (after >= 0 && (!best || after < best.near)) best = { near: after, place: at + length }
      if (before >= 0 && (!best || before < best.near)) best = { near: before, place: at }
    }
    at += length
  }
  return best?.place ?? null
}

/** Puts a stretch that was cut, or taken again, back where it was, or (`ms`) somewhere else; `meant` is where a recording was to go that never got there. */
export function bringBack(editor: LessonEditor, stretch: Stretch, ms: number | null, meant?: number): void {
  const { lesson } = editor.view.getState()
  if (!lesson) return
  const at = ms === null ? oldPlaceOf(lesson.edits.pieces, stretch) ?? Math.min(meant ?? Infinity, lengthOfAll(lesson.edits.pieces)) : toSamples(ms)
  editor.edit(`Bring back ${secondsWords(stretch.to - stretch.from)} at ${clockWords(toMs(at))}`, (edits) => withPieces(edits, insertAt(edits.pieces, at, [{ id: newId(), kind: 'take', ...stretch }], newId)), toMs(at))
}

/** Puts a stretch back in place of what stands between its own neighbours now: what was recorded anew for it. */
export function putInstead(editor: LessonEditor, stretch: Stretch): void {
  const span = betweenNeighbours(editor.view.getState().lesson?.edits.pieces ?? [], stretch)
  if (!span) return bringBack(editor, stretch, null)
  editor.edit(`Use ${secondsWords(stretch.to - stretch.from)} of the earlier take at ${clockWords(toMs(span.from))}`, (edits) => withPieces(edits, replaceSpan(edits.pieces, span, [{ id: newId(), kind: 'take', ...stretch }], newId)), toMs(span.from))
}

/** From the end of what comes before a stretch in its take to the beginning of what comes after it, or to the lesson's own ends; cards there stay. */
function betweenNeighbours(pieces: readonly Piece[], { takeId, from, to }: Stretch): OutSpan | null {
  let at = 0
  let begin: number | null = null
  let end: number | null = null
  for (const [i, piece] of pieces.entries()) {
    const length = lengthOf(piece)
    if (piece.kind === 'card' && i === 0) begin = length
    if (piece.kind === 'card' && i === pieces.length - 1) end ??= at
    if (piece.kind === 'take' && piece.takeId === takeId && piece.to <= from) begin = at + length
    if (piece.kind === 'take' && piece.takeId === takeId && piece.from >= to) end ??= at
    at += length
  }
  const span = { from: begin ?? 0, to: end ?? at }
  return span.from <= span.to ? span : null
}
