import { polynomialBasis, polynomialWeights, weightsOf } from '../signal/localPolynomial.ts'
import { linear, measured, type Uncertain } from '../signal/uncertain.ts'
import type { Blend, Track } from './track.ts'

/**
 * A point on something rigid between frames that are far apart: its distance from the other end and its direction from
 * there are interpolated, not its place. A clubhead goes on a circle, and turns by up to a right angle from frame to frame.
 */
export interface Arc {
  readonly x: number
  readonly y: number
  readonly rate: readonly [number, number]
  readonly bend: readonly [number, number]
  /** Frame of the track, frame of the other end, and what moving the one by a pixel in x and in y moves x and y by; the other end's frame moves it the other way. */
  readonly parts: readonly (readonly [frame: number, other: number, xx: number, xy: number, yx: number, yy: number])[]
  /** What the direction and the distance may be off between frames, pixels, along x and y. */
  readonly across: readonly [number, number]
  readonly out: readonly [number, number]
}

/** Between frames it must turn by less, or which way it went cannot be told, radians. */
const mostTurn = 2.6
/** Where it looks shorter than this share of its longest it points along the line of sight, and its direction is none. */
const leastLength = 0.35

interface Polar {
  readonly turn: number[]
  readonly length: number[]
}

/** Direction, unwrapped, and distance over frames from `first`; null where it turns too fast or is seen end-on. */
function polar(track: Track, about: Track, first: number, others: readonly number[]): Polar | null {
  const turn: number[] = []
  const length: number[] = []
  for (let k = 0; k < others.length; k++) {
    const dx = track.x[first + k]! - about.x[others[k]!]!
    const dy = track.y[first + k]! - about.y[others[k]!]!
    const raw = Math.atan2(dy, dx)
    const last = turn[k - 1] ?? raw
    const step = Math.atan2(Math.sin(raw - last), Math.cos(raw - last))
    if (Math.abs(step) > mostTurn) return null
    turn.push(last + step)
    length.push(Math.hypot(dx, dy))
  }
  return Math.min(...length) < leastLength * Math.max(...length) ? null : { turn, length }
}

/** The other end's frames at the times of frames [first, end) of the track, or null where one is lacking. */
function framesOf(track: Track, about: Track, first: number, end: number): number[] | null {
  const frames: number[] = []
  let j = 0
  for (let i = first; i < end; i++) {
    while (j < about.times.length && about.times[j]! < track.times[i]!) j++
    if (about.times[j] !== track.times[i]!) return null
    frames.push(j)
  }
  return frames
}

const sum = (weights: ArrayLike<number>, values: readonly number[]): number => values.reduce((total, value, k) => total + weights[k]! * value, 0)

/** @param left the frame before t, which is between it and the next @param base how the other end is read at t */
export function arcAt(track: Track, about: Track, t: number, left: number, base: Blend): Arc | null {
  const { times } = track
  const gap = Math.min(...[left - 1, left, left + 1].map((i) => times[i + 1]! - times[i]!).filter((d) => d > 0))
  // Over a frame that is lacking it may have turned by anything.
  const isNext = (i: number) => times[i + 1]! - times[i]! < 1.5 * gap
  if (!isNext(left)) return null
  const start = left > 0 && isNext(left - 1) ? left - 1 : left
  const end = left + 2 < times.length && isNext(left + 1) ? left + 3 : left + 2
  const others = end - start < 3 ? null : framesOf(track, about, start, end)
  const four = others && polar(track, about, start, others)
  if (!four) return null
  const basis = polynomialBasis(times.subarray(start, end), t, end - start - 1)
  const [w, dw, ddw] = [weightsOf(basis, 0), weightsOf(basis, 1), weightsOf(basis, 2)]
  const [turn, r] = [sum(w, four.turn), sum(w, four.length)]
  const [turning, growing] = [sum(dw, four.turn), sum(dw, four.length)]
  const [c, s] = [Math.cos(turn), Math.sin(turn)]
  const of = (weights: Float64Array | null, values: Float64Array): number => weights?.reduce((total, weight, i) => total + weight * values[base.start + i]!, 0) ?? 0
  const [speedUp, force] = [sum(ddw, four.turn) * r + 2 * growing * turning, sum(ddw, four.length) - r * turning * turning]
  const parts = others.map((other, k) => {
    const [ck, sk] = [Math.cos(four.turn[k]!), Math.sin(four.turn[k]!)]
    // Along the direction it is longer, across it turns on.
    const q = r / four.length[k]!
    return [start + k, other, w[k]! * (c * ck + q * s * sk), w[k]! * (c * sk - q * s * ck), w[k]! * (s * ck - q * c * sk), w[k]! * (s * sk + q * c * ck)] as const
  })
  const [offTurn, offLength] = missed(track, about, t, left, start, four)
  return {
    x: of(base.weights, about.x) + r * c, y: of(base.weights, about.y) + r * s,
    rate: [of(base.rates, about.x) + growing * c - r * turning * s, of(base.rates, about.y) + growing * s + r * turning * c],
    bend: [of(base.bends, about.x) + force * c - speedUp * s, of(base.bends, about.y) + force * s + speedUp * c],
    parts, across: [-r * offTurn * s, r * offTurn * c], out: [offLength * c, offLength * s],
  }
}

/** Frames to either side of the four that show how roughly it turns. */
const around = 2
/**
 * What a cubic midway between two frames is off by, of the fourth difference of frames: 9/384 where that is steady, up to
 * .09 where the pull changes at once, as it does when the ball is met.
 */
const offMidway = 0.06

/**
 * What a cubic through four frames may miss, radians and pixels, by the fourth differences of the frames about it; of four
 * alone half of what the parabolas through either three differ by, of three all that theirs differs from the straight line.
 */
function missed(track: Track, about: Track, t: number, left: number, start: number, four: Polar): readonly [number, number] {
  const { times } = track
  let first = start
  let end = start + four.turn.length
  const gap = times[left + 1]! - times[left]!
  const share = (t - times[left]!) / gap
  const isEven = (i: number) => Math.abs(times[i + 1]! - times[i]! - gap) < 0.2 * gap
  while (first > 0 && first > left - 1 - around && isEven(first - 1)) first--
  while (end < times.length && end < left + 3 + around && isEven(end - 1)) end++
  const frames = four.turn.length === 4 && end - first >= 5 ? framesOf(track, about, first, end) : null
  const more = frames && polar(track, about, first, frames)
  if (more) {
    const noise = Math.hypot(track.sigma[left]!, about.sigma[frames[left - first]!]!)
    const off = (values: readonly number[], sigma: number): number => offMidway * 4 * share * (1 - share) * roughness(values, sigma)
    return [off(more.turn, noise / more.length[left - first]!), off(more.length, noise)]
  }
  const through = (from: number, count: number) => {
    const weights = polynomialWeights(times.subarray(start + from, start + from + count), t, count - 1)
    return (values: readonly number[]): number => sum(weights, values.slice(from, from + count))
  }
  const [one, two] = four.turn.length === 4 ? [through(0, 3), through(1, 3)] : [through(0, 3), through(left - start, 2)]
  const of = four.turn.length === 4 ? 2 : 1
  return [Math.abs(one(four.turn) - two(four.turn)) / of, Math.abs(one(four.length) - two(four.length)) / of]
}

/** Root mean square of the fourth differences, less what the placing's noise adds to them (70 times its variance). */
function roughness(values: readonly number[], sigma: number): number {
  let squares = 0
  for (let i = 0; i + 4 < values.length; i++) squares += (values[i]! - 4 * values[i + 1]! + 6 * values[i + 2]! - 4 * values[i + 3]! + values[i + 4]!) ** 2
  return Math.sqrt(Math.max(0, squares / (values.length - 4) - 70 * sigma * sigma))
}

/** The arc's place with its errors: of the placements of both ends, and of what lies between frames. */
export function arcPlace(track: Track, about: Track, arc: Arc, base: Blend, source: () => number): { readonly x: Uncertain; readonly y: Uncertain } {
  const [turned, grown, carried] = [source(), source(), base.bias > 0 ? [source(), source()] as const : null]
  const axis = (value: number, values: 0 | 1): Uncertain => {
    const inputs: Uncertain[] = []
    const put = (from: number, share: number): void => void inputs.push(measured(0, share, from))
    for (const [frame, other, xx, xy, yx, yy] of arc.parts) {
      const [byX, byY] = values === 0 ? [xx, xy] : [yx, yy]
      put(track.source + 2 * frame, byX * track.sigma[frame]!)
      put(track.source + 2 * frame + 1, byY * track.sigma[frame]!)
      put(about.source + 2 * other, -byX * about.sigma[other]!)
      put(about.source + 2 * other + 1, -byY * about.sigma[other]!)
    }
    base.weights.forEach((weight, i) => put(about.source + 2 * (base.start + i) + values, weight * about.sigma[base.start + i]!))
    // An error across moves x and y together, and so does one along.
    put(turned, arc.across[values])
    put(grown, arc.out[values])
    if (carried) put(carried[values], base.bias / Math.SQRT2)
    return linear(value, inputs, inputs.map(() => 1))
  }
  return { x: axis(arc.x, 0), y: axis(arc.y, 1) }
}
