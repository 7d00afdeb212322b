import type { Mark } from '../markup/mark.ts'
import { lengthOfAll, toMs, toSamples, type Edits, type MarkFix } from './edits.ts'
import { mergedSpans, mergedStretches, stretchesOf, type NewId, type OutSpan } from './editPieces.ts'
import type { Programme } from './programme.ts'

/** A mark set right over a span of the lesson. Nothing where the span shows no take. */
export function addFix(edits: Edits, span: OutSpan, change: MarkFix['change'], newId: NewId): Edits {
  const over = mergedStretches(stretchesOf(edits.pieces, span))
  return over.length > 0 ? { ...edits, fixes: [...edits.fixes, { id: newId(), over, change }] } : edits
}

export const removeFix = (edits: Edits, id: string): Edits => ({ ...edits, fixes: edits.fixes.filter((fix) => fix.id !== id) })

/** For how long a fix holds: another span of the lesson, or another change. */
export function changeFix(edits: Edits, id: string, { span, change }: { readonly span?: OutSpan; readonly change?: MarkFix['change'] }): Edits {
  const over = span && mergedStretches(stretchesOf(edits.pieces, span))
  return { ...edits, fixes: edits.fixes.map((fix) => (fix.id === id ? { ...fix, ...(over && over.length > 0 ? { over } : {}), ...(change ? { change } : {}) } : fix)) }
}

/** The spans of the lesson over which a fix holds now. */
export function spansOfFix(programme: Programme, fix: MarkFix): OutSpan[] {
  const spans = programme.pieces.flatMap(({ piece, at, length }) => {
    if (piece.kind === 'hold') return fix.over.some((one) => one.takeId === piece.takeId && piece.at >= one.from && piece.at < one.to) ? [{ from: at, to: at + length }] : []
    if (piece.kind !== 'take') return []
    return fix.over.flatMap((one) => {
      if (one.takeId !== piece.takeId) return []
      const [from, to] = [Math.max(one.from, piece.from), Math.min(one.to, piece.to)]
      return from < to ? [{ from: at + from - piece.from, to: at + to - piece.from }] : []
    })
  })
  return mergedSpans(spans)
}

/** A mark as it is seen at a time, or undefined. */
export function markAt(programme: Programme, ms: number, markId: string): Mark | undefined {
  const seen = programme.at(ms)
  return seen?.kind === 'stage' ? seen.stage.marks[markId] : undefined
}

/**
 * The span around a time over which a mark stays just as it is: where it was drawn, changed or taken away next, either way.
 * Found among the instants at which the log has rows and pieces have ends; empty where the mark is not there.
 */
export function runOfMark(programme: Programme, ms: number, markId: string): OutSpan {
  const mark = markAt(programme, ms, markId)
  const here = toSamples(ms)
  if (!mark) return { from: here, to: here }
  const wanted = JSON.stringify(mark)
  const isSame = (at: number): boolean => {
    // A hundredth of a millisecond on, so that no rounding of the place lets the row at it be missed.
    const other = markAt(programme, at + 0.01, markId)
    return other === mark || (other !== undefined && JSON.stringify(other) === wanted)
  }
  const instants = programme.changesOfMarks()
  const later = instants.filter((at) => at > ms)
  const earlier = instants.filter((at) => at <= ms).reverse()
  const end = later.find((at) => !isSame(at)) ?? programme.lengthMs
  let from = 0
  for (let i = 0; i < earlier.length; i++) {
    if (!isSame(earlier[i]!)) {
      from = earlier[i - 1] ?? ms
      break
    }
  }
  return { from: toSamples(from), to: Math.max(here + 1, toSamples(end)) }
}

/** From a time on: to the end, or for so long. */
export const spanFrom = (edits: Edits, ms: number, lastsMs: number | null): OutSpan => {
  const from = toSamples(ms)
  const all = lengthOfAll(edits.pieces)
  return { from: Math.min(from, all), to: lastsMs === null ? all : Math.min(all, from + Math.max(1, toSamples(lastsMs))) }
}

/** Seconds that a span lasts. */
export const spanSeconds = ({ from, to }: OutSpan): number => toMs(to - from) / 1000
