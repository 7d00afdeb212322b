import { describe, expect, it } from 'vitest'
import { coverage, type Run } from '../fixtures/coverage.ts'
import { digitise, randomCamera, recordedSwing } from '../fixtures/swingSim.ts'
import { measureSwing } from '../../shared/swing/measureSwing.ts'
import { measures } from '../../shared/swing/registry.ts'
import { seededRandom } from '../../shared/signal/random.ts'

const main: Run = {
  swings: 110, seed: 7, source: 'parametric', views: ['face-on', 'down-the-line'],
  how: { sigmaPx: 1.5, fps: 120, syncSigma: 0.002, matrices: true, positionSigma: 0.003 },
}

/**
 * Readings of one swing share its errors, so that a measure counts as one case a swing. With n swings the share that
 * holds is itself known to 2.6 standard deviations (99 %): what is asked is 63 to 73 % within that. The nightly run of
 * 2000 swings asks for 63 to 73 % without it.
 */
const band = (n: number, share = 0.683) => 2.6 * Math.sqrt((share * (1 - share)) / n)

describe('errors are honest', { timeout: 600_000 }, () => {
  it('the 68 % interval of every measure holds the truth 63 to 73 % of the time', () => {
    const tallies = coverage(main)
    // All but those that rest on the given camera matrices alone, and so have no error.
    const exact = ['camera-yaw', 'camera-roll', 'camera-height', 'camera-distance']
    expect([...tallies.keys()].toSorted()).toEqual(measures.map((m) => m.id).filter((id) => !exact.includes(id)).toSorted())
    for (const [id, t] of tallies) expect(t.all, id).toBeGreaterThan(id === 'shaft-crossing-trail-arm' ? 20 : 0.8 * main.swings)
    const slack = band(main.swings)
    let held = 0
    let all = 0
    for (const [id, t] of tallies) {
      held += t.held
      all += t.all
      // A measure that is often refused has fewer cases still.
      const wide = Math.max(slack, band(Math.min(t.all, main.swings)))
      expect(t.held / t.all, `${id}: ${t.held} of ${t.all}`).toBeGreaterThan(0.63 - wide)
      expect(t.held / t.all, `${id}: ${t.held} of ${t.all}`).toBeLessThan(0.73 + wide)
    }
    expect(held / all).toBeGreaterThan(0.64)
    expect(held / all).toBeLessThan(0.72)
  })

  it('one camera alone, not known, holds the truth as often: perspective and depth are counted', () => {
    // Depths are drawn point by point, which leaves no rigid club: what solves a camera from it is counted elsewhere.
    const without = /^camera-|^shaft-(?:azimuth|elevation|short|plane)/
    for (const view of ['face-on', 'down-the-line'] as const) {
      const run: Run = { ...main, swings: 28, seed: 10, views: [view], varied: true, without, how: { ...main.how, matrices: false } }
      let [held, all] = [0, 0]
      for (const [id, t] of coverage(run)) {
        held += t.held
        all += t.all
        const wide = band(Math.min(t.all, run.swings))
        expect(t.held / t.all, `${view} ${id}: ${t.held} of ${t.all}`).toBeGreaterThan(0.63 - wide)
        expect(t.held / t.all, `${view} ${id}: ${t.held} of ${t.all}`).toBeLessThan(0.73 + wide)
        expect(t.within2 / t.all, `${view} ${id}: ${t.within2} of ${t.all} within two`).toBeGreaterThan(0.93 - band(run.swings, 0.95))
      }
      expect(held / all).toBeGreaterThan(0.63)
      expect(held / all).toBeLessThan(0.74)
    }
  })

  it.each([['parametric', 60], ['other', 120], ['parametric', 30]] as const)('with positions that the program finds (%s swings, %d frames a second) they hold it as often, the positions too', (source, fps) => {
    const run: Run = { ...main, source, swings: 60, seed: 8, how: { ...main.how, fps, positionSigma: null } }
    const tallies = coverage(run)
    const wide = band(run.swings)
    // At 30 a second what lies between frames is the most of many errors, and is not known to better than a half.
    const loose = fps === 30 ? 0.15 : 0
    let [held, all, within2] = [0, 0, 0]
    for (const [id, t] of tallies) {
      held += t.held
      all += t.all
      within2 += t.within2
      if (t.all < 0.5 * run.swings) continue
      expect(t.held / t.all, `${id}: ${t.held} of ${t.all}`).toBeGreaterThan(0.63 - wide)
      // What the search takes swings to differ by, those of one kind need not.
      expect(t.held / t.all, `${id}: ${t.held} of ${t.all}`).toBeLessThan(0.73 + wide + (/time|tempo|position/.test(id) ? 0.1 : loose))
      expect(t.within2 / t.all, `${id}: ${t.within2} of ${t.all} within two`).toBeGreaterThan(0.93 - band(run.swings, 0.93) - loose / 3)
    }
    expect(held / all).toBeGreaterThan(0.63)
    expect(held / all).toBeLessThan(0.75)
    expect(within2 / all).toBeGreaterThan(0.93)
    for (const name of ['takeaway', 'shaft-level-back', 'lead-arm-level-back', 'top', 'lead-arm-level-down', 'shaft-level-down', 'impact', 'shaft-level-through'])
      expect(tallies.get(`position ${name}`)!.all, name).toBeGreaterThan((fps === 30 ? 0.75 : 0.9) * run.swings)
  })

  // Takeaway, top and impact as published with the recording, each to its frame.
  it.skipIf(!recordedSwing(seededRandom(1)))('on the recorded motion takeaway, top and impact are found where they were published', () => {
    const frame = 1 / 120
    const published = { takeaway: 92 * frame, top: 208 * frame, impact: 280 * frame } as const
    const random = seededRandom(12)
    for (let i = 0; i < 8; i++) {
      const motion = recordedSwing(random)!
      const cameras = main.views.map((view) => randomCamera(view, random))
      const { positions } = measureSwing(digitise(motion, cameras, random, { ...main.how, positionSigma: null }, {}))
      for (const name of ['takeaway', 'top', 'impact'] as const)
        expect(Math.abs(positions[name]!.t - published[name]), name).toBeLessThan(3 * Math.hypot(positions[name]!.sigma, frame / Math.sqrt(12)))
    }
  })

  // Joints: CMU Graphics Lab Motion Capture Database, through four random cameras and more with noise; club by our own code.
  it.skipIf(!recordedSwing(seededRandom(1)))('on a recorded motion every measure is within two errors in at least 93 % of cases', () => {
    const run: Run = { ...main, swings: 30, seed: 9, source: 'recorded' }
    for (const [id, t] of coverage(run)) expect(t.within2 / t.all, `${id}: ${t.within2} of ${t.all}`).toBeGreaterThan(0.93 - band(run.swings, 0.95))
  })
})
