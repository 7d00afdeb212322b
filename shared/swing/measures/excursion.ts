import { shiftShare } from '../../camera/solve/cameraErrors.ts'
import { quantile } from '../../signal/quantile.ts'
import { seededRandom } from '../../signal/random.ts'
import { exact, measured, sigmaOf } from '../../signal/uncertain.ts'
import { calibration, positionAt, type Measure, type Outcome } from '../definition.ts'
import { headHeight, leavingWords } from './headBox.ts'
import { headReader, type Pattern, type Place } from './headPlane.ts'
import { isMissing, missing, planeAt, type Missing, type Swing } from '../reading.ts'
import { blendAt, dot, windowBlend, type Blend, type Track } from '../track.ts'
import type { SwingView } from '../viewOf.ts'

/** Redrawn placements behind each interval; the seed is fixed, so that the same file gives the same numbers. */
const draws = 160
const random = seededRandom(2023)
/** What that seed has drawn so far, kept for the next way. */
const drawn: number[] = []
/** The windows that smooth a head's way, half-widths in seconds: it is quickest about impact, and wider ones cut that off. */
const slow = [0.05, 0.033]
/** How finely the path is read, seconds. */
const grid = 1 / 60

/** The head's way on its plane, metres from its place at address, and what a pixel of noise does to it. */
interface Path {
  readonly track: Track
  readonly home: Blend
  readonly blends: readonly Blend[]
  readonly u: readonly number[]
  readonly v: readonly number[]
  /** The instants of these, seconds of the swing's clock. */
  readonly at: readonly number[]
  /** Metres of the plane a pixel of the picture: du/dx, du/dy, dv/dx, dv/dy. */
  readonly scale: readonly [number, number, number, number]
  /** Relative error of the scale. */
  readonly share: number
  /** What changes of depth may make of nothing, and what solved cameras' own errors make of the whole way. */
  readonly shared: readonly Pattern[]
}

/**
 * One smoothing for the whole way: the widest window that fits all but the share of instants that chance alone would
 * spoil. A window chosen afresh at each instant would be narrow just where the noise is large, and the farthest point
 * would be sought out there.
 */
function smoother(track: Track, instants: readonly number[]): (t: number) => Blend | null {
  for (const half of slow) {
    const blends = instants.map((t) => windowBlend(track, t, half)).filter((b) => b !== null)
    const spoilt = blends.filter((b) => !b.fits).length
    if (blends.length > 0.9 * instants.length && spoilt <= 0.25 * blends.length) {
      const known = new Map(instants.map((t, k) => [t, blends.length === instants.length ? blends[k]! : windowBlend(track, t, half)]))
      return (t) => known.get(t) ?? windowBlend(track, t, half) ?? blendAt(track, t)
    }
  }
  return (t) => blendAt(track, t)
}

function pathOf(swing: Swing, view: SwingView, from: number, to: number): Path | Missing {
  const track = view.tracks.get('head')
  if (!track) return missing(`head is not digitised in the ${view.name} view`)
  const why = planeAt(swing, view, 'head', exact(from), 'size')
  if (isMissing(why)) return why
  const read = headReader(swing, view)
  const clock = view.clock.value
  const steps = Math.max(2, Math.ceil((to - from) / Math.max(grid, view.interval)))
  const instants = Array.from({ length: steps }, (_, k) => clock + from + ((to - from) * (k + 1)) / steps)
  const smooth = smoother(track, instants)
  const home = smooth(from + clock)
  if (!home || !read) return missing(`head is not digitised at address in the ${view.name} view`)
  const placeBy = (by: Place, blend: Blend, t: number) => by(dot(blend.weights, track.x, blend.start), dot(blend.weights, track.y, blend.start), t)
  const place = (blend: Blend, t: number) => placeBy(read.at, blend, t)
  const origin = place(home, from)
  if (!origin) return missing(`the ${view.name} camera does not look at the plane it should measure on`)
  const blends: Blend[] = []
  const at: number[] = []
  const u: number[] = []
  const v: number[] = []
  for (const instant of instants) {
    const t = instant - clock
    const blend = smooth(instant)
    const p = blend && place(blend, t)
    if (!blend || !p) continue
    blends.push(blend)
    at.push(t)
    u.push(p[0] - origin[0])
    v.push(p[1] - origin[1])
  }
  if (blends.length < 0.9 * steps) return missing(`head is not digitised throughout from address to impact in the ${view.name} view`)
  const x = dot(home.weights, track.x, home.start)
  const y = dot(home.weights, track.y, home.start)
  const right = read.at(x + 10, y, from)
  const under = read.at(x, y + 10, from)
  if (!right || !under) return missing(`the ${view.name} camera does not look at the plane it should measure on`)
  const scale = [(right[0] - origin[0]) / 10, (under[0] - origin[0]) / 10, (right[1] - origin[1]) / 10, (under[1] - origin[1]) / 10] as const
  const wayBy = (by: Place): number[] => {
    const start = placeBy(by, home, from) ?? origin
    return blends.flatMap((blend, k) => (placeBy(by, blend, at[k]!) ?? start).map((part, axis) => part - start[axis]!))
  }
  const shifts = read.shifted.map(([plus, minus]) => {
    const less = wayBy(minus)
    return Float64Array.from(wayBy(plus), (more, k) => (more - less[k]!) / (2 * shiftShare))
  })
  const parallax = read.parallax(u.map((du, k) => [origin[0] + du, origin[1] + v[k]!, at[k]!]))
  return { track, home, blends, u, v, at, scale, share: read.share(x, y), shared: [...parallax, ...shifts] }
}

/** The farthest point of a path with so much added to it. */
function farthest({ u, v }: Path, ...added: readonly Float64Array[]): number {
  let most = 0
  for (let k = 0; k < u.length; k++) {
    let du = u[k]!
    let dv = v[k]!
    for (const noise of added) {
      du += noise[2 * k]!
      dv += noise[2 * k + 1]!
    }
    most = Math.max(most, du * du + dv * dv)
  }
  return Math.sqrt(most)
}

/** One standard deviation of the way from address to one of its places by the placing alone, metres: the middle one stands for all. */
function placeSigma({ track, home, blends, scale }: Path): number {
  const of = (blend: Blend): number => blend.weights.reduce((sum, w, i) => sum + (w * track.sigma[blend.start + i]!) ** 2, 0)
  return Math.hypot(...scale) * Math.SQRT1_2 * Math.sqrt(of(home) + of(blends[blends.length >> 1]!))
}

/** What the placing's noise, unknown depths and solved cameras may have done to a path: u and v by turns, metres, `draws` times over. */
function noisePaths({ track, home, blends, scale, shared }: Path): Float64Array[] {
  const n = track.times.length
  let next = 0
  const normal = (): number => {
    if (next === drawn.length) drawn.push(random.normal())
    return drawn[next++]!
  }
  const x = new Float64Array(n)
  const y = new Float64Array(n)
  const first = Math.min(home.start, blends[0]!.start)
  const last = Math.max(home.start + home.weights.length, ...blends.map((b) => b.start + b.weights.length))
  const half = Array.from({ length: draws / 2 }, () => {
    for (let i = first; i < last; i++) {
      x[i] = track.sigma[i]! * normal()
      y[i] = track.sigma[i]! * normal()
    }
    const hx = dot(home.weights, x, home.start)
    const hy = dot(home.weights, y, home.start)
    const out = new Float64Array(2 * blends.length)
    for (let k = 0; k < blends.length; k++) {
      const blend = blends[k]!
      const dx = dot(blend.weights, x, blend.start) - hx
      const dy = dot(blend.weights, y, blend.start) - hy
      out[2 * k] = scale[0] * dx + scale[1] * dy
      out[2 * k + 1] = scale[2] * dx + scale[3] * dy
    }
    for (const pattern of shared) {
      const z = normal()
      for (let k = 0; k < out.length; k++) out[k] = out[k]! + z * pattern[k]!
    }
    return out
  })
  // Each with its opposite: as likely, and the mean comes out surer.
  return [...half, ...half.map(opposite)]
}

function opposite(path: Float64Array): Float64Array {
  const out = new Float64Array(path.length)
  for (let i = 0; i < out.length; i++) out[i] = -path[i]!
  return out
}

/**
 * What noise has added to a maximum, from what one more and two more helpings of it add: a maximum grows as c k^a with k
 * helpings, a = 1 at a sharp peak, 1/2 along a flat way.
 */
function collectedBy(best: number, once: number, twice: number): number {
  const first = once - best
  if (!(first > 0)) return 0
  const ratio = (twice - once) / first
  // (3^a - 2^a) / (2^a - 1) runs from .768 at a = 1/2 to 1 at a = 1, near enough straight.
  const a = Math.min(1, Math.max(0.5, 0.5 + (0.5 * (ratio - 0.768)) / 0.232))
  return first / (2 ** a - 1)
}

const done = new WeakMap<SwingView, Outcome | Missing>()

function excursionOf(swing: Swing, view: SwingView): Outcome | Missing {
  let found = done.get(view)
  if (!found) done.set(view, (found = readExcursion(swing, view)))
  return found
}

function readExcursion(swing: Swing, view: SwingView): Outcome | Missing {
  const address = positionAt(swing, view.name, 'address')
  if (isMissing(address)) return address
  const impact = positionAt(swing, view.name, 'impact')
  if (isMissing(impact)) return impact
  const path = pathOf(swing, view, address.t.value, impact.t.value)
  if (isMissing(path)) return path
  const best = farthest(path)
  const { statureM } = swing.file
  const leaving = statureM === undefined ? '' : `; ${leavingWords({ ...path, sigma: placeSigma(path) }, statureM, view.name, swing.positions.get(view.name) ?? {})}`
  const noise = noisePaths(path)
  const redrawn = noise.map((n) => farthest(path, n))
  const mean = (values: readonly number[]) => values.reduce((sum, r) => sum + r, 0) / values.length
  const once = mean(redrawn)
  const collected = collectedBy(best, once, mean(noise.map((n, k) => farthest(path, n, noise[(k + 7) % draws]!))))
  const value = Math.max(0, best - collected)
  // The correction is a guess from a way that is rough already: four fifths of it stand for its own error.
  const other = Math.hypot(path.share * value, 0.8 * collected)
  const [least, most] = [0.84, 0.16].map((q) => value + once - quantile(redrawn, q)) as [number, number]
  const low = Math.max(0, value - Math.hypot(value - least, other))
  const high = value + Math.hypot(most - value, other)
  return {
    value: measured(1000 * value, 1000 * Math.hypot((most - least) / 2, other), swing.sources.of(`head excursion ${view.name}`)),
    interval: [1000 * low, 1000 * high],
    basis: `head from address to impact, corrected for the noise a farthest point collects; ${calibration(swing, view, 'size')}; address ${address.basis}; impact ${impact.basis}${leaving}`,
  }
}

export const excursionMeasures: readonly Measure[] = [
  {
    id: 'head-excursion', views: ['face-on', 'down-the-line'], at: ['swing'], unit: 'mm',
    plane: 'vertical, along the target line (face-on) or across it (down the line), at the head', sign: 'a size, never negative',
    definition: 'How far the head (midway between the ears) gets, at most, from its place at address, from address to impact. With the stature, its basis says when and at which side it left the box about it.',
    formula: 'max over time of |head(t) - head(address)|, less what the placing\'s noise adds to a maximum',
    read: excursionOf,
  },
  {
    id: 'head-excursion-share', views: ['face-on', 'down-the-line'], at: ['swing'], unit: 'share',
    plane: 'vertical, along the target line (face-on) or across it (down the line), at the head', sign: 'a share of the head box, .130 of the stature high; never negative',
    definition: 'The head excursion as a share of the height of the box about the head.',
    formula: 'head excursion / (.130 stature)',
    read: (swing, view) => {
      const stature = swing.file.statureM
      if (!stature) return missing('needs the stature')
      const found = excursionOf(swing, view)
      if (isMissing(found)) return found
      const box = 1000 * headHeight * stature
      return {
        value: measured(found.value.value / box, sigmaOf(found.value) / box, swing.sources.of(`head share ${view.name}`)),
        basis: found.basis,
        ...(found.interval && { interval: [found.interval[0] / box, found.interval[1] / box] as const }),
      }
    },
  },
]
