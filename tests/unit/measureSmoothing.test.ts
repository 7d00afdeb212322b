import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../shared/signal/random.ts'
import { blendAt, dot, type Track } from '../../shared/swing/track.ts'
import { asRightHanded } from '../../shared/contract/pointsFile.ts'
import { measureSwing } from '../../shared/swing/measureSwing.ts'
import { digitise, parametricSwing, randomCamera } from '../fixtures/swingSim.ts'
import { trueTimes } from '../fixtures/swingTruth.ts'

const sigma = 1.5
const fps = 120
const read = 0.25

/** Points of one part of the body, each on a slow way of its own, all jerked together about `read` by so many pixels. */
function company(points: number, jerkPx: number, seed: number): Track[] {
  const random = seededRandom(seed)
  const tracks: Track[] = []
  for (let k = 0; k < points; k++) {
    const times = Float64Array.from({ length: 61 }, (_, i) => i / fps)
    const jerk = (t: number): number => jerkPx * Math.exp(-(((t - read) / 0.03) ** 2))
    tracks.push({
      times, sigma: new Float64Array(61).fill(sigma), source: 1000 * k, company: tracks,
      x: times.map((t) => 300 + 40 * k + 60 * t + jerk(t) + sigma * random.normal()),
      y: times.map((t) => 500 - 30 * k + 40 * t * t + sigma * random.normal()),
    })
  }
  return tracks
}

/** How many are read with the widest window. */
const smoothed = (tracks: readonly Track[]): number => tracks.filter((track) => blendAt(track, read)!.weights.length > 11).length

describe('smoothing beside a jerk of the whole body', () => {
  const seeds = Array.from({ length: 20 }, (_, i) => 40 + i)
  it('is left where the points together show what none shows alone', () => {
    let alone = 0
    let together = 0
    for (const seed of seeds) {
      const tracks = company(10, 3, seed)
      // The same points without each other: most of them hide the jerk.
      alone += smoothed(tracks.map((track) => ({ ...track, company: [] })))
      together += smoothed(tracks)
    }
    expect(alone).toBeGreaterThan(150)
    expect(together).toBeLessThan(0.55 * alone)
  })

  it('stays where there is none, but for chance', () => {
    const all = seeds.reduce((sum, seed) => sum + smoothed(company(10, 0, seed)), 0)
    expect(all).toBeGreaterThan(150)
  })

  it('keeps the middle of two points as near as its error says', () => {
    let zz = 0
    let without = 0
    for (const seed of seeds) {
      for (const together of [true, false]) {
        const made = company(10, 3, seed)
        const tracks = together ? made : made.map((track) => ({ ...track, company: [] }))
        let off = 0
        let variance = 0
        for (const k of [2, 3]) {
          const blend = blendAt(tracks[k]!, read)!
          off += (dot(blend.weights, tracks[k]!.x, blend.start) - (300 + 40 * k + 60 * read + 3)) / 2
          variance += (blend.weights.reduce((sum, w) => sum + (w * sigma) ** 2, 0) + blend.bias ** 2 / 2) / 4
        }
        if (together) zz += off ** 2 / variance / seeds.length
        else without += off ** 2 / variance / seeds.length
      }
    }
    expect(Math.sqrt(without)).toBeGreaterThan(1.5)
    expect(Math.sqrt(zz)).toBeLessThan(1.4)
  })
})

describe('a reading that bends within its error', () => {
  it('has the sides that it has, unlike each other, with the value between them', () => {
    const random = seededRandom(12)
    let bent = 0
    for (let i = 0; i < 12; i++) {
      const motion = parametricSwing(random)
      const cameras = (['face-on', 'down-the-line'] as const).map((view) => randomCamera(view, random))
      const file = digitise(motion, cameras, random, { sigmaPx: 1.5, fps: 120, syncSigma: 0.002, matrices: true, positionSigma: 0.003 }, trueTimes(motion))
      for (const m of measureSwing(asRightHanded(file)).measures) {
        if (!/^shaft-(?:pitch|crossing)/.test(m.id)) continue
        expect(m.lo).toBeLessThanOrEqual(m.value)
        expect(m.hi).toBeGreaterThanOrEqual(m.value)
        const [down, up] = [m.value - m.lo, m.hi - m.value]
        expect(down + up).toBeGreaterThan(m.sigma)
        expect(down + up).toBeLessThan(3 * m.sigma)
        if (Math.abs(up - down) > 0.1 * m.sigma) bent++
      }
    }
    expect(bent).toBeGreaterThan(5)
  })
})
