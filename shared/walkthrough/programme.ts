import { shapes, type Mark, type Marks } from '../markup/mark.ts'
import { lengthOf, toMs, toSamples, type CardPiece, type Edits, type MarkFix, type Piece, type Take } from './edits.ts'
import { Replay, rowsUntil, type Log, type LogRow } from './log.ts'
import type { Stage, StageClips } from './stage.ts'

/** What is seen at one instant of a lesson. */
export type Instant =
  | { readonly kind: 'stage'; readonly stage: Stage; /** The clips as the take that is shown knows them. */ readonly clips: StageClips }
  | { readonly kind: 'card'; readonly card: CardPiece; /** Milliseconds since the card came up. */ readonly sinceMs: number }

/** A piece and where it lies in the lesson, samples. */
export interface PlacedPiece {
  readonly piece: Piece
  readonly at: number
  readonly length: number
}

/**
 * What sounds, in order and without gaps, in samples of the lesson. `from` and `to` are places in the take. Where sounds
 * meet that do not go on from each other, each fades over a few milliseconds inside its own length, so that no join clicks
 * and no sample is added or lost.
 */
export type SoundPiece =
  | { readonly kind: 'take'; readonly takeId: string; readonly from: number; readonly to: number; readonly at: number; readonly fadeIn: number; readonly fadeOut: number }
  | { readonly kind: 'silence'; readonly at: number; readonly length: number }

/** Five milliseconds: too short to be heard as a fade, long enough for a click to go. */
export const joinFade = 240

/** A heading where it stands in the lesson. */
export interface PlacedChapter {
  readonly id: string
  readonly title: string
  readonly atMs: number
}

/** One reader a log, whatever is edited: its checkpoints are worth keeping, and it gives the same whoever asked before. */
const replays = new WeakMap<Log, Replay>()
function replayOf(log: Log): Replay {
  let replay = replays.get(log)
  if (!replay) replays.set(log, (replay = new Replay(log)))
  return replay
}

/**
 * An edited lesson: its takes played through its edit list. Pure in its arguments: `at(t)` is exactly `stateAt` of the take
 * at the mapped time, with the marks set right. Pieces of takes that are not given are passed over.
 */
export class Programme {
  readonly edits: Edits
  readonly pieces: readonly PlacedPiece[]
  /** Samples at 48,000 a second. */
  readonly length: number
  readonly #takes: readonly Take[]
  readonly #replays: ReadonlyMap<string, Replay>
  readonly #fixes: ReadonlyMap<string, readonly MarkFix[]>
  #changes: number[] | null = null
  #seen: { readonly stage: Stage; readonly fixes: readonly MarkFix[]; readonly result: Stage } | null = null
  #marked: { readonly marks: Marks; readonly fixes: readonly MarkFix[]; readonly result: Marks } | null = null

  constructor(takes: readonly Take[], edits: Edits) {
    this.edits = edits
    this.#takes = takes
    this.#replays = new Map(takes.map(({ id, log }) => [id, replayOf(log)]))
    let at = 0
    this.pieces = edits.pieces.flatMap((piece) => {
      if (piece.kind !== 'card' && !this.#replays.has(piece.takeId)) return []
      const length = lengthOf(piece)
      const placed = { piece, at, length }
      at += length
      return [placed]
    })
    this.length = at
    this.#fixes = new Map(takes.map(({ id }) => [id, edits.fixes.filter((fix) => fix.over.some(({ takeId }) => takeId === id))]))
  }

  /** The same takes played through another list. */
  with(edits: Edits): Programme {
    return new Programme(this.#takes, edits)
  }

  get lengthMs(): number {
    return toMs(this.length)
  }

  /** The piece at a time, milliseconds of the lesson; the first before the beginning, the last after the end; null where there are none. */
  pieceAt(ms: number): PlacedPiece | null {
    const { pieces } = this
    let low = 0
    let high = pieces.length - 1
    while (low < high) {
      const middle = (low + high + 1) >> 1
      if (toMs(pieces[middle]!.at) <= ms) low = middle
      else high = middle - 1
    }
    return pieces[low] ?? null
  }

  /** What is seen at a time; null only where the lesson is empty. */
  at(ms: number): Instant | null {
    const placed = this.pieceAt(ms)
    if (!placed) return null
    return placed.piece.kind === 'card' ? { kind: 'card', card: placed.piece, sinceMs: Math.max(0, ms - toMs(placed.at)) } : this.seen(placed.piece, takeTime(placed, ms))
  }

  /** What a piece shows of its take at a time of the take, milliseconds. */
  seen(piece: Exclude<Piece, CardPiece>, takeMs: number): Instant {
    const replay = this.#replays.get(piece.takeId)!
    const stage = replay.at(takeMs)
    const still = piece.kind === 'hold' && stage.motion ? { ...stage, motion: null } : stage
    return { kind: 'stage', stage: this.#fixed(still, piece.takeId, takeMs), clips: replay.log.header.clips }
  }

  /** The instant of a take that is seen at a time of the lesson; null on a card. */
  toTake(ms: number): { readonly takeId: string; readonly ms: number } | null {
    const placed = this.pieceAt(ms)
    return placed && placed.piece.kind !== 'card' ? { takeId: placed.piece.takeId, ms: takeTime(placed, ms) } : null
  }

  /** Every time of the lesson at which an instant of a take is heard, in order; empty where it was cut. */
  toLesson(takeId: string, ms: number): number[] {
    const sample = toSamples(ms)
    return this.pieces.flatMap(({ piece, at }) =>
      piece.kind === 'take' && piece.takeId === takeId && sample >= piece.from && sample < piece.to ? [ms + toMs(at - piece.from)] : [])
  }

  /** Times of the lesson at which marks may change: where a piece begins and where a take's log has a row that touches marks. In order. */
  changesOfMarks(): number[] {
    return (this.#changes ??= this.pieces.flatMap(({ piece, at }) => {
      if (piece.kind !== 'take') return [toMs(at)]
      const { rows } = this.#replays.get(piece.takeId)!.log
      const [from, to] = [toMs(piece.from), toMs(piece.to)]
      return [toMs(at), ...rows.flatMap(([time, event]) => ((event.type === 'marks' || event.type === 'stage') && time > from && time < to ? [time + toMs(at - piece.from)] : []))]
    }))
  }

  /** The rows of the takes' logs that lie in a span of the lesson (milliseconds, both ends included), at their times of the lesson, in order. */
  rowsIn(fromMs: number, untilMs: number): LogRow[] {
    return this.pieces.flatMap(({ piece, at, length }) => {
      if (piece.kind !== 'take' || toMs(at) > untilMs || toMs(at + length) < fromMs) return []
      const { log } = this.#replays.get(piece.takeId)!
      const shift = toMs(at - piece.from)
      const from = Math.max(toMs(piece.from), fromMs - shift)
      const to = Math.min(toMs(piece.to), untilMs - shift)
      const first = rowsUntil(log, from)
      // A row right at the beginning belongs to it.
      const begin = first > 0 && log.rows[first - 1]![0] === from ? first - 1 : first
      return log.rows.slice(begin, rowsUntil(log, to)).map(([time, event]): LogRow => [time + shift, event])
    })
  }

  /** What sounds, from the beginning to the end. */
  soundPieces(): SoundPiece[] {
    const goesOn = (one: PlacedPiece | undefined, two: PlacedPiece | undefined): boolean =>
      one?.piece.kind === 'take' && two?.piece.kind === 'take' && one.piece.takeId === two.piece.takeId && one.piece.to === two.piece.from
    return this.pieces.map(({ piece, at, length }, i): SoundPiece => {
      if (piece.kind !== 'take') return { kind: 'silence', at, length }
      const most = Math.min(joinFade, length >> 1)
      // The lesson's own two ends stay as they were recorded.
      return {
        kind: 'take', takeId: piece.takeId, from: piece.from, to: piece.to, at,
        fadeIn: i === 0 || goesOn(this.pieces[i - 1], this.pieces[i]) ? 0 : most,
        fadeOut: i === this.pieces.length - 1 || goesOn(this.pieces[i], this.pieces[i + 1]) ? 0 : most,
      }
    })
  }

  /**
   * The headings in the order of the lesson. One whose own instant was cut stands where what was said after it in the same
   * take begins; where another heading stands there too, everything under the first has gone, and it goes with it.
   */
  chapters(): PlacedChapter[] {
    const placed = this.edits.chapters.flatMap((chapter, order) => {
      const at = this.#chapterAt(chapter.on)
      return at === null ? [] : [{ id: chapter.id, title: chapter.title, atMs: toMs(at.at), moved: at.moved, order: 'at' in chapter.on ? chapter.on.at : order }]
    })
    placed.sort((a, b) => a.atMs - b.atMs || Number(b.moved) - Number(a.moved) || a.order - b.order)
    return placed.filter(({ atMs }, i) => placed[i + 1]?.atMs !== atMs).map(({ id, title, atMs }) => ({ id, title, atMs }))
  }

  #chapterAt(on: Edits['chapters'][number]['on']): { readonly at: number; readonly moved: boolean } | null {
    if ('pieceId' in on) {
      const card = this.pieces.find(({ piece }) => piece.id === on.pieceId)
      return card ? { at: card.at, moved: false } : null
    }
    let next: { readonly from: number; readonly at: number } | null = null
    for (const { piece, at } of this.pieces) {
      if (piece.kind !== 'take' || piece.takeId !== on.takeId) continue
      if (on.at >= piece.from && on.at < piece.to) return { at: at + on.at - piece.from, moved: false }
      if (piece.from > on.at && (next === null || piece.from < next.from)) next = { from: piece.from, at }
    }
    return next && { at: next.at, moved: true }
  }

  /** The marks set right; the same object again while nothing of it has changed, so that layers can tell. */
  #fixed(stage: Stage, takeId: string, takeMs: number): Stage {
    const known = this.#fixes.get(takeId)!
    if (known.length === 0) return stage
    const at = toSamples(takeMs)
    const active = known.filter(({ over }) => over.some((one) => one.takeId === takeId && at >= one.from && at < one.to))
    if (active.length === 0) return stage
    if (this.#seen && this.#seen.stage === stage && sameList(this.#seen.fixes, active)) return this.#seen.result
    if (!(this.#marked && this.#marked.marks === stage.marks && sameList(this.#marked.fixes, active))) {
      this.#marked = { marks: stage.marks, fixes: active, result: fixedMarks(stage.marks, active) }
    }
    const { result: marks } = this.#marked
    const result = marks === stage.marks ? stage : { ...stage, marks }
    this.#seen = { stage, fixes: active, result }
    return result
  }
}

/** Times the exact shift, so that an unshifted piece gives the take's own time back to the last bit. */
function takeTime({ piece, at, length }: PlacedPiece, ms: number): number {
  if (piece.kind === 'hold') return toMs(piece.at)
  if (piece.kind === 'card') return 0
  const held = Math.min(Math.max(ms, toMs(at)), toMs(at + length))
  return held + toMs(piece.from - at)
}

const sameList = (one: readonly unknown[], two: readonly unknown[]): boolean => one.length === two.length && one.every((each, i) => each === two[i])

/** Marks after fixes, in their order. A change to a mark that is not there at this instant does nothing. */
export function fixedMarks(marks: Marks, fixes: readonly MarkFix[]): Marks {
  let next: Record<string, Mark> | null = null
  for (const { change } of fixes) {
    const now: Marks = next ?? marks
    if (change.kind === 'add') {
      next ??= { ...marks }
      next[change.mark.id] = change.mark
      continue
    }
    const mark = now[change.markId]
    if (!mark) continue
    next ??= { ...marks }
    if (change.kind === 'remove') delete next[change.markId]
    else next[change.markId] = patched(mark, change.patch)
  }
  return next ?? marks
}

function patched(mark: Mark, patch: Extract<MarkFix['change'], { kind: 'change' }>['patch']): Mark {
  const { least, most } = shapes[mark.shape]
  const { points, ...rest } = patch
  const fits = points && points.length >= least && points.length <= most
  return { ...mark, ...(rest as Partial<Mark>), ...(fits ? { points } : {}) }
}

/** The takes played through the edit list. */
export const editedReplay = (takes: readonly Take[], edits: Edits): Programme => new Programme(takes, edits)
