import fc from 'fast-check'
import { expect, it } from 'vitest'
import { nearestTick } from '../../renderer/playback/head.ts'
import { longestFrame, restingSpan } from '../../renderer/playback/restingSpan.ts'
import { frameAt, throughTie, tickOf } from '../../shared/walkthrough/motion.ts'

const clip = (fps: number, count = 120) => ({ frames: { timescale: 6000, ticks: Array.from({ length: count }, (_, i) => (i * 6000) / fps), endTick: (count * 6000) / fps }, captureRate: fps, playRate: fps })

it('holds the frame of the instant and the one on which a pane rests there, alone or tied', () => {
  const [one, two] = [clip(60), clip(50)]
  fc.assert(fc.property(fc.integer({ min: 1000, max: 9000 }), fc.integer({ min: -60, max: 60 }), (instant, late) => {
    const alone = restingSpan(one, instant, null)
    expect(alone.from).toBe(tickOf(one.frames, frameAt(one.frames, instant)))
    expect(alone.to).toBe(nearestTick(one.frames, instant))
    // The other swing is at its own top a little before or after the tied instant.
    const tied = restingSpan(one, instant, { clip: two, instant: 5000 + late, there: 5000, here: instant })
    const rest = nearestTick(one.frames, throughTie(two, one, 5000, instant, tickOf(two.frames, frameAt(two.frames, 5000 + late))))
    const beside = Math.abs(frameAt(one.frames, rest) - frameAt(one.frames, instant))
    expect(tied.from <= alone.from && tied.to >= alone.from).toBe(true)
    if (beside === 1) expect(rest >= tied.from && rest <= tied.to).toBe(true)
    expect(tied.to - tied.from).toBeLessThanOrEqual(longestFrame(one))
  }))
})
