import { recordedChapters, type ChapterMark, type Edits, type Piece, type Take } from './edits.ts'
import { placeOf, replaceSpan, stretchesOf, type NewId, type OutSpan } from './editPieces.ts'

/** What stands at a place of the lesson, for a heading to be fixed to. Null in an empty lesson. */
function contentAt(pieces: readonly Piece[], at: number): ChapterMark['on'] | null {
  const place = placeOf(pieces, at)
  if (!place) return null
  const { piece, into, index } = place
  if (piece.kind === 'card') return { pieceId: piece.id }
  if (piece.kind === 'take') return { takeId: piece.takeId, at: Math.min(piece.from + into, piece.to - 1) }
  // A hold has no sound of its own to be fixed to: its heading goes with what comes after it, or is the hold's own.
  const next = pieces[index + 1]
  return into === 0 || next?.kind !== 'take' ? { pieceId: piece.id } : { takeId: next.takeId, at: next.from }
}

export function addChapter(edits: Edits, at: number, title: string, newId: NewId): Edits {
  const on = contentAt(edits.pieces, at)
  return on ? { ...edits, chapters: [...edits.chapters, { id: newId(), title, on }] } : edits
}

export const renameChapter = (edits: Edits, id: string, title: string): Edits =>
  ({ ...edits, chapters: edits.chapters.map((chapter) => (chapter.id === id ? { ...chapter, title } : chapter)) })

export function moveChapter(edits: Edits, id: string, at: number): Edits {
  const on = contentAt(edits.pieces, at)
  return on ? { ...edits, chapters: edits.chapters.map((chapter) => (chapter.id === id ? { ...chapter, on } : chapter)) } : edits
}

export const removeChapter = (edits: Edits, id: string): Edits => ({ ...edits, chapters: edits.chapters.filter((chapter) => chapter.id !== id) })

/** A heading this close to where a retake sets in belongs to what is said anew: two seconds. */
const atTheStart = 96_000

/**
 * Puts a whole new take in the place of a span (an empty span: puts it in). Headings that stand in the span go with what was
 * said there; one right at its beginning stays, on the new take, unless the coach set headings anew while recording it.
 */
export function takeIn(edits: Edits, take: Take, piece: Extract<Piece, { kind: 'take' }>, span: OutSpan, newId: NewId): Edits {
  const gone = stretchesOf(edits.pieces, span)
  const isGone = ({ on }: ChapterMark): boolean => 'at' in on && gone.some((one) => one.takeId === on.takeId && on.at >= one.from && on.at < one.to)
  const beginning = stretchesOf(edits.pieces, { from: span.from, to: Math.min(span.to, span.from + atTheStart) })
  const fresh = recordedChapters(take, edits.chapters.length + 1).filter(({ on }) => 'at' in on && on.at < piece.to)
  const kept = edits.chapters.filter((chapter) => !isGone(chapter))
  const first = fresh.length > 0 ? undefined : edits.chapters.find(({ on }) => 'at' in on && beginning.some((one) => one.takeId === on.takeId && on.at >= one.from && on.at < one.to))
  return {
    ...edits,
    pieces: replaceSpan(edits.pieces, span, [piece], newId),
    chapters: [...kept, ...(first ? [{ ...first, on: { takeId: take.id, at: piece.from } }] : []), ...fresh],
  }
}
