import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { markSchema } from '../../shared/markup/mark.ts'
import { differencesOf, differenceWords, isOfFilming, sureWords } from '../../shared/compare/differences.ts'
import { measureRecords } from '../../shared/compare/measureRecords.ts'
import { isOfPin, isOnPins, keyOfPin, marksOfPin, pinId, pinKey, pinsMeet } from '../../shared/compare/pins.ts'
import { trackOf } from '../../shared/compare/track.ts'
import type { MeasureResult, SwingResult } from '../../shared/swing/measureSwing.ts'
import { trackAt } from '../../shared/walkthrough/reference.ts'
import { allFrames, filmedSwing } from '../fixtures/digitisedSwing.ts'

const row = (more: Partial<MeasureResult>): MeasureResult => {
  const { value = 0, sigma = 1 } = more
  return { id: 'inclination', view: 'down-the-line', at: 'top', unit: 'deg', value, sigma, lo: value - sigma, hi: value + sigma, basis: '', ...more }
}
const result = (measures: readonly MeasureResult[], missing: SwingResult['missing'] = []): SwingResult => ({ format: 'crossbearing-measures', version: 1, positions: {}, measures, missing })

describe('differences', () => {
  it('are the student less the reference with both errors, the surest first and not the largest', () => {
    const own = result([row({ value: 50, sigma: 10 }), row({ at: 'impact', value: 12, sigma: 0.3 }), row({ at: 'address', value: 3, sigma: 2 })])
    const other = result([row({ value: 20, sigma: 24 }), row({ at: 'impact', value: 10, sigma: 0.4 }), row({ at: 'address', value: 2, sigma: 2 })])
    const { differences, missing } = differencesOf(own, other)
    expect(differences.map(({ at, value }) => [at, value])).toEqual([['impact', 2], ['top', 30], ['address', 1]])
    for (const [i, sigma] of [0.5, 26, Math.hypot(2, 2)].entries()) expect(differences[i]!.sigma).toBeCloseTo(sigma, 9)
    expect(differences.map(({ exceeds }) => exceeds)).toEqual([true, true, false])
    expect(differences.map(sureWords)).toEqual(['sure', 'more than its error', 'within its error'])
    expect(missing).toEqual([])
  })

  it('take the sides that face one another where errors are unequal', () => {
    const { differences: [one] } = differencesOf(result([row({ value: 10, sigma: 2, lo: 9, hi: 14 })]), result([row({ value: 4, sigma: 2, lo: 0, hi: 5 })]))
    expect(one!.sigma).toBeCloseTo(Math.SQRT2, 9)
    const { differences: [two] } = differencesOf(result([row({ value: 4, sigma: 2, lo: 0, hi: 5 })]), result([row({ value: 10, sigma: 2, lo: 9, hi: 14 })]))
    expect(two!.sigma).toBeCloseTo(Math.SQRT2, 9)
    expect(two!.value).toBe(-6)
  })

  it('turn over when the two change places, and are nothing against oneself', () => {
    const measure = fc.record({ value: fc.double({ min: -170, max: 170, noNaN: true }), down: fc.double({ min: 0.01, max: 9, noNaN: true }), up: fc.double({ min: 0.01, max: 9, noNaN: true }) })
      .map(({ value, down, up }) => row({ value, lo: value - down, hi: value + up, sigma: (down + up) / 2 }))
    fc.assert(fc.property(measure, measure, (a, b) => {
      const [one, two] = [differencesOf(result([a]), result([b])).differences[0]!, differencesOf(result([b]), result([a])).differences[0]!]
      expect(one.value).toBeCloseTo(-two.value, 9)
      expect(one.sigma).toBeCloseTo(two.sigma, 9)
      expect(Math.abs(one.value)).toBeLessThanOrEqual(180)
      expect(differencesOf(result([a]), result([a])).differences[0]).toMatchObject({ value: 0, times: 0, exceeds: false })
    }))
  })

  it('name what one lacks and why, and compare what is no view\u2019s own across views', () => {
    const own = result([row({ id: 'tempo-ratio', view: null, at: 'swing', unit: 'ratio', value: 3, sigma: 0.1 }), row({})], [{ id: 'shaft-azimuth', view: null, at: 'top', why: 'needs both views' }])
    const other = result([row({ id: 'tempo-ratio', view: 'face-on', at: 'swing', unit: 'ratio', value: 2.5, sigma: 0.1 }), row({ id: 'shaft-azimuth', view: 'down-the-line', value: 4 })], [{ id: 'inclination', view: 'down-the-line', at: 'top', why: 'hips are not placed' }])
    const { differences, missing } = differencesOf(own, other)
    expect(differences.map(({ id }) => id)).toEqual(['tempo-ratio'])
    expect(missing).toEqual([
      { id: 'inclination', view: 'down-the-line', at: 'top', own: null, reference: 'hips are not placed' },
      { id: 'shaft-azimuth', view: 'down-the-line', at: 'top', own: 'needs both views', reference: null },
    ])
    // An angle of one view is not compared with that of another.
    expect(differencesOf(result([row({ id: 'lead-wrist-angle', view: 'face-on' })]), result([row({ id: 'lead-wrist-angle', view: 'down-the-line' })])).differences).toEqual([])
  })

  it('read as a coach writes them, and tell the cameras from the swings', () => {
    expect(differenceWords({ value: -6.81, sigma: 1.72, unit: 'deg' })).toBe('\u22126.8 \u00b1 1.7\u00b0')
    expect(differenceWords({ value: 14.2, sigma: 11, unit: 'mm' })).toBe('+14 \u00b1 11 mm')
    expect(['camera-yaw', 'ray-gap', 'inclination'].map((id) => isOfFilming({ id }))).toEqual([true, true, false])
  })
})

describe('two measured swings', () => {
  const film = filmedSwing(7)
  const other = filmedSwing(11, [60, 60])
  const measured = (one: typeof film) => {
    const found = measureRecords(one.swing([...allFrames(one, 0), ...allFrames(one, 1)]))
    if (found.kind !== 'measured') throw new Error(found.reasons.join())
    return found.result
  }

  it('of different rates have their differences; a swing against itself has none', () => {
    const [a, b] = [measured(film), measured(other)]
    const { differences } = differencesOf(a, b)
    expect(differences.length).toBeGreaterThan(40)
    for (const [i, one] of differences.entries()) if (i > 0) expect(one.times).toBeLessThanOrEqual(differences[i - 1]!.times)
    expect(differences.some(({ exceeds }) => exceeds)).toBe(true)
    expect(differencesOf(a, a).differences.every(({ value, exceeds }) => value === 0 && !exceeds)).toBe(true)
  })

  it('are pinned as marks that lie on the line they were read from, with captions, at their position', () => {
    const { differences } = differencesOf(measured(film), measured(other))
    const clip = film.clips[0]!
    const records = film.records(allFrames(film, 0))
    const track = trackOf(records, clip.id)!
    const tick = clip.frames.ticks[film.frameNear(0, film.motion.events.top!)]!
    const points = trackAt(track, tick, 0)
    const arm = differences.find(({ id, at }) => id === 'lead-arm-to-vertical' && at === 'top')!
    const place = { clip, tick, points, address: trackAt(track, clip.frames.ticks[0]!, 0), reference: points, transform: { scale: 1, turn: 0, mirror: false, shift: [10, 0] as const }, index: 0, crowded: false, order: 5 }
    const marks = marksOfPin(arm, place)
    expect(marks.map((mark) => markSchema.safeParse(mark).success)).toEqual([true, true])
    const [beside, own] = marks
    expect(own).toMatchObject({ id: pinId(clip.id, arm), shape: 'segment', points: [points.leadShoulder, points.leadWrist], ink: 'plain' })
    expect(own!.text).toContain('reference')
    expect(own!.span!.from).toBeLessThanOrEqual(tick)
    expect(own!.span!.to).toBeGreaterThanOrEqual(tick)
    expect(beside).toMatchObject({ ink: 'reference', dashed: true, text: '' })
    expect(beside!.points[0]![0]).toBeCloseTo(points.leadShoulder![0] + 10, 6)
    expect(marks.map(({ id }) => keyOfPin(clip.id, id))).toEqual([null, pinKey(arm)])
    expect(marks.every(({ id }) => isOfPin(pinKey(arm), id))).toBe(true)
    expect(keyOfPin(clip.id, `${clip.id}/inclination/3`)).toBeNull()
    // Where another shows at the same time, the caption stands apart and the line keeps its place.
    const apart = marksOfPin(arm, { ...place, crowded: true, index: 1 })
    expect(apart.map(({ shape, text }) => [shape, text === ''])).toEqual([['segment', true], ['segment', true], ['dot', false]])
    expect(apart.map(({ id }) => keyOfPin(clip.id, id))).toEqual([null, null, pinKey(arm)])
    // Whether two do is as their marks show.
    for (let later = tick; later <= clip.frames.ticks.at(-1)!; later += Math.round(clip.frames.timescale / 50)) {
      const [span, other] = [own!.span!, marksOfPin(arm, { ...place, tick: later }).at(-1)!.span!]
      if (Math.abs(other.from - span.to) > 1) expect(pinsMeet(clip, tick, later)).toBe(other.from <= span.to)
    }
    expect(pinsMeet(clip, tick, null)).toBe(true)
    expect(marks.every(({ id }) => isOnPins(clip.id, id))).toBe(true)
    expect(isOnPins(clip.id, `${clip.id}/inclination/3`)).toBe(false)
  })

  it('without points are pinned as words at the side, under one another, throughout for a measure of the whole swing', () => {
    const { differences } = differencesOf(measured(film), measured(other))
    const clip = film.clips[0]!
    const tempo = differences.find(({ at }) => at === 'swing')!
    const place = { clip, tick: null, points: {}, address: {}, reference: {}, transform: { scale: 1, turn: 0, mirror: false, shift: [0, 0] as const }, crowded: false, order: 1 }
    const [one, two] = [0, 1].map((index) => marksOfPin(tempo, { ...place, index })[0]!)
    expect([one!.shape, one!.span]).toEqual(['dot', null])
    expect(two!.points[0]![1]).toBeGreaterThan(one!.points[0]![1])
  })
})
