import { meetPlane } from '../../camera/projection.ts'
import type { PointName } from '../../contract/pointsFile.ts'
import { bodyPlane } from '../bodyDepth.ts'
import type { SwingView } from '../viewOf.ts'

/** A landmark's places on its view's levelled plane, frame by frame, without errors: for searching. */
export interface Series {
  readonly t: number[]
  readonly u: number[]
  readonly v: number[]
  /** One standard deviation of a placement, in the plane's unit. */
  readonly sigma: number
}

/** Plane coordinates of a picture point, and null where a camera does not see the plane there. */
export function levelled(view: SwingView, x: number, y: number): readonly [number, number] | null {
  if (view.camera) {
    const p = meetPlane(view.camera, [x, y], view.name === 'face-on' ? [0, 0, 1] : [1, 0, 0], bodyPlane(view.name))
    return p && [view.name === 'face-on' ? p[0] : p[2], p[1]]
  }
  const c = Math.cos(view.level.value)
  const s = Math.sin(view.level.value)
  return [c * x + s * y, s * x - c * y]
}

const made = new WeakMap<SwingView, Map<PointName, Series | null>>()

/** Times are on the swing's clock. Null for fewer than `least` frames. */
export function seriesOf(view: SwingView, point: PointName, least = 3): Series | null {
  let known = made.get(view)
  if (!known) made.set(view, (known = new Map()))
  let series = known.get(point)
  if (series === undefined) known.set(point, (series = makeSeries(view, point)))
  return series && series.t.length >= least ? series : null
}

function makeSeries(view: SwingView, point: PointName): Series | null {
  const track = view.tracks.get(point)
  if (!track) return null
  const series = { t: [] as number[], u: [] as number[], v: [] as number[] }
  for (let i = 0; i < track.times.length; i++) {
    const p = levelled(view, track.x[i]!, track.y[i]!)
    if (!p) continue
    series.t.push(track.times[i]! - view.clock.value)
    series.u.push(p[0])
    series.v.push(p[1])
  }
  const middle = Math.floor(track.times.length / 2)
  return { ...series, sigma: perPx(view, track.x[middle]!, track.y[middle]!) * track.sigma[middle]! }
}

/** What a pixel is in the plane's unit, at a picture point, or in the picture's middle. */
export function perPx(view: SwingView, x = view.width / 2, y = view.height / 2): number {
  const here = levelled(view, x, y)
  const beside = levelled(view, x + 1, y)
  return here && beside ? Math.hypot(beside[0] - here[0], beside[1] - here[1]) : 1
}

/** First index with t[i] >= at. */
export function indexAt(t: readonly number[], at: number): number {
  let low = 0
  let high = t.length
  while (low < high) {
    const middle = (low + high) >> 1
    if (t[middle]! < at) low = middle + 1
    else high = middle
  }
  return low
}

/** Two series on the frames that both have. */
export function paired(a: Series, b: Series): { t: number[]; a: [number, number][]; b: [number, number][] } {
  const out = { t: [] as number[], a: [] as [number, number][], b: [] as [number, number][] }
  let j = 0
  a.t.forEach((t, i) => {
    while (j < b.t.length && b.t[j]! < t - 1e-6) j++
    if (j < b.t.length && Math.abs(b.t[j]! - t) <= 1e-6) {
      out.t.push(t)
      out.a.push([a.u[i]!, a.v[i]!])
      out.b.push([b.u[j]!, b.v[j]!])
    }
  })
  return out
}

/** Units a second between the frames around i. */
export function speedAt(s: Series, i: number): number {
  const a = Math.max(i - 1, 0)
  const b = Math.min(i + 1, s.t.length - 1)
  return Math.hypot(s.u[b]! - s.u[a]!, s.v[b]! - s.v[a]!) / (s.t[b]! - s.t[a]!)
}

export interface Rest {
  readonly from: number
  readonly to: number
  readonly u: number
  readonly v: number
  /** Frames in it. */
  readonly count: number
}

/** The shortest stillness that counts as one, seconds. */
const stillness = 0.12

/**
 * Stretches in which the point stays within its own placement error of one place (and a five-hundredth of `size`
 * besides, for a golfer's sway), in order of time.
 */
export function restsOf(s: Series, size: number): Rest[] {
  const limit = 1.5 * s.sigma + size / 500
  const rests: Rest[] = []
  let i = 0
  while (i < s.t.length) {
    const end = indexAt(s.t, s.t[i]! + stillness - 1e-9)
    if (end >= s.t.length || end - i < 3) {
      i++
      continue
    }
    if (spread(s, i, end) > limit) {
      i++
      continue
    }
    // On to the last frame whose own window is still quiet about it.
    let last = end
    while (last + 1 < s.t.length) {
      const start = indexAt(s.t, s.t[last + 1]! - stillness)
      if (spread(s, start, last + 1) > limit) break
      last++
    }
    // The place is that of the last half second: a golfer settles.
    const settled = Math.max(i, indexAt(s.t, s.t[last]! - 0.5))
    const count = last - settled + 1
    let u = 0
    let v = 0
    for (let k = settled; k <= last; k++) {
      u += s.u[k]! / count
      v += s.v[k]! / count
    }
    rests.push({ from: s.t[i]!, to: s.t[last]!, u, v, count })
    i = last + 1
  }
  return rests
}

/** Root mean square distance from the mean place over frames from i to j. */
function spread(s: Series, i: number, j: number): number {
  const n = j - i + 1
  let u = 0
  let v = 0
  for (let k = i; k <= j; k++) {
    u += s.u[k]! / n
    v += s.v[k]! / n
  }
  let sum = 0
  for (let k = i; k <= j; k++) sum += (s.u[k]! - u) ** 2 + (s.v[k]! - v) ** 2
  return Math.sqrt(sum / (2 * n))
}
