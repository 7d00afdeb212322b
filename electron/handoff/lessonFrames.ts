import { samplesPerSecond, toMs } from '../../shared/walkthrough/edits.ts'
import type { Instant, PlacedPiece, Programme } from '../../shared/walkthrough/programme.ts'

/** Whole pictures [first, first + count) of a lesson: one closed stretch of video that stands by itself. */
export interface Segment {
  readonly first: number
  readonly count: number
}

/** Seconds of video in a segment. Both clips' decoders find their place again at each; a change costs no more than two of them. */
export const segmentSeconds = 2

interface Span extends Segment {
  readonly placed: PlacedPiece
  /** Picture n shows the take at (n + shift) / fps seconds. */
  readonly shift: number
}

/**
 * The pictures of a lesson. Picture n stands at n / fps seconds. What it shows of a take is an instant that is a whole number
 * of pictures from the take's own beginning, the one nearest to what is heard: off by half a picture at most after a cut, not
 * at all before the first. So the same stretch of a take gives the same pictures wherever edits have moved it, and what was
 * made of it before can stand again.
 */
export class LessonFrames {
  readonly count: number
  readonly #programme: Programme
  readonly #spans: readonly Span[]
  readonly #step: number
  readonly #fps: number

  constructor(programme: Programme, fps: number) {
    const step = samplesPerSecond / fps
    this.#programme = programme
    this.#step = step
    this.#fps = fps
    this.count = Math.ceil(programme.length / step)
    this.#spans = programme.pieces.flatMap((placed): Span[] => {
      const first = Math.ceil(placed.at / step)
      const count = Math.ceil((placed.at + placed.length) / step) - first
      const from = placed.piece.kind === 'take' ? placed.piece.from : 0
      return count > 0 ? [{ placed, first, count, shift: Math.round((from - placed.at) / step) }] : []
    })
  }

  /** What picture n shows. */
  at(n: number): Instant {
    const span = this.#spanAt(n)
    const { piece } = span.placed
    if (piece.kind === 'card') return { kind: 'card', card: piece, sinceMs: toMs((n - span.first) * this.#step) }
    if (piece.kind === 'hold') return this.#programme.seen(piece, toMs(piece.at))
    const ms = ((n + span.shift) / this.#fps) * 1000
    return this.#programme.seen(piece, Math.min(Math.max(ms, toMs(piece.from)), toMs(piece.to - 1)))
  }

  /**
   * All pictures, cut where pieces meet and at whole multiples of a segment's length counted from the beginning of the take
   * (of a card or a hold: from its own). A rest shorter than half a second stays with its neighbour.
   */
  segments(): Segment[] {
    const length = segmentSeconds * this.#fps
    const least = this.#fps / 2
    return this.#spans.flatMap(({ placed, first, count, shift }) => {
      const origin = placed.piece.kind === 'take' ? -shift : first
      const end = first + count
      const cuts = [first]
      for (let cut = origin + length * Math.floor((first - origin) / length + 1); cut < end; cut += length) {
        if (cut - first >= least && end - cut >= least) cuts.push(cut)
      }
      return cuts.map((cut, i) => ({ first: cut, count: (cuts[i + 1] ?? end) - cut }))
    })
  }

  #spanAt(n: number): Span {
    let low = 0
    let high = this.#spans.length - 1
    while (low < high) {
      const middle = (low + high + 1) >> 1
      if (this.#spans[middle]!.first <= n) low = middle
      else high = middle - 1
    }
    return this.#spans[low]!
  }
}
