import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { clubEndSigma } from '../../shared/camera/solve/priors.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { exact } from '../../shared/signal/uncertain.ts'
import { headHeight, leavingOf, leavingWords } from '../../shared/swing/measures/headBox.ts'
import { measureSwing } from '../../shared/swing/measureSwing.ts'
import { randomRig } from '../fixtures/rigs.ts'
import { digitise, parametricSwing, randomCamera, type Motion } from '../fixtures/swingSim.ts'

/** A way at a steady speed from a start on. */
const steady = (u: number, v: number, start: number, seconds = 2) => {
  const at = Array.from({ length: 60 * seconds }, (_, k) => (k + 1) / 60)
  const along = (speed: number): number[] => at.map((t) => speed * Math.max(0, t - start))
  return { at, u: along(u), v: along(v), sigma: 0.002, share: 0 }
}

describe('a head and its box', () => {
  it('is left at the side and the instant at which the way passes its edge, whatever the way', () => {
    fc.assert(fc.property(fc.double({ min: -1, max: 1, noNaN: true }), fc.double({ min: -1, max: 1, noNaN: true }), fc.double({ min: 0.05, max: 0.2, noNaN: true }), fc.double({ min: 0, max: 0.5, noNaN: true }), (u, v, half, start) => {
      const fast = Math.max(Math.abs(u), Math.abs(v))
      const left = leavingOf(steady(u, v, start), half, 0)
      const due = start + half / fast
      if (due > 2) {
        expect(left).toBeNull()
        return
      }
      // Between two of its places the way is a straight line, bent where it begins.
      expect(Math.abs(left!.t - due)).toBeLessThan(half / fast < 1 / 60 ? 1 / 60 : 1e-9)
      if (Math.abs(Math.abs(u) - Math.abs(v)) > 1e-3) expect(left!.side).toBe(Math.abs(u) > Math.abs(v) ? (u > 0 ? 'u' : '-u') : v > 0 ? 'v' : '-v')
    }), { seed: 3 })
  })

  it('is left later where it is larger, and its instant is known the better the faster it is passed', () => {
    const [slow, fast] = [leavingOf(steady(0.2, 0, 0), 0.1, 0)!, leavingOf(steady(0.4, 0, 0), 0.1, 0)!]
    expect(slow.sigma / fast.sigma).toBeCloseTo(2, 6)
    expect(slow.sigma).toBeCloseTo(0.002 / 0.2, 6)
    expect(leavingOf(steady(0.2, 0, 0), 0.12, 0)!.t).toBeGreaterThan(slow.t)
    // A scale that is 2 % off moves the edge by 2 % of its distance.
    expect(leavingOf({ ...steady(0.2, 0, 0), sigma: 0, share: 0.02 }, 0.1, 0)!.sigma).toBeCloseTo((0.02 * 0.1) / 0.2, 6)
  })

  it('says in words where, when and between which positions it is left, or that it is not', () => {
    const positions = Object.fromEntries((['address', 'takeaway', 'top', 'impact'] as const).map((name, i) => [name, { t: exact([0.1, 0.3, 1.2, 1.5][i]!), basis: 'given' }]))
    const half = (headHeight * 1.8) / 2
    const way = steady(-half, 0, 0.3)
    expect(leavingWords(way, 1.8, 'face-on', positions)).toMatch(/^the head leaves its box away from the target, 1\.20 \+- 0\.02 s after address, between top and impact$/)
    expect(leavingWords(steady(0, -half, 0.5), 1.8, 'down-the-line', positions)).toMatch(/downward/)
    expect(leavingWords(steady(half, 0, 0.5), 1.8, 'down-the-line', positions)).toMatch(/toward the ball/)
    expect(leavingWords(steady(half / 2, 0, 0.5), 1.8, 'face-on', positions)).toBe('the head stays in its box')
    expect(leavingWords(steady(half, 0, 1.005), 1.8, 'face-on', positions)).toBe('the head stays in its box, by less than its error')
    // One that creeps over the edge does so at no instant worth telling.
    expect(leavingWords({ ...steady(half * 0.52, 0, 0), sigma: 0.03 }, 1.8, 'face-on', positions)).toMatch(/at an instant that its error leaves open/)
  })

  it('is left in a digitised swing when the head was made to leave it, by the error it states', () => {
    const random = seededRandom(11)
    const swings = 14
    let held = 0
    for (let i = 0; i < swings; i++) {
      const base = parametricSwing(random)
      const [start, speed] = [base.events.takeaway! + 0.1, 0.2 + 0.2 * random.uniform()]
      const motion: Motion = { ...base, at: (t) => {
        const still = base.at(0)
        const push = -speed * Math.max(0, t - start)
        return { ...base.at(t), head: [still.head![0] + push, still.head![1], still.head![2]] }
      } }
      const cameras = (['face-on', 'down-the-line'] as const).map((view) => randomCamera(view, random))
      const file = digitise(motion, cameras, random, { sigmaPx: 1.5, fps: 120, syncSigma: 0.002, matrices: true, positionSigma: 0.003 }, motion.events)
      const rows = measureSwing(file).measures.filter((m) => m.id === 'head-excursion')
      const row = rows.find((m) => m.view === 'face-on')!
      const told = /the head leaves its box away from the target, ([\d.]+) \+- ([\d.]+) s after address, between [a-z -]+ and [a-z -]+$/.exec(row.basis)
      expect(told, row.basis).not.toBeNull()
      const due = start + (headHeight * motion.statureM) / 2 / speed - motion.events.address!
      // Told to the hundredth.
      if (Math.abs(Number(told![1]) - due) <= Number(told![2]) + 0.005) held++
      expect(Math.abs(Number(told![1]) - due)).toBeLessThan(0.06)
      expect(rows.find((m) => m.view === 'down-the-line')!.basis).toMatch(/the head stays in its box/)
    }
    expect(held / swings).toBeGreaterThan(0.55)
  })

  it('gets as far as it states through solved cameras, within what a club off its label does to them', () => {
    const { file } = randomRig(seededRandom(3), { sigmaPx: 0.2 })
    const excursions = (longer: number) => measureSwing({ ...file, club: { lengthM: file.club!.lengthM! + longer } }).measures.filter((m) => m.id === 'head-excursion')
    const [stated, longer] = [excursions(0), excursions(clubEndSigma)]
    expect(stated).toHaveLength(2)
    for (const [k, { value, sigma }] of stated.entries()) expect(Math.abs(longer[k]!.value - value)).toBeLessThan(1.3 * sigma)
  })
})
