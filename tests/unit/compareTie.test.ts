import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { positionId, type Digitised } from '../../shared/contract/digitising.ts'
import { positionNames } from '../../shared/contract/pointsFile.ts'
import { nearestShared, positionTicks, tieByPositions } from '../../shared/compare/tie.ts'
import { frameAt, realSeconds, type ClipTime } from '../../shared/walkthrough/motion.ts'
import { fromReference, nearestFrame, referenceFrameAt, rises, toReference, type TiePair } from '../../shared/walkthrough/phaseTie.ts'

const clipAt = (captureRate: number, count: number, first = 0): ClipTime & { readonly id: string } => {
  const ticks = Array.from({ length: count }, (_, i) => first + Math.round((i * 90_000) / 30))
  return { id: `at${captureRate}`, captureRate, playRate: 30, frames: { timescale: 90_000, ticks, endTick: ticks.at(-1)! + 3000 } }
}
const clip = fc.tuple(fc.constantFrom(30, 60, 120, 240), fc.integer({ min: 20, max: 400 }), fc.integer({ min: 0, max: 9000 })).map(([rate, count, first]) => clipAt(rate, count, first))
const rising = fc.array(fc.tuple(fc.integer({ min: 1, max: 40_000 }), fc.integer({ min: 1, max: 40_000 })), { minLength: 1, maxLength: 10 })
  .map((steps): TiePair[] => { let [a, b] = [0, 0]; return steps.map(([da, db]) => [a += da, b += db]) })
const anyTick = fc.integer({ min: -50_000, max: 1_500_000 })

describe('a tie by phase', () => {
  it('never goes backwards and stays inside the reference', () => {
    fc.assert(fc.property(clip, clip, rising, anyTick, anyTick, (own, other, tie, one, two) => {
      const [low, high] = [Math.min(one, two), Math.max(one, two)]
      const [a, b] = [toReference(tie, own, other, low), toReference(tie, own, other, high)]
      expect(a).toBeLessThanOrEqual(b)
      expect(a).toBeGreaterThanOrEqual(other.frames.ticks[0]!)
      expect(b).toBeLessThanOrEqual(other.frames.ticks.at(-1)!)
      expect(referenceFrameAt(tie, own, other, low)).toBeLessThanOrEqual(referenceFrameAt(tie, own, other, high))
    }))
  })

  it('meets every pair exactly, and its inverse undoes it wherever neither clip has ended', () => {
    fc.assert(fc.property(clip, clip, rising, anyTick, (own, other, tie, tick) => {
      const inside = (frames: ClipTime['frames'], at: number): boolean => at > frames.ticks[0]! && at < frames.ticks.at(-1)!
      for (const [a, b] of tie) if (inside(other.frames, b)) expect(toReference(tie, own, other, a)).toBeCloseTo(b, 6)
      const there = toReference(tie, own, other, tick)
      if (inside(own.frames, tick) && inside(other.frames, there)) expect(fromReference(tie, own, other, there)).toBeCloseTo(tick, 4)
    }))
  })

  it('runs by the time of the world outside its positions, whatever the rates', () => {
    fc.assert(fc.property(fc.constantFrom(30, 60, 240), fc.constantFrom(30, 120, 240), fc.integer({ min: 1, max: 30 }), (a, b, frames) => {
      const [own, other] = [clipAt(a, 400), clipAt(b, 4000)]
      const tie: TiePair[] = [[300_000, 6_000_000]]
      const tick = 300_000 + frames * 3000
      expect(realSeconds(other, 6_000_000, toReference(tie, own, other, tick))).toBeCloseTo(frames / a, 6)
    }))
  })

  it('shows the frame nearest to the tied instant: half a frame away at most', () => {
    fc.assert(fc.property(clip, clip, rising, fc.nat({ max: 399 }), (own, other, tie, n) => {
      const tick = own.frames.ticks[n % own.frames.ticks.length]!
      const frame = referenceFrameAt(tie, own, other, tick)
      expect(Math.abs(other.frames.ticks[frame]! - toReference(tie, own, other, tick))).toBeLessThanOrEqual(1500)
      // Anywhere inside the same frame of the pane it is the same frame.
      expect(referenceFrameAt(tie, own, other, tick + 2999)).toBe(frame)
    }))
  })

  it('takes the earlier of two frames as near', () => {
    expect(nearestFrame({ timescale: 10, ticks: [0, 10, 20], endTick: 30 }, 15)).toBe(1)
    expect(nearestFrame({ timescale: 10, ticks: [0, 10, 20], endTick: 30 }, 15.1)).toBe(2)
  })
})

describe('positions that tie', () => {
  const own = clipAt(240, 300)
  const other = clipAt(60, 100)
  const set = (clipId: string, name: (typeof positionNames)[number], tick: number, falls: 'on' | 'between' = 'on'): Digitised =>
    ({ kind: 'position', id: positionId(clipId, name), clipId, name, tick, falls, sigmaS: null, by: 'coach' })
  const table = (...records: Digitised[]) => Object.fromEntries(records.map((record) => [record.id, record]))

  it('are those that both have, in order; what contradicts the order is left out and named', () => {
    const tie = tieByPositions({ address: 0, top: 9000, impact: 12_000, finish: 15_000 }, { address: 3000, top: 9000, impact: 6000, takeaway: 4000, finish: 21_000 })!
    expect(tie.names).toEqual(['address', 'top', 'finish'])
    expect(tie.dropped).toEqual(['impact'])
    expect(rises(tie.tie)).toBe(true)
    expect(tieByPositions({ address: 0 }, { impact: 3 })).toBeNull()
  })

  it('lie where the coach set them, between frames where they were found between them, else midway', () => {
    const records = table(set(own.id, 'address', 3000), set(own.id, 'top', 9000, 'between'), set(own.id, 'impact', 30_000, 'between'))
    // The clock counts from the first frame: 0.0135 s of 240 frames a second are 3.24 frames.
    const found = { address: { t: 0.5 }, top: { t: 0.0135 }, finish: { t: 0.2 }, impact: { t: 1 } }
    const ticks = positionTicks(own, records, found, own.frames.ticks[0]!)
    expect(ticks.address).toBe(3000)
    expect(ticks.top).toBeCloseTo(9720, 3)
    expect(ticks.impact).toBe(31_500)
    expect(frameAt(own.frames, ticks.finish!)).toBe(48)
    expect(ticks.takeaway).toBeUndefined()
    expect(positionTicks(other, {}, null, 0)).toEqual({})
  })

  it('name the nearest one that both have', () => {
    expect(nearestShared({ top: 10, impact: 20 }, { impact: 3, finish: 4 }, 0)).toBe('impact')
    expect(nearestShared({ top: 10 }, { impact: 3 }, 0)).toBeNull()
  })
})
