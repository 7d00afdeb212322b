import { describe, expect, it } from 'vitest'
import { seededRandom, type Random } from '../../shared/signal/random.ts'
import { exact, sigmaOf, Sources } from '../../shared/signal/uncertain.ts'
import { blendAt, placeAt, sampleTrack, type Track } from '../../shared/swing/track.ts'

/** A club that turns ever faster about hands that move, as a way of its two ends, pixels. */
function club(random: Random) {
  const [turns, grows] = [5 + 15 * random.uniform(), 20 + 30 * random.uniform()]
  const tail = (t: number): [number, number] => [500 + 300 * t, 900 - 200 * t * t]
  const tip = (t: number): [number, number] => {
    const angle = turns * t + grows * t * t
    const [x, y] = tail(t)
    return [x + 350 * Math.cos(angle), y + 330 * Math.sin(angle)]
  }
  return { tail, tip }
}

function trackOf(way: (t: number) => [number, number], times: readonly number[], sigma: number, random: Random, source: number, about?: Track): Track {
  const places = times.map(way)
  const noisy = (k: 0 | 1) => Float64Array.from(places, (p) => p[k] + sigma * random.normal())
  return { times: Float64Array.from(times), x: noisy(0), y: noisy(1), sigma: Float64Array.from(times, () => sigma), source, ...(about && { about }) }
}

const frames = Array.from({ length: 11 }, (_, i) => i / 30)

describe('a point that turns about another, between frames far apart', () => {
  it('is where it is within the error that it is given, and nearer than a cubic through its places', () => {
    const random = seededRandom(11)
    let [within, within2, all, arcs, cubics] = [0, 0, 0, 0, 0]
    for (let i = 0; i < 300; i++) {
      const { tail, tip } = club(random)
      const butt = trackOf(tail, frames, 1.5, random, 0)
      const head = trackOf(tip, frames, 1.5, random, 100, butt)
      const t = 0.07 + 0.2 * random.uniform()
      const sources = new Sources()
      sources.block(200)
      const sample = sampleTrack(head, exact(t), () => sources.fresh())!
      const [x, y] = tip(t)
      for (const [seen, truth] of [[sample.x, x], [sample.y, y]] as const) {
        const z = Math.abs(seen.value - truth) / sigmaOf(seen)
        all++
        if (z < 1) within++
        if (z < 2) within2++
      }
      arcs += (sample.x.value - x) ** 2 + (sample.y.value - y) ** 2
      const { about: _, ...alone } = head
      const cubic = placeAt(alone, t)!
      cubics += (cubic[0] - x) ** 2 + (cubic[1] - y) ** 2
    }
    expect(within / all).toBeGreaterThan(0.6)
    expect(within2 / all).toBeGreaterThan(0.92)
    expect(Math.sqrt(cubics / arcs)).toBeGreaterThan(1.8)
  })

  it('says how fast it goes', () => {
    const random = seededRandom(12)
    for (let i = 0; i < 50; i++) {
      const { tail, tip } = club(random)
      const head = trackOf(tip, frames, 0.01, random, 100, trackOf(tail, frames, 0.01, random, 0))
      const t = 0.07 + 0.2 * random.uniform()
      const { rate } = sampleTrack(head, exact(t), () => 999)!
      const [a, b] = [tip(t - 1e-4), tip(t + 1e-4)]
      const truth = [(b[0] - a[0]) / 2e-4, (b[1] - a[1]) / 2e-4]
      expect(Math.hypot(rate![0] - truth[0]!, rate![1] - truth[1]!)).toBeLessThan(0.05 * Math.hypot(...truth))
    }
  })

  it('moves with its placements as its errors say', () => {
    const random = seededRandom(13)
    const { tail, tip } = club(random)
    const butt = trackOf(tail, frames, 1.5, random, 0)
    const head = trackOf(tip, frames, 1.5, random, 100, butt)
    const t = 0.15
    const { x } = sampleTrack(head, exact(t), () => 999)!
    const share = (source: number) => x.parts.sources.reduce((sum, one, i) => (one === source ? sum + x.parts.shares[i]! : sum), 0)
    for (const [track, of] of [[head, 100], [butt, 0]] as const)
      for (let frame = 3; frame <= 6; frame++)
        for (const [values, axis] of [['x', 0], ['y', 1]] as const) {
          const moved = Float64Array.from(track[values])
          moved[frame] = moved[frame]! + 0.01
          const other = { ...track, [values]: moved }
          const place = placeAt(track === head ? { ...other, about: butt } : { ...head, about: other }, t)!
          expect((place[0] - x.value) / 0.01).toBeCloseTo(share(of + 2 * frame + axis) / 1.5, 3)
        }
  })

  it('is not turned on over frames that are lacking, where it may have gone round by anything', () => {
    const random = seededRandom(14)
    const { tail, tip } = club(random)
    const some = frames.filter((_, i) => i !== 5 && i !== 6)
    const butt = trackOf(tail, some, 0.5, random, 0)
    const head = trackOf(tip, some, 0.5, random, 100, butt)
    expect(blendAt(head, 0.115)!.arc).toBeDefined()
    expect(blendAt(head, 0.19)?.arc).toBeUndefined()
  })
})
