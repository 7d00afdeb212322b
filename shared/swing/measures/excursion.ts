import { meetPlane } from '../../camera/projection.ts'
import { quantile } from '../../signal/quantile.ts'
import { seededRandom } from '../../signal/random.ts'
import { exact, measured, sigmaOf } from '../../signal/uncertain.ts'
import { calibration, positionAt, type Measure, type Outcome } from '../definition.ts'
import { isMissing, missing, planeAt, type Missing, type Swing } from '../reading.ts'
import { blendAt, dot, type Blend, type Track } from '../track.ts'
import type { SwingView } from '../viewOf.ts'

/** Redrawn placements behind each interval; the seed is fixed, so that the same file gives the same numbers. */
const draws = 160
const seed = 2023
/** How finely the path is read, seconds. */
const grid = 1 / 75
/** A head's height, chin to crown, over stature: Drillis & Contini 1966, after Winter, fig. 4.1 (from memory). */
const headHeight = 0.13

interface Local {
  readonly x0: number
  readonly y0: number
  /** Metres of the plane a pixel of the picture, as a 2 x 2 matrix. */
  readonly j: readonly [number, number, number, number]
}

/** The plane's metres about one place of the picture: a head stays within a few percent of it. */
function localScale(swing: Swing, view: SwingView, x: number, y: number, depth: number): Local | null {
  if (!view.camera) {
    const k = swing.scales.get(view.name)?.metresPerPx
    if (!k) return null
    const c = Math.cos(view.level.value)
    const s = Math.sin(view.level.value)
    return { x0: x, y0: y, j: [k * c, k * s, k * s, -k * c] }
  }
  const faceOn = view.name === 'face-on'
  const at = (px: number, py: number) => {
    const p = meetPlane(view.camera!, [px, py], faceOn ? [0, 0, 1] : [1, 0, 0], depth)
    return p && ([faceOn ? p[0] : p[2], p[1]] as const)
  }
  const step = 20
  const [left, right, over, under] = [at(x - step, y), at(x + step, y), at(x, y - step), at(x, y + step)]
  if (!left || !right || !over || !under) return null
  const d = 2 * step
  return { x0: x, y0: y, j: [(right[0] - left[0]) / d, (under[0] - over[0]) / d, (right[1] - left[1]) / d, (under[1] - over[1]) / d] }
}

const done = new WeakMap<SwingView, Outcome | Missing>()

function excursionOf(swing: Swing, view: SwingView): Outcome | Missing {
  let found = done.get(view)
  if (!found) done.set(view, (found = readExcursion(swing, view)))
  return found
}

function readExcursion(swing: Swing, view: SwingView): Outcome | Missing {
  const track = view.tracks.get('head')
  if (!track) return missing(`head is not digitised in the ${view.name} view`)
  const address = positionAt(swing, view.name, 'address')
  if (isMissing(address)) return address
  const impact = positionAt(swing, view.name, 'impact')
  if (isMissing(impact)) return impact
  const place = planeAt(swing, view, 'head', address.t, 'size')
  if (isMissing(place)) return place
  const clock = view.clock.value
  const home = blendAt(track, address.t.value + clock)
  if (!home) return missing(`head is not digitised at address in the ${view.name} view`)
  const blends: Blend[] = []
  const steps = Math.max(2, Math.ceil((impact.t.value - address.t.value) / Math.max(grid, view.interval)))
  let gaps = 0
  for (let k = 1; k <= steps; k++) {
    const blend = blendAt(track, clock + address.t.value + ((impact.t.value - address.t.value) * k) / steps)
    if (blend) blends.push(blend)
    else gaps++
  }
  if (gaps > 0.1 * steps) return missing(`head is not digitised throughout from address to impact in the ${view.name} view`)
  const x = dot(home.weights, track.x, home.start)
  const y = dot(home.weights, track.y, home.start)
  const { depth, share } = depthOf(swing, view, address.t.value)
  const local = localScale(swing, view, x, y, depth)
  if (!local) return missing(`the ${view.name} camera does not look at the plane it should measure on`)
  const best = farthest(track, home, blends, local)
  // What redrawing the noise does to the farthest point shows what the noise already did to it.
  const redrawn = redraw(track, home, blends, local)
  const middle = redrawn.reduce((sum, value) => sum + value, 0) / draws
  const value = Math.max(0, 2 * best - middle)
  const sigmaScale = share * value
  const spread = (q: number) => 2 * best - quantile(redrawn, q)
  const low = value - Math.hypot(value - spread(0.84), sigmaScale)
  const high = value + Math.hypot(spread(0.16) - value, sigmaScale)
  const sigma = Math.hypot((spread(0.16) - spread(0.84)) / 2, sigmaScale)
  return {
    value: measured(1000 * value, 1000 * sigma, swing.sources.of(`head excursion ${view.name}`)),
    interval: [1000 * Math.max(0, low), 1000 * Math.max(0, high)],
    basis: `head from address to impact, corrected for the noise a farthest point collects; ${calibration(swing, view, 'size')}; address ${address.basis}; impact ${impact.basis}`,
  }
}

/** Where the head's plane stands along the line of sight, and how far, relatively, its scale may be off. */
function depthOf(swing: Swing, view: SwingView, address: number): { depth: number; share: number } {
  if (!view.camera) {
    const scale = swing.scales.get(view.name)!
    return { depth: 0, share: scale.sigma / scale.metresPerPx }
  }
  const faceOn = view.name === 'face-on'
  const camera = view.camera
  const p = planeAt(swing, view, 'head', exact(address), 'size')
  if (isMissing(p)) return { depth: 0, share: 0 }
  // The plane point and the sightline give back the depth that it was read at.
  const ray = planeAt(swing, view, 'head', exact(address), 'shape')
  const body = faceOn ? 0.15 : 0
  const far = camera.place[faceOn ? 2 : 0]
  const centreV = camera.place[1]
  const centreU = camera.place[faceOn ? 0 : 2]
  if (isMissing(ray)) return { depth: body, share: 0 }
  const du = ray.u.value - centreU
  const dv = ray.v.value - centreV
  const k = ((p.u.value - centreU) * du + (p.v.value - centreV) * dv) / (du * du + dv * dv)
  const depth = far + k * (body - far)
  const spread = Math.max(0.03, depthSigma(swing, view))
  return { depth, share: spread / Math.abs(depth - far) }
}

const depthSigma = (swing: Swing, view: SwingView): number => (swing.views.length === 2 && swing.views.every((v) => v.camera && v.tracks.has('head')) ? 0.03 : view.name === 'face-on' ? 0.12 : 0.08)

function farthest(track: Track, home: Blend, blends: readonly Blend[], { j }: Local, ex?: Float64Array, ey?: Float64Array): number {
  const hx = dot(home.weights, track.x, home.start) + (ex ? dot(home.weights, ex, home.start) : 0)
  const hy = dot(home.weights, track.y, home.start) + (ey ? dot(home.weights, ey, home.start) : 0)
  let most = 0
  for (const blend of blends) {
    const dx = dot(blend.weights, track.x, blend.start) + (ex ? dot(blend.weights, ex, blend.start) : 0) - hx
    const dy = dot(blend.weights, track.y, blend.start) + (ey ? dot(blend.weights, ey, blend.start) : 0) - hy
    const u = j[0] * dx + j[1] * dy
    const v = j[2] * dx + j[3] * dy
    most = Math.max(most, u * u + v * v)
  }
  return Math.sqrt(most)
}

function redraw(track: Track, home: Blend, blends: readonly Blend[], local: Local): number[] {
  const random = seededRandom(seed)
  const n = track.times.length
  const ex = new Float64Array(n)
  const ey = new Float64Array(n)
  const first = Math.min(home.start, blends[0]!.start)
  const last = Math.max(home.start + home.weights.length, ...blends.map((b) => b.start + b.weights.length))
  return Array.from({ length: draws }, () => {
    for (let i = first; i < last; i++) {
      ex[i] = track.sigma[i]! * random.normal()
      ey[i] = track.sigma[i]! * random.normal()
    }
    return farthest(track, home, blends, local, ex, ey)
  })
}

export const excursionMeasures: readonly Measure[] = [
  {
    id: 'head-excursion', views: ['face-on', 'down-the-line'], at: ['swing'], unit: 'mm',
    plane: 'vertical, along the target line (face-on) or across it (down the line), at the head', sign: 'a size, never negative',
    definition: 'How far the head (midway between the ears) gets, at most, from its place at address, from address to impact.',
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
