import { lengthOf, lengthOfAll, type CardPiece, type Edits, type HoldPiece, type Piece, type Stretch } from './edits.ts'

/**
 * Edits of the list of pieces. Places and lengths are samples of the lesson as it is before the edit; each function is pure
 * and answers with the new pieces. `newId` names what comes into being.
 */
export type NewId = () => string

/** A span of the lesson: [from, to). */
export interface OutSpan {
  readonly from: number
  readonly to: number
}

/** A part of one piece: `from` and `to` count from its own beginning. */
function part(piece: Piece, from: number, to: number, id: string): Piece {
  return piece.kind === 'take' ? { ...piece, id, from: piece.from + from, to: piece.from + to } : { ...piece, id, lasts: to - from }
}

/** Pieces that go on from each other become one; the first one's name stands. */
export function joined(pieces: readonly Piece[]): Piece[] {
  const out: Piece[] = []
  for (const piece of pieces) {
    const last = out.at(-1)
    if (last?.kind === 'take' && piece.kind === 'take' && last.takeId === piece.takeId && last.to === piece.from) out[out.length - 1] = { ...last, to: piece.to }
    else if (last?.kind === 'hold' && piece.kind === 'hold' && last.takeId === piece.takeId && last.at === piece.at) out[out.length - 1] = { ...last, lasts: last.lasts + piece.lasts }
    else out.push(piece)
  }
  return out
}

/** What lies before a place and what lies from there on. A card is never cut in two: a place inside it counts as its nearer end. */
export function splitAt(pieces: readonly Piece[], at: number, newId: NewId): readonly [before: Piece[], after: Piece[]] {
  const before: Piece[] = []
  let start = 0
  for (const [i, piece] of pieces.entries()) {
    const length = lengthOf(piece)
    if (at <= start) return [before, pieces.slice(i)]
    if (at < start + length) {
      if (piece.kind === 'card') return at - start < length / 2 ? [before, pieces.slice(i)] : [[...before, piece], pieces.slice(i + 1)]
      return [[...before, part(piece, 0, at - start, piece.id)], [part(piece, at - start, length, newId()), ...pieces.slice(i + 1)]]
    }
    before.push(piece)
    start += length
  }
  return [before, []]
}

/** The pieces that make up a span, cut to it. */
export function within(pieces: readonly Piece[], { from, to }: OutSpan, newId: NewId): Piece[] {
  if (to <= from) return []
  const [, rest] = splitAt(pieces, from, newId)
  return splitAt(rest, to - (lengthOfAll(pieces) - lengthOfAll(rest)), newId)[0]
}

/** Puts other pieces where a span was; with an empty span they are put in, with no pieces the span is cut out. */
export function replaceSpan(pieces: readonly Piece[], { from, to }: OutSpan, others: readonly Piece[], newId: NewId): Piece[] {
  const [before] = splitAt(pieces, from, newId)
  const [, after] = splitAt(pieces, Math.max(from, to), newId)
  return joined([...before, ...others, ...after])
}

export const cutSpan = (pieces: readonly Piece[], span: OutSpan, newId: NewId): Piece[] => replaceSpan(pieces, span, [], newId)
export const insertAt = (pieces: readonly Piece[], at: number, others: readonly Piece[], newId: NewId): Piece[] => replaceSpan(pieces, { from: at, to: at }, others, newId)

/** Spans in order, without empty ones, those that touch or overlap as one. */
export function mergedSpans(spans: readonly OutSpan[]): OutSpan[] {
  const out: OutSpan[] = []
  for (const { from, to } of spans.filter((span) => span.from < span.to).toSorted((a, b) => a.from - b.from)) {
    const last = out.at(-1)
    if (last && from <= last.to) out[out.length - 1] = { from: last.from, to: Math.max(last.to, to) }
    else out.push({ from, to })
  }
  return out
}

/** Cuts several spans at once, each a place of the lesson as it was. */
export const cutSpans = (pieces: readonly Piece[], spans: readonly OutSpan[], newId: NewId): Piece[] =>
  mergedSpans(spans).reduceRight<Piece[]>((left, span) => cutSpan(left, span, newId), [...pieces])

/** Takes a span out and puts it in at another place (of the lesson as it was); a place inside the span changes nothing. */
export function moveSpan(pieces: readonly Piece[], span: OutSpan, to: number, newId: NewId): Piece[] {
  if (to >= span.from && to <= span.to) return [...pieces]
  const moved = within(pieces, span, newId)
  const rest = cutSpan(pieces, span, newId)
  return insertAt(rest, to < span.from ? to : to - lengthOfAll(moved), moved, newId)
}

/** The picture held for a while at a place: on a hold it grows, on a card the card does. Nothing where there are no pieces. */
export function pauseAt(pieces: readonly Piece[], at: number, lasts: number, newId: NewId): Piece[] {
  if (lasts <= 0) return [...pieces]
  const place = placeOf(pieces, at)
  if (!place) return [...pieces]
  const { index, into, piece } = place
  if (piece.kind !== 'take') return pieces.with(index, { ...piece, lasts: piece.lasts + lasts })
  // Between two takes the picture that was last seen is the one that is held.
  const previous = into === 0 ? pieces[index - 1] : undefined
  if (previous?.kind === 'hold') return pieces.with(index - 1, { ...previous, lasts: previous.lasts + lasts })
  const seen = previous?.kind === 'take' ? { takeId: previous.takeId, at: previous.to } : { takeId: piece.takeId, at: piece.from + into }
  const hold: HoldPiece = { id: newId(), kind: 'hold', ...seen, lasts }
  return insertAt(pieces, at, [hold], newId)
}

/** How long a hold or a card lasts; a hold of nothing goes. */
export function setLasts(pieces: readonly Piece[], id: string, lasts: number): Piece[] {
  const wanted = Math.max(0, Math.round(lasts))
  return joined(pieces.flatMap((piece) => (piece.id !== id || piece.kind === 'take' ? [piece] : wanted === 0 ? [] : [{ ...piece, lasts: wanted }])))
}

/** The piece at a place (the last one at and after the end) and how far into it the place lies. */
export function placeOf(pieces: readonly Piece[], at: number): { readonly index: number; readonly into: number; readonly piece: Piece; readonly start: number } | null {
  let start = 0
  for (const [index, piece] of pieces.entries()) {
    const length = lengthOf(piece)
    if (at < start + length || index === pieces.length - 1) return { index, into: Math.min(Math.max(0, at - start), length), piece, start }
    start += length
  }
  return null
}

/** The stretches of takes that a span of the lesson shows; a hold counts as its one instant. Cards show none. */
export function stretchesOf(pieces: readonly Piece[], { from, to }: OutSpan): Stretch[] {
  const out: Stretch[] = []
  let start = 0
  for (const piece of pieces) {
    const length = lengthOf(piece)
    const [a, b] = [Math.max(0, from - start), Math.min(length, to - start)]
    if (a < b && piece.kind === 'take') out.push({ takeId: piece.takeId, from: piece.from + a, to: piece.from + b })
    if (a < b && piece.kind === 'hold') out.push({ takeId: piece.takeId, from: piece.at, to: piece.at + 1 })
    start += length
  }
  return mergedStretches(out)
}

/** Stretches of each take in order, those that touch or overlap as one. */
export function mergedStretches(stretches: readonly Stretch[]): Stretch[] {
  const out: Stretch[] = []
  for (const next of stretches.toSorted((a, b) => (a.takeId < b.takeId ? -1 : a.takeId > b.takeId ? 1 : a.from - b.from))) {
    const last = out.at(-1)
    if (last && last.takeId === next.takeId && next.from <= last.to) out[out.length - 1] = { ...last, to: Math.max(last.to, next.to) }
    else out.push(next)
  }
  return out
}

/** The parts of takes that the lesson shows nowhere, in the order of the takes given: what was cut or taken again, to bring back. */
export function unusedStretches(pieces: readonly Piece[], takes: readonly { readonly id: string; readonly length: number }[]): Stretch[] {
  return takes.flatMap(({ id, length }) => {
    const used = mergedStretches(pieces.flatMap((piece) => (piece.kind === 'take' && piece.takeId === id ? [{ takeId: id, from: piece.from, to: piece.to }] : [])))
    const out: Stretch[] = []
    let at = 0
    for (const { from, to } of [...used, { from: length, to: length }]) {
      if (from > at) out.push({ takeId: id, from: at, to: Math.min(from, length) })
      at = Math.max(at, to)
    }
    return out
  })
}

/** The card that opens the lesson, or the one that closes it. */
export function cardAt(pieces: readonly Piece[], end: 'opening' | 'closing'): CardPiece | null {
  const piece = end === 'opening' ? pieces[0] : pieces.length > 1 ? pieces.at(-1) : undefined
  return piece?.kind === 'card' ? piece : null
}

/** Sets, changes or (null) takes away the card at an end. */
export function setCard(pieces: readonly Piece[], end: 'opening' | 'closing', card: CardPiece | null): Piece[] {
  const old = cardAt(pieces, end)
  const rest = old ? pieces.filter((piece) => piece !== old) : pieces
  if (!card) return joined(rest)
  return end === 'opening' ? [card, ...rest] : [...rest, card]
}

/** The same list with other pieces. Headings and fixes of marks are fixed to content and need no change. */
export const withPieces = (edits: Edits, pieces: readonly Piece[]): Edits => ({ ...edits, pieces: [...pieces] })
