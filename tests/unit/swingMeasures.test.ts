import fc from 'fast-check'
import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { levelFromHorizon, levelFromPlumb } from '../../shared/camera/level.ts'
import { ballDiameter, combineScales, scaleFromBall, scaleFromClub, scaleFromStature, scaleFromTwoPoints, usualClubLengths } from '../../shared/camera/scale.ts'
import type { Vec3 } from '../../shared/geometry/vec.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { add, covariance, divide, exact, measured, propagate, sigmaOf, Sources, subtract } from '../../shared/signal/uncertain.ts'
import { meetingShare } from '../../shared/swing/measures/downTheLine.ts'
import type { Plain } from '../../shared/swing/definition.ts'
import { isMissing } from '../../shared/swing/reading.ts'
import { measures, measuresTable } from '../../shared/swing/registry.ts'
import { carryToLevel, slopeOf, turnAxis } from '../../shared/swing/shaftAtLevel.ts'
import { blendAt, dot, sampleTrack, type Track } from '../../shared/swing/track.ts'

const rad = Math.PI / 180

describe('numbers that know where their error comes from', () => {
  const sources = new Sources()
  const a = measured(3, 0.3, sources.fresh())
  const b = measured(4, 0.4, sources.fresh())
  it('add independent errors by their squares, and drop shared ones', () => {
    expect(sigmaOf(add(a, b))).toBeCloseTo(0.5, 12)
    expect(sigmaOf(subtract(add(a, b), b))).toBeCloseTo(0.3, 12)
    expect(sigmaOf(subtract(a, a))).toBe(0)
    expect(covariance(add(a, b), a)).toBeCloseTo(0.09, 12)
  })
  it('pass through functions by their slope', () => {
    const [length, ratio] = propagate(([x, y]) => [Math.hypot(x!, y!), x! / y!], [a, b])
    expect(length!.value).toBe(5)
    expect(sigmaOf(length!)).toBeCloseTo(Math.hypot(0.6 * 0.3, 0.8 * 0.4), 3)
    expect(sigmaOf(ratio!)).toBeCloseTo(sigmaOf(divide(a, b)), 3)
  })
  it('give a source of a name once', () => expect(sources.of('x')).toBe(sources.of('x')))
})

/** A track of f on `count` frames at `fps`, sigma 1 px, sources from 0. */
const trackOf = (f: (t: number) => readonly [number, number], count: number, fps: number): Track => {
  const times = Float64Array.from({ length: count }, (_, i) => i / fps)
  return { times, x: times.map((t) => f(t)[0]), y: times.map((t) => f(t)[1]), sigma: times.map(() => 1), source: 0 }
}

describe('reading a track between frames', () => {
  it('is exact for a cubic, and smooths where it may', () => {
    const track = trackOf((t) => [100 + 40 * t - 9 * t * t + 3 * t ** 3, 50 - 20 * t], 60, 120)
    const blend = blendAt(track, 0.2537)!
    expect(blend.how).toBe('smoothed')
    expect(dot(blend.weights, track.x, blend.start)).toBeCloseTo(100 + 40 * 0.2537 - 9 * 0.2537 ** 2 + 3 * 0.2537 ** 3, 8)
    const sample = sampleTrack(track, exact(0.2537), () => 9999)!
    expect(sigmaOf(sample.x)).toBeLessThan(0.6)
    expect(sample.rate![1]).toBeCloseTo(-20, 6)
  })
  it('does not smooth away a fast arc, and says what interpolating may miss', () => {
    const arc = (t: number) => [500 + 400 * Math.cos(40 * t), 500 + 400 * Math.sin(40 * t)] as const
    const track = trackOf(arc, 60, 120)
    const t = 0.2542
    const blend = blendAt(track, t)!
    expect(blend.how).toBe('interpolated')
    const off = Math.hypot(dot(blend.weights, track.x, blend.start) - arc(t)[0], dot(blend.weights, track.y, blend.start) - arc(t)[1])
    expect(off).toBeLessThan(3 * blend.bias + 0.1)
    const slow = blendAt(trackOf(arc, 15, 30), t)!
    expect(slow.bias).toBeGreaterThan(10 * blend.bias)
  })
  it('between two frames alone says that too, and beyond them nothing', () => {
    const track = trackOf((t) => [1000 * t, 0], 2, 30)
    expect(blendAt(track, 0.01)!.how).toBe('two frames')
    expect(blendAt(track, 0.01)!.bias).toBeGreaterThan(0)
    expect(blendAt(track, 0.2)).toBeNull()
    expect(blendAt(trackOf(() => [3, 4], 1, 30), 0)!.how).toBe('one frame')
  })
  it('an uncertain instant moves a moving point', () => {
    const track = trackOf((t) => [1000 * t, 0], 60, 120)
    const sources = new Sources()
    sources.block(240)
    const still = sampleTrack(track, exact(0.25), () => sources.fresh())!
    const late = sampleTrack(track, measured(0.25, 0.01, sources.fresh()), () => sources.fresh())!
    expect(sigmaOf(late.x) ** 2 - sigmaOf(still.x) ** 2).toBeCloseTo(100, 3)
  })
  it('holds its stated error against noise', () => {
    const random = seededRandom(3)
    let inside = 0
    const runs = 800
    for (let i = 0; i < runs; i++) {
      const f = (t: number) => [300 * Math.sin(5 * t), 200 * Math.cos(4 * t)] as const
      const clean = trackOf(f, 60, 120)
      const track = { ...clean, x: clean.x.map((v) => v + random.normal()), y: clean.y.map((v) => v + random.normal()) }
      const at = 0.15 + 0.2 * random.uniform()
      const s = sampleTrack(track, exact(at), () => 9999)!
      if (Math.abs(s.x.value - f(at)[0]) <= sigmaOf(s.x)) inside++
    }
    expect(inside / runs).toBeGreaterThan(0.63)
    expect(inside / runs).toBeLessThan(0.735)
  })
})

describe('the shaft carried to level', () => {
  /** A shaft in a plane of slope beta through the target line, gamma short of pointing along it. */
  const stopped = (beta: number, gamma: number): Vec3[] =>
    [70, 50, 30, 10, 0].map((more) => {
      const g = (gamma + more) * rad
      return [Math.cos(g), Math.sin(g) * Math.sin(beta * rad), -Math.sin(g) * Math.cos(beta * rad)]
    })
  // Computed from the stated formulas: elevation asin(sin gamma sin beta), azimuth -atan(tan gamma cos beta).
  it.each([[50, 30, 22.521, -20.361], [45, 20, 13.995, -14.433]])('slope %d, %d short: elevation %d, azimuth %d, at level 0', (beta, gamma, elevation, azimuth) => {
    const path = stopped(beta, gamma)
    const top = path.at(-1)!
    expect(Math.asin(top[1]) / rad).toBeCloseTo(elevation, 3)
    expect(Math.atan2(top[2], top[0]) / rad).toBeCloseTo(azimuth, 3)
    const axis = turnAxis(path)
    const unit = axis.map((v) => v / Math.hypot(...axis)) as unknown as Vec3
    expect(slopeOf(axis) / rad).toBeCloseTo(beta, 9)
    const level = carryToLevel(top, unit)!
    expect(level.short / rad).toBeCloseTo(gamma, 9)
    expect(level.azimuth / rad).toBeCloseTo(0, 9)
    // Seen face-on the picture shows another angle still (same source).
    if (beta === 50) expect(Math.atan2(top[1], top[0]) / rad).toBeCloseTo(23.859, 3)
  })
  it('without bias over random planes and stops up to 45 degrees short or past', () => {
    fc.assert(
      fc.property(fc.double({ min: 30, max: 75, noNaN: true }), fc.double({ min: -45, max: 45, noNaN: true }), fc.double({ min: -30, max: 30, noNaN: true }), (beta, gamma, aim) => {
        const c = Math.cos(aim * rad)
        const s = Math.sin(aim * rad)
        const path = stopped(beta, gamma).map(([x, y, z]): Vec3 => [x * c - z * s, y, x * s + z * c])
        const axis = turnAxis(path)
        const level = carryToLevel(path.at(-1)!, axis.map((v) => v / Math.hypot(...axis)) as unknown as Vec3)!
        expect(level.short / rad).toBeCloseTo(gamma, 6)
        expect(level.azimuth / rad).toBeCloseTo(aim, 6)
      }),
    )
  })
  it('is none where the shaft turns about the vertical', () => expect(carryToLevel([1, 0.2, 0], [0, 1, 0])).toBeNull())
})

describe('scale and level', () => {
  it('from the ball: 42.67 mm (R&A and USGA, Equipment Rules, Part 4)', () => {
    expect(ballDiameter * 1000).toBeCloseTo(1.68 * 25.4, 2)
    const s = scaleFromBall(16, 0.5, 0)
    expect(s.metresPerPx * 1000).toBeCloseTo(2.667, 3)
    expect(s.sigma / s.metresPerPx).toBeCloseTo((Math.SQRT2 * 0.5) / 16, 9)
  })
  it('usual club lengths are between the shortest and the longest allowed (Rule 2.1c)', () => {
    for (const metres of Object.values(usualClubLengths)) {
      expect(metres).toBeGreaterThan(0.4572)
      expect(metres).toBeLessThan(1.2192)
    }
    // 37 in for a 7-iron: common practice, no source.
    expect(usualClubLengths['7-iron']! / 0.0254).toBeCloseTo(37, 1)
  })
  it('several scales together are surer than each, unless they disagree', () => {
    const a = scaleFromTwoPoints(1, 400, 1)
    const b = scaleFromStature(1.8, 1.8 * (0.855 - 0.039) * 400, 1, 'head')
    expect(combineScales([a, b])!.metresPerPx).toBeCloseTo(1 / 400, 6)
    expect(combineScales([a, b])!.sigma).toBeLessThan(a.sigma)
    const off = scaleFromTwoPoints(1.2, 400, 1)
    expect(combineScales([a, off])!.sigma).toBeGreaterThan(10 * a.sigma)
    expect(combineScales([])).toBeNull()
    expect(scaleFromClub(0.94, 300, 1, 'face-on', 55 * rad, 4 * rad).sigma).toBeGreaterThan(scaleFromClub(0.94, 300, 1, 'down-the-line', 55 * rad, 4 * rad).sigma)
  })
  it('a picture turned 3 degrees is levelled by 3 degrees, from either mark', () => {
    const up = [Math.sin(3 * rad), -Math.cos(3 * rad)] as const
    const plumb = levelFromPlumb([500, 1500], [500 + 1000 * up[0], 1500 + 1000 * up[1]], 1, 0, 1600)
    expect(plumb.roll / rad).toBeCloseTo(3, 9)
    expect(levelFromPlumb([500 + 1000 * up[0], 1500 + 1000 * up[1]], [500, 1500], 1, 0, 1600).roll / rad).toBeCloseTo(3, 9)
    const horizon = levelFromHorizon([100, 700], [100 + 800 * Math.cos(3 * rad), 700 + 800 * Math.sin(3 * rad)], 1)
    expect(horizon.roll / rad).toBeCloseTo(3, 9)
    expect(plumb.sigma / rad).toBeCloseTo((Math.SQRT2 / 1000) / rad, 6)
    expect(levelFromPlumb([900, 1500], [900, 500], 1, 400, 1600).sigma).toBeGreaterThan(5 * plumb.sigma)
  })
})

describe('what each measure says', () => {
  const of = (id: string, points: Plain[], at: string): number => {
    const m = measures.find((d) => d.id === id)!.planar!
    const value = m.value(points, at as never)
    if (isMissing(value)) throw new Error(value.why)
    return value
  }
  it('keeps to its sign', () => {
    // Face-on, u toward the target: an arm hanging, level away from the target, straight up.
    expect(of('lead-arm-to-vertical', [[0, 1.4], [0, 0.8]], 'address')).toBeCloseTo(0, 9)
    expect(of('lead-arm-to-vertical', [[0, 1.4], [-0.6, 1.4]], 'top')).toBeCloseTo(90, 9)
    expect(of('lead-arm-to-vertical', [[0, 1.4], [-0.01, 2]], 'top')).toBeCloseTo(179, 0)
    // A shaft pointing at the target at the top has turned by 270, after impact by -90.
    expect(of('shaft-to-vertical', [[0, 1.7], [1, 1.7]], 'top')).toBeCloseTo(270, 9)
    expect(of('shaft-to-vertical', [[0, 0.9], [1, 0.9]], 'shaft-level-through')).toBeCloseTo(-90, 9)
    expect(of('hip-shift', [[0.05, 0.9], [0, 0.9]], 'impact')).toBeCloseTo(50, 9)
    expect(of('lead-shoulder-drop', [[0, 1.3], [0, 1.37]], 'top')).toBeCloseTo(70, 9)
    expect(of('lead-shoulder-path', [[-0.1, 1.3], [0, 1.4]], 'top')).toBeCloseTo(45, 9)
    expect(of('shoulder-line-tilt', [[-0.2, 1.4], [0.2, 1.45]], 'address')).toBeGreaterThan(0)
    expect(of('ball-in-stance', [[0.23, 0], [-0.23, 0], [0.23, 0]], 'address')).toBeCloseTo(1, 9)
    // Down the line, u toward the ball: bent toward it, standing up, a club that falls toward it.
    expect(of('inclination', [[0, 0.9], [0.4, 0.9 + 0.4]], 'address')).toBeCloseTo(45, 9)
    expect(of('inclination-change', [[0, 0.9], [0.2, 1.4], [0, 0.9], [0.4, 1.3]], 'impact')).toBeLessThan(0)
    expect(of('shaft-pitch', [[0.3, 0.8], [0.9, 0.02]], 'address')).toBeCloseTo(52.4, 1)
    expect(of('shaft-pitch', [[0, 1.2], [-0.5, 1.9]], 'lead-arm-level-down')).toBeCloseTo(54.5, 1)
    expect(of('shaft-to-shaft-line', [[0, 1.2], [-0.3, 1.9], [0.3, 0.8], [0.9, 0.02]], 'lead-arm-level-down')).toBeGreaterThan(0)
    expect(of('trail-elbow-out', [[0, 1.4], [-0.15, 1.2]], 'top')).toBeCloseTo(150, 9)
    expect(of('trail-elbow-below-shoulder', [[0, 1.4], [-0.15, 1.2]], 'top')).toBeCloseTo(200, 9)
    expect(of('arm-to-chest-gap', [[0.3, 1.2], [0, 0.9], [0, 1.4]], 'top')).toBeCloseTo(300, 9)
    expect(of('lead-elbow-bend', [[0, 1.4], [-0.3, 1.4], [-0.5, 1.6]], 'top')).toBeCloseTo(45, 9)
  })
  it('the shaft meets the trail upper arm 0 at the shoulder, 1 at the elbow, beyond where it must', () => {
    const shoulder: Plain = [0, 1.4]
    const elbow: Plain = [0.1, 1.1]
    expect(meetingShare(shoulder, elbow, [-0.5, 1.4], [0.5, 1.4]).share).toBeCloseTo(0, 9)
    expect(meetingShare(shoulder, elbow, [-0.5, 1.1], [0.5, 1.1]).share).toBeCloseTo(1, 9)
    expect(meetingShare(shoulder, elbow, [-0.5, 0.8], [0.5, 0.8]).share).toBeCloseTo(2, 9)
    expect(() => of('shaft-crossing-trail-arm', [shoulder, elbow, [0.01, 1.4], [0.1, 1.12]], 'lead-arm-level-down')).toThrow(/under 15/)
  })
  it('has the fixed ids, each once', () => {
    const ids = measures.map((m) => m.id)
    expect(new Set(ids).size).toBe(ids.length)
    for (const id of [
      'backswing-time', 'downswing-time', 'tempo-ratio', 'inclination', 'inclination-change', 'head-excursion', 'shoulder-centre-drift', 'lead-arm-to-vertical',
      'shaft-pitch', 'shaft-crossing-trail-arm', 'shaft-azimuth', 'shaft-elevation', 'shaft-short-of-level', 'shaft-azimuth-at-level', 'shaft-plane-slope',
      'camera-yaw', 'camera-offset', 'camera-height', 'camera-distance', 'ray-gap',
    ])
      expect(ids).toContain(id)
  })
  it('stands in the table of the documentation as it is defined', () => {
    const page = readFileSync(new URL('../../shared/swing/MEASURES.md', import.meta.url), 'utf8')
    expect(page).toContain(measuresTable())
  })
})
