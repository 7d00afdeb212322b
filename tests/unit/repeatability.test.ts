import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { fewestPlaces, fewestSwings, repeatabilityOf, type RepeatedSwing } from '../../shared/progress/repeatability.ts'
import { seededRandom, type Random } from '../../shared/signal/random.ts'
import { prepareSwing } from '../../shared/swing/measureSwing.ts'
import { isMissing } from '../../shared/swing/reading.ts'
import { repeatedSwing } from '../../shared/swing/repeatedSwing.ts'
import { noneSolved } from '../../shared/swing/solved.ts'
import { repeatedSwings } from '../fixtures/repeatedSwings.ts'

/** Swings of points about a body, each off by `repeats` and placed within `placing`. */
function made(random: Random, swings: number, points: number, repeats: number, placing: number): RepeatedSwing[] {
  const usual = Array.from({ length: points }, () => [0.6 * random.normal(), 1 + 0.5 * random.normal()] as const)
  return Array.from({ length: swings }, () => ({
    isLevel: true,
    points: new Map(usual.map(([u, v], i) => {
      const off = (): number => repeats * random.normal() + placing * random.normal()
      return [`p${i} top`, { of: `p${i}`, u: u + off(), v: v + off(), sigma: placing }]
    })),
  }))
}
const changed = (swing: RepeatedSwing, change: (u: number, v: number, sigma: number) => readonly [number, number, number]): RepeatedSwing => ({
  ...swing, points: new Map([...swing.points].map(([key, p]) => {
    const [u, v, sigma] = change(p.u, p.v, p.sigma)
    return [key, { of: p.of, u, v, sigma }]
  })),
})
const some = fc.record({ seed: fc.integer({ min: 1, max: 1e9 }), swings: fc.integer({ min: 3, max: 8 }), points: fc.integer({ min: 6, max: 20 }), repeats: fc.double({ min: 0.015, max: 0.06, noNaN: true }) })

describe('what a student repeats, from points alone', () => {
  test('does not depend on the order of the swings, the size or the lean of a picture, nor on the unit', () => {
    fc.assert(fc.property(some, fc.double({ min: 0.9, max: 1.1, noNaN: true }), fc.double({ min: -0.1, max: 0.1, noNaN: true }), ({ seed, swings, points, repeats }, size, turn) => {
      const plain = made(seededRandom(seed), swings, points, repeats, 0.004)
      const first = repeatabilityOf(plain)!
      expect(repeatabilityOf(plain.toReversed())!.m).toBeCloseTo(first.m, 6)
      const larger = repeatabilityOf(plain.map((one) => changed(one, (u, v, s) => [3 * u, 3 * v, 3 * s])))!
      expect(larger.m / 3).toBeCloseTo(first.m, 5)
      expect(larger.freedom).toBeCloseTo(first.freedom, 3)
      // One picture is nearer, another leans: the scatter is the same but for what the size does to it.
      const unmarked = plain.map((one) => ({ ...one, isLevel: false }))
      const level = repeatabilityOf(unmarked)!
      const [c, s] = [Math.cos(turn), Math.sin(turn)]
      const odd = repeatabilityOf(unmarked.with(0, changed(unmarked[0]!, (u, v, sigma) => [size * u, size * v, size * sigma])).with(1, changed(unmarked[1]!, (u, v, sigma) => [c * u - s * v, s * u + c * v, sigma])))!
      expect(Math.abs(odd.m - level.m)).toBeLessThan(0.12 * level.m + 2e-4)
    }))
  })

  test('more scatter gives more, and its error shrinks with the number of swings', () => {
    fc.assert(fc.property(fc.integer({ min: 1, max: 1e9 }), (seed) => {
      const of = (swings: number, repeats: number) => repeatabilityOf(made(seededRandom(seed), swings, 16, repeats, 0.003))!
      expect(of(5, 0.05).m).toBeGreaterThan(of(5, 0.02).m)
      expect(of(40, 0.03).sigmaM).toBeLessThan(of(4, 0.03).sigmaM)
    }))
  })

  test('scatter that placing explains is none, with what it may well be', () => {
    let none = 0
    for (let seed = 1; seed <= 60; seed++) {
      const told = repeatabilityOf(made(seededRandom(seed), 4, 16, 0, 0.01))!
      if (told.m === 0) none++
      expect(told.m).toBeLessThan(0.008)
      expect(told.sigmaM).toBeGreaterThan(0)
    }
    expect(none).toBeGreaterThan(25)
  })

  test('needs three swings that share four points at positions', () => {
    const swings = made(seededRandom(5), 3, fewestPlaces, 0.03, 0.003)
    expect(repeatabilityOf(swings)).toMatchObject({ swings: 3, places: fewestPlaces })
    expect(repeatabilityOf(swings.slice(0, fewestSwings - 1))).toBeNull()
    expect(repeatabilityOf(made(seededRandom(5), 3, fewestPlaces - 1, 0.03, 0.003))).toBeNull()
    // One swing of other points is left out and does not spoil the rest.
    const other = { isLevel: true, points: new Map([['clubhead impact', { of: 'clubhead', u: 9, v: 9, sigma: 0.003 }]]) }
    expect(repeatabilityOf([...swings, other])).toEqual(repeatabilityOf(swings))
  })
})

/** How often the stated error holds the truth, and the mean, over so many students filmed `count` times. */
function simulated(students: number, count: number, truth: number, how: Parameters<typeof repeatedSwings>[3]): { mean: number; held: number } {
  let [sum, held] = [0, 0]
  for (let k = 0; k < students; k++) {
    const swings = repeatedSwings(seededRandom(7000 + k), count, truth, how).map((file) => {
      const read = repeatedSwing(prepareSwing(file, { ...noneSolved, why: 'not asked for' }))
      if (isMissing(read)) throw new Error(read.why)
      return read
    })
    const { m, sigmaM } = repeatabilityOf(swings)!
    sum += m
    if (Math.abs(m - truth) <= sigmaM) held++
  }
  return { mean: sum / students, held: held / students }
}

describe('what a student repeats, from clips of a phone that stands still', () => {
  test.each([
    ['face-on', 0.025, { view: 'face-on' }], ['down the line', 0.025, { view: 'down-the-line' }], ['without a plumb line', 0.025, { level: false }],
    ['half of it new at each position', 0.025, { bySwing: 0.5 }], ['little', 0.01, {}], ['much', 0.05, {}],
  ] as const)('is found within its error: %s', (_, truth, how) => {
    const { mean, held } = simulated(24, 4, truth, how)
    expect(mean / truth).toBeGreaterThan(0.9)
    expect(mean / truth).toBeLessThan(1.1)
    // Of 24 at 68 %: 9 and fewer come by chance once in 500 times.
    expect(held).toBeGreaterThan(0.38)
  }, 60_000)

  test('comes out larger, never smaller, where the phone was set up anew each time', () => {
    const { mean } = simulated(16, 4, 0.025, { anew: true })
    expect(mean).toBeGreaterThan(0.025)
  }, 60_000)

  test('says what a swing lacks', () => {
    const [file] = repeatedSwings(seededRandom(3), 1, 0.02)
    const without = { ...file!, views: file!.views.map((v) => ({ ...v, frames: v.frames.map((f) => ({ ...f, points: Object.fromEntries(Object.entries(f.points).filter(([name]) => !name.endsWith('Ankle'))) })) })) }
    expect(repeatedSwing(prepareSwing(without, { ...noneSolved, why: 'not asked for' }))).toEqual({ why: expect.stringMatching(/ankle|scale/) })
  })
})
