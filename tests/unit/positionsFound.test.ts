import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../shared/signal/random.ts'
import { measureSwing, prepareSwing } from '../../shared/swing/measureSwing.ts'
import { digitise, parametricSwing, randomCamera, type Digitising } from '../fixtures/swingSim.ts'
import { trueTimes } from '../fixtures/swingTruth.ts'

const views = ['face-on', 'down-the-line'] as const
const how: Digitising = { sigmaPx: 1.5, fps: 120, syncSigma: 0.002, matrices: true, positionSigma: null }

function filmed(seed: number, more: Partial<Digitising> = {}) {
  const random = seededRandom(seed)
  const motion = parametricSwing(random)
  const cameras = views.map((view) => randomCamera(view, random))
  const times = trueTimes(motion)
  return { motion, times, file: digitise(motion, cameras, random, { ...how, ...more }, times) }
}

describe('positions that the program finds', () => {
  it('finds impact as well as the clubhead’s speed lets the placing tell it, and says what of it is definition', () => {
    for (let seed = 1; seed <= 6; seed++) {
      const { times, file } = filmed(seed)
      const impact = measureSwing(file).positions.impact!
      expect(impact.sigma).toBeLessThan(2e-4)
      expect(Math.abs(impact.t - times.impact!)).toBeLessThan(4 * impact.sigma)
      expect(impact.basis).toContain('back at its address place, which stays on the face for some .5 ms')
    }
  })

  it('reads the address where nothing that is smoothed there reaches the takeaway', () => {
    for (const fps of [60, 120, 240]) {
      const { times, file } = filmed(3, { fps })
      const { address, takeaway } = measureSwing(file).positions
      expect(address!.t + 0.05).toBeLessThan(times.takeaway!)
      // And no earlier than that asks.
      expect(takeaway!.t - address!.t).toBeLessThan(0.05 + 2 * takeaway!.sigma + 2 / fps)
    }
  })

  it('does not blame the points of two known cameras for what their clocks are said to be off', () => {
    for (let seed = 1; seed <= 6; seed++) {
      const { file } = filmed(seed, { fps: 240, syncSigma: 0 })
      const late = { ...file, syncSigmaS: 0.002, views: [file.views[0]!, { ...file.views[1]!, frames: file.views[1]!.frames.map((frame) => ({ ...frame, t: frame.t + 0.004 })) }] }
      const allowed = prepareSwing(late as typeof file).solved.widened
      expect(allowed).toBeLessThan(1.4)
      // Points that are 6 px too low in one picture are at fault whatever the clocks.
      const low = late.views.map((view, i) => ({ ...view, frames: view.frames.map((frame) => ({ ...frame, points: Object.fromEntries(Object.entries(frame.points).map(([name, p]) => [name, [p[0], p[1] + 6 * i]])) })) }))
      expect(prepareSwing({ ...late, views: low } as unknown as typeof file).solved.widened).toBeGreaterThan(1.5 * allowed)
    }
  })
})
