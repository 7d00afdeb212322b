import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { apply, invert, scaleOf } from '../../shared/geometry/affine.ts'
import type { ImagePoint, Vec2 } from '../../shared/geometry/vec.ts'
import { anchors, anchorOf, fitReference, sizings, transformWords, type FitSide } from '../../shared/compare/fit.ts'
import { similarityMap, type TrackPoints } from '../../shared/walkthrough/reference.ts'

/** A player in a picture 1000 high, feet at (400, 900). */
const player: Record<string, Vec2> = {
  crown: [400, 300], leadAnkle: [450, 900], trailAnkle: [350, 900], leadKnee: [440, 760], leadHip: [430, 600], trailHip: [370, 600],
  leadShoulder: [460, 420], trailShoulder: [345, 425], leadElbow: [440, 500], leadWrist: [420, 570], hands: [415, 575], clubhead: [520, 880], ball: [535, 890],
}
const side = (points: TrackPoints, more: Partial<FitSide> = {}): FitSide => ({ width: 720, height: 1000, handedness: 'right', points, roll: null, statureM: null, metresPerPx: null, ...more })
const moved = (map: (p: Vec2) => Vec2): TrackPoints => Object.fromEntries(Object.entries(player).map(([name, p]) => [name, map(p) as ImagePoint]))
const wish = { sizeBy: 'stature', alignOn: 'feet' } as const

describe('laying a reference over the student', () => {
  it('finds the similarity that made one picture of the other, mirrored or not, by any length and on any spot', () => {
    const similarity = fc.record({ scale: fc.double({ min: 0.3, max: 3, noNaN: true }), turn: fc.double({ min: -8, max: 8, noNaN: true }), mirror: fc.boolean(), shift: fc.tuple(fc.integer({ min: -300, max: 300 }), fc.integer({ min: -300, max: 300 })) })
    fc.assert(fc.property(similarity, fc.constantFrom(...sizings.filter((by) => by !== 'world')), fc.constantFrom(...anchors), (made, sizeBy, alignOn) => {
      const back = invert(similarityMap(made))!
      const lean = (made.turn * Math.PI) / 180
      const reference = side(moved((p) => apply(back, p)), { handedness: made.mirror ? 'left' : 'right', roll: made.mirror ? lean : -lean })
      const fit = fitReference(side(moved((p) => p), { roll: 0 }), reference, { sizeBy, alignOn })
      expect(fit.lacking).toEqual([])
      expect([fit.sizedBy, fit.alignedOn, fit.levelled]).toEqual([sizeBy, alignOn, true])
      expect(fit.transform.mirror).toBe(made.mirror)
      expect(fit.transform.scale).toBeCloseTo(made.scale, 5)
      expect(fit.transform.turn).toBeCloseTo(made.turn, 3)
      const map = similarityMap(fit.transform)
      for (const name of ['crown', 'leadAnkle', 'clubhead'] as const) {
        const [x, y] = apply(map, reference.points[name]!)
        expect(Math.hypot(x - player[name]![0], y - player[name]![1])).toBeLessThan(0.2)
      }
    }))
  })

  it('puts the chosen spot on the same spot though the players differ', () => {
    const reference = side({ ...moved(([x, y]) => [x * 1.4 + 30, y * 1.2]), ball: [900, 700] })
    for (const alignOn of anchors) {
      const fit = fitReference(side(moved((p) => p)), reference, { sizeBy: 'leg', alignOn })
      const [x, y] = apply(similarityMap(fit.transform), anchorOf(reference.points, alignOn)!)
      const [tx, ty] = anchorOf(player as TrackPoints, alignOn)!
      expect(Math.hypot(x - tx, y - ty)).toBeLessThan(0.02)
    }
  })

  it('sizes by the stature in the world where both have it, and in true size keeps a taller player taller', () => {
    const own = side(moved((p) => p), { statureM: 1.6, metresPerPx: 0.0025 })
    const reference = side(moved((p) => p), { statureM: 2, metresPerPx: 0.0025 })
    expect(fitReference(own, reference, wish).transform.scale).toBeCloseTo(0.8, 6)
    expect(fitReference(own, reference, { ...wish, sizeBy: 'world' }).transform.scale).toBeCloseTo(1, 6)
  })

  it('says what it could not have, whose fault that is, and what stood in', () => {
    const { ball: _, crown: __, ...less } = moved((p) => p)
    const fit = fitReference(side(moved((p) => p)), side(less), { sizeBy: 'stature', alignOn: 'ball' })
    expect([fit.sizedBy, fit.alignedOn]).toEqual(['trunk', 'feet'])
    expect(fit.lacking[0]).toContain('the reference lacks crown (or head) and ankles. Sized by trunk')
    expect(fit.lacking[1]).toContain('the reference lacks the ball. The feet stand in')
  })

  it('lays picture on picture where nothing is placed', () => {
    const fit = fitReference(side({}), side({}, { width: 360, height: 500, handedness: 'left' }), wish)
    expect([fit.sizedBy, fit.alignedOn, fit.levelled, fit.lacking.length]).toEqual(['picture', 'picture', false, 2])
    const map = similarityMap(fit.transform)
    expect(scaleOf(map)).toBeCloseTo(2, 6)
    expect(apply(map, [0, 0])).toEqual([720, 0])
  })

  it('is told in words and numbers', () => {
    expect(transformWords({ scale: 1.123, turn: -1.26, mirror: true, shift: [3, 4] })).toBe('1.12 times as large, turned 1.3\u00b0 anticlockwise, mirrored')
    expect(transformWords({ scale: 1.001, turn: 0.01, mirror: false, shift: [0, 0] })).toBe('as large as filmed')
  })
})
