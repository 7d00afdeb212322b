import { arcAt, arcPlace, type Arc } from './arc.ts'
import { polynomialBasis, polynomialWeights, weightsOf, type PolynomialBasis } from '../signal/localPolynomial.ts'
import { linear, withError, type Uncertain } from '../signal/uncertain.ts'

/** One landmark of one view through time, in picture pixels, as placed. */
export interface Track {
  /** Seconds, ascending. */
  readonly times: Float64Array
  readonly x: Float64Array
  readonly y: Float64Array
  /** Standard deviation of each placement, pixels, the same for x and y. */
  readonly sigma: Float64Array
  /** The error source of x[i] is source + 2 i, that of y[i] is the next. */
  readonly source: number
  /** Tracks of the same part of the body in this view, itself among them: a jerk of that part shows in all of them. */
  readonly company?: readonly Track[]
  /** The other end of the rigid thing that carries it: between frames far apart the point turns about that. */
  readonly about?: Track
}

/** How a track was read at one instant: a linear blend of placements. */
export interface Blend {
  /** First frame of the blend. */
  readonly start: number
  readonly weights: Float64Array
  /** What the blend of rates takes, or null where one frame alone was there. */
  readonly rates: Float64Array | null
  /** What the blend of second derivatives takes, or null where a straight line was all there was. */
  readonly bends: Float64Array | null
  /** What interpolating itself may be off by, pixels. */
  readonly bias: number
  /** Where frames are far apart and the point turns about another: that, in place of the blend of places. */
  readonly arc?: Arc
  /** In words, for the basis. */
  readonly how: 'smoothed' | 'interpolated' | 'two frames' | 'one frame'
}

/** Half-widths of the windows that are tried, widest first, seconds. */
const halfWindows = [0.05, 0.033, 0.02]
/** How far to either side a reading rests on frames where they come at this interval, seconds: 0 where they are too few to smooth. */
export const smoothedOver = (interval: number): number => (interval <= (2 * halfWindows[0]!) / 5 ? halfWindows[0]! : 0)
/** Frames farther from each other than this are not read between, seconds. */
const widestGap = 0.11
/** A frame this near in time is the instant itself, seconds. */
const sameInstant = 2e-4
const degree = 3

function firstAtOrAfter(times: Float64Array, t: number): number {
  let low = 0
  let high = times.length
  while (low < high) {
    const middle = (low + high) >> 1
    if (times[middle]! < t) low = middle + 1
    else high = middle
  }
  return low
}

/** Scratch: a track's way along each column of a window's basis, across and down the picture. */
const across = new Float64Array(degree + 1)
const down = new Float64Array(degree + 1)

/** Writes the values' ways along the columns of a cubic's basis; returns the sum of squares that the cubic leaves. */
function project([q0, q1, q2, q3]: PolynomialBasis['q'], values: Float64Array, start: number, along: Float64Array): number {
  const first = values[start]!
  let squares = 0
  let a = 0
  let b = 0
  let c = 0
  let d = 0
  for (let i = 0; i < q0!.length; i++) {
    const value = values[start + i]! - first
    squares += value * value
    a += q0![i]! * value
    b += q1![i]! * value
    c += q2![i]! * value
    d += q3![i]! * value
  }
  along[0] = a
  along[1] = b
  along[2] = c
  along[3] = d
  return squares - a * a - b * b - c * c - d * d
}

/** The size of a derivative of the cubics just projected, at their instant, in scaled time. */
function changeOf(atInstant: PolynomialBasis['atInstant'], d: 1 | 2): number {
  let x = 0
  let y = 0
  for (let j = d; j <= degree; j++) {
    x += across[j]! * atInstant[j]![d]!
    y += down[j]! * atInstant[j]![d]!
  }
  return Math.sqrt(x * x + y * y)
}

/** Whether the cubic through the window cuts no corner and leaves no more than the placements' own error, x and y together. */
function fitsOver(track: Track, start: number, half: number, { q, atInstant, scale }: PolynomialBasis): boolean {
  const sum = project(q, track.x, start, across) + project(q, track.y, start, down)
  if (cutsCorners(half, changeOf(atInstant, 1) / scale, changeOf(atInstant, 2) / (scale * scale), track.sigma[start]!)) return false
  // Placements of one window are of one error but for a few; their mean square serves for all.
  const count = q[0]!.length
  let variance = 0
  for (let i = 0; i < count; i++) variance += track.sigma[start + i]! * track.sigma[start + i]!
  const freedom = 2 * (count - degree - 1)
  return (sum * count) / variance <= freedom + Math.sqrt(2 * freedom)
}

/**
 * Whether the window smooths away more of an arc than a quarter of a placement's error. A cubic over +-half seconds of a
 * point that runs on a circle is off by .0107 v half a^3, a = half times the turn rate; the turn rate is that of the
 * cubic itself. Scatter alone shows this too late: it is pooled over the window, the bias sits in the middle.
 * @param speed pixels a second @param force pixels a second squared
 */
function cutsCorners(half: number, speed: number, force: number, sigma: number): boolean {
  if (force * half * half < 3 * sigma) return false
  const arc = Math.min((force * half) / speed, 1.5)
  return 0.0107 * speed * half * arc ** 3 > 0.25 * sigma
}

const remembered = new WeakMap<Track, Map<number, Blend | null>>()

/** The blend that reads a track at time t, or null where no placed frame is near enough. */
export function blendAt(track: Track, t: number): Blend | null {
  let blends = remembered.get(track)
  if (!blends) remembered.set(track, (blends = new Map()))
  let blend = blends.get(t)
  if (blend === undefined) blends.set(t, (blend = makeBlend(track, t)))
  return blend
}

/** One window's blend at t, and whether its cubic fits the placements there; null where the window has too few about t. */
export function windowBlend(track: Track, t: number, half: number): (Blend & { readonly fits: boolean }) | null {
  return blendOver(track, t, half, false)
}

/** As {@link windowBlend}; with `mustFit` null as well where this track alone shows that the cubic cannot fit. */
function blendOver(track: Track, t: number, half: number, mustFit: boolean): (Blend & { readonly fits: boolean }) | null {
  const { times } = track
  const start = firstAtOrAfter(times, t - half - 1e-9)
  const end = firstAtOrAfter(times, t + half + 1e-9)
  // Both sides are wanted, or the polynomial is carried on past its samples.
  if (end - start < 6 || t - times[start]! < half / 3 || times[end - 1]! - t < half / 3) return null
  const { basis, weights, rates, bends } = windowOf(times, start, end, t)
  const isFit = fitsOver(track, start, half, basis)
  if (mustFit && !isFit) return null
  const jerk = jerkOf(track, t, half)
  return { start, weights, rates, bends, bias: Math.SQRT2 * jerk.apart, how: 'smoothed', fits: isFit && !jerk.together }
}

/** The 5 % point of chi squared with two degrees of freedom. */
const seldom = 5.99

/** What a window smooths away of the motion of a part of the body. */
interface Jerk {
  /** Whether it does so of all points together. */
  readonly together: boolean
  /** How far each point for itself is usually off by it, pixels, x or y. */
  readonly apart: number
}
const noJerk: Jerk = { together: false, apart: 0 }
/** By the points looked at, the window's half and the instant. */
const jerks = new WeakMap<readonly Track[], Map<number, Map<number, Jerk>>>()

/**
 * What a window smooths away where each point alone hides it in its own noise: what a quintic reads more than the cubic,
 * over all points of a part of the body that the cubic fits one by one. Their mean shows a jerk of the whole part, by
 * which all are off the same way, so that their middle is not surer than one of them; their spread, less that of the
 * placements, shows what each does for itself.
 */
function jerkOf({ company }: Track, t: number, half: number): Jerk {
  if (!company || company.length < 3) return noJerk
  let byHalf = jerks.get(company)
  if (!byHalf) jerks.set(company, (byHalf = new Map()))
  let byInstant = byHalf.get(half)
  if (!byInstant) byHalf.set(half, (byInstant = new Map()))
  let found = byInstant.get(t)
  if (found === undefined) byInstant.set(t, (found = findJerk(company, t, half)))
  return found
}

function findJerk(company: readonly Track[], t: number, half: number): Jerk {
  let x = 0
  let y = 0
  let variance = 0
  let squares = 0
  let count = 0
  let times: Float64Array | null = null
  let start = 0
  let end = 0
  let window: Window | null = null
  for (const track of company) {
    if (track.times !== times) {
      times = track.times
      start = firstAtOrAfter(times, t - half - 1e-9)
      end = firstAtOrAfter(times, t + half + 1e-9)
      window = end - start < 6 ? null : windowOf(times, start, end, t)
    }
    if (!window || !fitsOver(track, start, half, window.basis)) continue
    const more = moreOf(window, t)
    const dx = dot(more, track.x, start)
    const dy = dot(more, track.y, start)
    x += dx
    y += dy
    squares += (dx * dx + dy * dy) / 2
    for (let i = 0; i < more.length; i++) {
      const share = more[i]! * track.sigma[start + i]!
      variance += share * share
    }
    count++
  }
  if (count < 3) return noJerk
  return { together: x * x + y * y > seldom * variance, apart: Math.sqrt(Math.max(0, squares - variance) / count) }
}

interface Window {
  readonly times: Float64Array
  readonly basis: PolynomialBasis
  readonly weights: Float64Array
  readonly rates: Float64Array
  readonly bends: Float64Array
  /** What a quintic reads more than the cubic; worked out when it is first asked for. */
  more: Float64Array | null
}

/** Landmarks of one view share their frames: what was worked out for one at an instant serves the others. */
const windows = new Map<number, Window[]>()
const mostInstants = 1000

function windowOf(times: Float64Array, start: number, end: number, t: number): Window {
  let known = windows.get(t)
  if (!known) {
    if (windows.size >= mostInstants) windows.clear()
    windows.set(t, (known = []))
  }
  for (const window of known) if (isSlice(window.times, times, start, end)) return window
  const slice = times.slice(start, end)
  const basis = polynomialBasis(slice, t, degree)
  const weights = weightsOf(basis, 0)
  const window = { times: slice, basis, weights, rates: weightsOf(basis, 1), bends: weightsOf(basis, 2), more: null }
  known.push(window)
  return window
}

const moreOf = (window: Window, t: number): Float64Array =>
  (window.more ??= weightsOf(polynomialBasis(window.times, t, degree + 2), 0).map((w, i) => w - window.weights[i]!))

function isSlice(slice: Float64Array, times: Float64Array, start: number, end: number): boolean {
  if (slice.length !== end - start) return false
  for (let i = 0; i < slice.length; i++) if (slice[i] !== times[start + i]) return false
  return true
}

function makeBlend(track: Track, t: number): Blend | null {
  const { times } = track
  const n = times.length
  if (n === 0) return null
  const after = firstAtOrAfter(times, t - sameInstant)
  const exact = after < n && Math.abs(times[after]! - t) <= sameInstant
  for (const half of halfWindows) {
    const blend = blendOver(track, t, half, true)
    if (blend?.fits) return blend
  }
  const right = exact && after === n - 1 ? after : firstAtOrAfter(times, t + (exact ? sameInstant : 0))
  const left = right - 1
  const near = (i: number, j: number) => i >= 0 && j < n && times[j]! - times[i]! <= widestGap
  if (near(left, right) && times[left]! <= t + sameInstant && times[right]! >= t - sameInstant) {
    if (near(left - 1, left) && near(right, right + 1)) {
      const { weights, rates, bends } = windowOf(times, left - 1, right + 2, t)
      const base = track.about && blendAt(track.about, t)
      const arc = base && arcAt(track, track.about!, t, left, base)
      return {
        start: left - 1, weights, rates, bends, bias: exact ? 0 : cubicBias(track, left, t, weights), how: 'interpolated',
        ...(arc && { arc }),
      }
    }
    const window = times.subarray(left, right + 1)
    const chord = Math.hypot(track.x[right]! - track.x[left]!, track.y[right]! - track.y[left]!)
    const share = (t - times[left]!) / (times[right]! - times[left]!)
    // Points of a swing run on arcs; the sagitta of one that turns a third of a radian in the gap.
    const bias = exact ? 0 : (chord / 24) * 4 * share * (1 - share)
    return { start: left, weights: polynomialWeights(window, t, 1), rates: polynomialWeights(window, t, 1, 1), bends: null, bias, how: 'two frames' }
  }
  if (exact) return { start: after, weights: Float64Array.of(1), rates: null, bends: null, bias: 0, how: 'one frame' }
  return null
}

/**
 * How far a cubic through four frames may miss a point that runs on an arc: (3/16)(turn per frame)^2 of what the
 * cubic differs from the chord, the turn being taken from that difference itself.
 */
function cubicBias(track: Track, left: number, t: number, weights: Float64Array): number {
  const { times, x, y } = track
  const share = (t - times[left]!) / (times[left + 1]! - times[left]!)
  let cx = 0
  let cy = 0
  for (let i = 0; i < 4; i++) {
    cx += weights[i]! * x[left - 1 + i]!
    cy += weights[i]! * y[left - 1 + i]!
  }
  const dx = x[left + 1]! - x[left]!
  const dy = y[left + 1]! - y[left]!
  const chord = Math.hypot(dx, dy)
  const off = Math.hypot(cx - x[left]! - share * dx, cy - y[left]! - share * dy)
  const noise = Math.hypot(track.sigma[left]!, track.sigma[left + 1]!)
  if (chord < 3 * noise) return 0
  // The sagitta of the arc that the difference belongs to, wherever between the frames it was taken.
  const sagitta = off / Math.max(4 * share * (1 - share), 0.1)
  const turn = Math.min((8 * sagitta) / chord, 2)
  // Greatest midway between two frames, none on them; `off` itself goes as share (1 - share).
  const shape = ((1 + share) * (2 - share)) / 2.25
  return Math.min((3 / 16) * turn * turn, 1) * off * shape
}

export interface Sample {
  readonly x: Uncertain
  readonly y: Uncertain
  /** Pixels a second, or null where one frame alone was there. */
  readonly rate: readonly [number, number] | null
  /** Pixels a second squared, or null where two frames or one were there. */
  readonly bend: readonly [number, number] | null
  readonly how: Blend['how']
}

/** The track's place at t without its error: for searches. */
export function placeAt(track: Track, t: number): readonly [number, number] | null {
  const blend = blendAt(track, t)
  if (!blend) return null
  if (blend.arc) return [blend.arc.x, blend.arc.y]
  return [dot(blend.weights, track.x, blend.start), dot(blend.weights, track.y, blend.start)]
}

export function dot(weights: Float64Array, values: Float64Array, start: number): number {
  let sum = 0
  for (let i = 0; i < weights.length; i++) sum += weights[i]! * values[start + i]!
  return sum
}

/**
 * The track at an instant that may itself be uncertain.
 * @param biasSource gives a source for what interpolating adds
 */
export function sampleTrack(track: Track, t: Uncertain, biasSource: () => number): Sample | null {
  const blend = blendAt(track, t.value)
  if (!blend) return null
  if (blend.arc) return sampleArc(track, blend.arc, blendAt(track.about!, t.value)!, t, biasSource)
  const rate = blend.rates ? ([dot(blend.rates, track.x, blend.start), dot(blend.rates, track.y, blend.start)] as const) : null
  const bend = blend.bends ? ([dot(blend.bends, track.x, blend.start), dot(blend.bends, track.y, blend.start)] as const) : null
  const axis = (values: Float64Array, offset: 0 | 1): Uncertain => {
    const sources: number[] = []
    const shares: number[] = []
    for (let i = 0; i < blend.weights.length; i++) {
      const k = blend.start + i
      sources.push(track.source + 2 * k + offset)
      shares.push(blend.weights[i]! * track.sigma[k]!)
    }
    const placed: Uncertain = { value: dot(blend.weights, values, blend.start), parts: { sources, shares } }
    const timed = rate ? linear(placed.value, [placed, t], [1, rate[offset]]) : placed
    return withError(timed, blend.bias / Math.SQRT2, blend.bias > 0 ? biasSource() : 0)
  }
  return { x: axis(track.x, 0), y: axis(track.y, 1), rate, bend, how: blend.how }
}

function sampleArc(track: Track, arc: Arc, base: Blend, t: Uncertain, biasSource: () => number): Sample {
  const { x, y } = arcPlace(track, track.about!, arc, base, biasSource)
  const timed = (u: Uncertain, rate: number): Uncertain => linear(u.value, [u, t], [1, rate])
  return { x: timed(x, arc.rate[0]), y: timed(y, arc.rate[1]), rate: arc.rate, bend: arc.bend, how: 'interpolated' }
}
