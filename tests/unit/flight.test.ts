import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { dPlane } from '../../shared/flight/dPlane.ts'
import { apparentFace, closureOnFilm, faceChange, faceLineFault, type FaceLine } from '../../shared/flight/faceLine.ts'
import { launchDirection, launchOf, launchRange, measuredFaceShare, missAt, missOf, practiceFaceShare } from '../../shared/flight/launch.ts'
import { missFan, missFault, turnInContact, type MissInput } from '../../shared/flight/missFan.ts'
import { seededRandom } from '../../shared/signal/random.ts'

const sure = (value: number) => ({ value, sigma: 0 })
const level = { roll: 0, sigma: 0 }
const angle = fc.double({ min: -15, max: 15, noNaN: true })
const share = fc.double({ min: 0, max: 1, noNaN: true })

describe('the start direction', () => {
  it('is path and k times what the face stands off it', () => {
    // Face +2, path -3, computed from the stated formula with an independent numeric library.
    expect(launchDirection(2, -3, practiceFaceShare.driver)).toBeCloseTo(1.25, 12)
    expect(launchDirection(2, -3, practiceFaceShare.irons)).toBeCloseTo(0.75, 12)
    expect(launchDirection(2, -3, 0.61)).toBeCloseTo(0.05, 12)
  })

  it('has its measured range at hand, outside which the common .85 lies', () => {
    // Wood et al. 2018, Proceedings 2(6):249: .61 to .83. ".85 driver, .75 irons": common practice, no source.
    expect(measuredFaceShare).toEqual({ lo: 0.61, hi: 0.83 })
    expect(practiceFaceShare.driver).toBeGreaterThan(measuredFaceShare.hi)
    expect(practiceFaceShare.irons).toBeGreaterThan(measuredFaceShare.lo)
    expect(practiceFaceShare.irons).toBeLessThan(measuredFaceShare.hi)
    const [lo, hi] = launchRange(2, -3)
    expect(lo).toBeCloseTo(0.05, 12)
    expect(hi).toBeCloseTo(1.15, 12)
    expect(launchRange(-3, 2)[0]).toBeLessThan(launchRange(-3, 2)[1])
  })

  it('lies between path and face, is the same seen in a mirror, and carries all three errors', () => {
    fc.assert(fc.property(angle, angle, share, (face, path, k) => {
      const start = launchDirection(face, path, k)
      expect(start).toBeGreaterThanOrEqual(Math.min(face, path) - 1e-12)
      expect(start).toBeLessThanOrEqual(Math.max(face, path) + 1e-12)
      expect(launchDirection(-face, -path, k)).toBeCloseTo(-start, 12)
      const known = launchOf({ value: face, sigma: 0.8 }, { value: path, sigma: 1.5 }, { value: k, sigma: 0.06 })
      expect(known.value).toBeCloseTo(start, 12)
      expect(known.sigma).toBeCloseTo(Math.hypot(k * 0.8, (1 - k) * 1.5, (face - path) * 0.06), 6)
    }))
  })
})

describe('the miss at a distance', () => {
  it('is the distance times the tangent', () => {
    // Yards, computed from the stated formula with an independent numeric library.
    expect(missAt(200, 1)).toBeCloseTo(3.491, 3)
    expect(missAt(250, 2)).toBeCloseTo(8.73, 3)
    expect(missAt(150, 3)).toBeCloseTo(7.861, 3)
  })

  it('carries the error of both', () => {
    const miss = missOf({ value: 200, sigma: 10 }, { value: 1, sigma: 0.5 })
    expect(miss.value).toBeCloseTo(3.491, 3)
    expect(miss.sigma).toBeCloseTo(Math.hypot(10 * Math.tan(Math.PI / 180), (200 * 0.5 * Math.PI) / 180 / Math.cos(Math.PI / 180) ** 2), 4)
  })
})

describe('the D-plane', () => {
  it('gives spin loft and the tilt of the axis', () => {
    // Jorgensen's D-plane, computed with an independent numeric library: 15.797 and 18.096 degrees to the right (the push side).
    const plane = dPlane({ loft: 14, attack: -1, face: 2, path: -3 })!
    expect(plane.spinLoft).toBeCloseTo(15.797, 3)
    expect(plane.axisTilt).toBeCloseTo(18.096, 3)
  })

  it('curves the ball to the side on which the face stands of the path, and mirrors', () => {
    fc.assert(fc.property(angle, angle, fc.double({ min: 15, max: 50, noNaN: true }), fc.double({ min: -8, max: 6, noNaN: true }), (face, path, loft, attack) => {
      fc.pre(Math.abs(face - path) > 0.01)
      const one = dPlane({ loft, attack, face, path })!
      const other = dPlane({ loft, attack, face: -face, path: -path })!
      expect(Math.sign(one.axisTilt)).toBe(Math.sign(face - path))
      expect(other.axisTilt).toBeCloseTo(-one.axisTilt, 9)
      expect(other.spinLoft).toBeCloseTo(one.spinLoft, 9)
      expect(one.spinLoft).toBeGreaterThanOrEqual(loft - attack - 1e-9)
    }))
  })

  it('is none where the face looks exactly along its way', () => {
    expect(dPlane({ loft: 10, attack: 10, face: 3, path: 3 })).toBeNull()
  })
})

describe('the face line on a frame', () => {
  const line = (from: readonly [number, number], to: readonly [number, number], sigmaPx = 2): FaceLine => ({ heel: from, toe: to, sigmaPx })

  it('has an apparent angle with the error of its ends and of the level', () => {
    const face = apparentFace(line([100, 100], [140, 100]), { roll: 0.02, sigma: 0.01 })!
    expect(face.value).toBeCloseTo((0.02 * 180) / Math.PI, 9)
    expect(face.sigma).toBeCloseTo((Math.hypot((Math.SQRT2 * 2) / 40, 0.01) * 180) / Math.PI, 9)
    // Up in the picture is where y falls.
    expect(apparentFace(line([100, 100], [100, 60]), level)!.value).toBeCloseTo(90, 9)
  })

  it('is told off where it has no direction', () => {
    expect(faceLineFault(line([5, 5], [6, 6]))).toContain('too short')
    expect(apparentFace(line([5, 5], [6, 6]), level)).toBeNull()
    expect(faceLineFault(line([Number.NaN, 5], [60, 6]))).toContain('no point of the picture')
  })

  it('changes by the shorter way, whatever the picture\u2019s level, and the change\u2019s error is what repeated drawing scatters', () => {
    const turned = (degrees: number, length: number): FaceLine => {
      const a = (degrees * Math.PI) / 180
      return line([500, 500], [500 + length * Math.cos(a), 500 - length * Math.sin(a)])
    }
    fc.assert(fc.property(fc.double({ min: -180, max: 180, noNaN: true }), fc.double({ min: -179, max: 179, noNaN: true }), (from, by) => {
      expect(faceChange(turned(from, 50), turned(from + by, 40))!.value).toBeCloseTo(by, 6)
    }))
    const random = seededRandom(3)
    const shaken = ({ heel, toe }: FaceLine): FaceLine => line([heel[0] + 2 * random.normal(), heel[1] + 2 * random.normal()], [toe[0] + 2 * random.normal(), toe[1] + 2 * random.normal()])
    const [one, two] = [turned(20, 60), turned(75, 45)]
    const changes = Array.from({ length: 4000 }, () => faceChange(shaken(one), shaken(two))!.value)
    const mean = changes.reduce((sum, c) => sum + c, 0) / changes.length
    const sd = Math.sqrt(changes.reduce((sum, c) => sum + (c - mean) ** 2, 0) / (changes.length - 1))
    expect(Math.abs(sd / faceChange(one, two)!.sigma - 1)).toBeLessThan(0.05)
  })

  it('gives a rate of closure only where the film can', () => {
    const one = line([100, 100], [160, 100])
    const two = line([100, 100], [158, 90])
    const fast = closureOnFilm(one, two, { value: 1 / 240, sigma: 0.0003 })
    expect(fast).toMatchObject({ ok: true })
    if (fast.ok) {
      expect(fast.rate.value).toBeCloseTo(faceChange(one, two)!.value * 240, 6)
      expect(fast.rate.sigma).toBeGreaterThan(faceChange(one, two)!.sigma * 240)
    }
    // At 30 frames a second the instant often falls between frames: common practice, no source.
    expect(closureOnFilm(one, two, { value: 1 / 30, sigma: 0.002 })).toMatchObject({ ok: false, why: expect.stringContaining('33 ms apart') })
    expect(closureOnFilm(one, line([100, 100], [160, 99]), { value: 1 / 240, sigma: 0.0003 })).toMatchObject({ ok: false, why: expect.stringContaining('no more than its error') })
    expect(closureOnFilm(one, two, sure(0))).toMatchObject({ ok: false })
  })
})

describe('the fan of misses', () => {
  const usual: MissInput = {
    face: sure(0), path: sure(0), share: { value: 0.75, sigma: 0.06 }, closureRate: { value: 1300, sigma: 300 }, timingS: { value: 0.002, sigma: 0.0005 },
    faceScatter: 0.5, pathScatter: 1, distance: 200,
  }
  const inputs = fc.record({
    face: angle.map(sure), path: angle.map(sure), share: share.map(sure), closureRate: fc.double({ min: 0, max: 3000, noNaN: true }).map(sure),
    timingS: fc.double({ min: 0, max: 0.004, noNaN: true }).map(sure), faceScatter: fc.double({ min: 0, max: 2, noNaN: true }),
    pathScatter: fc.double({ min: 0, max: 2, noNaN: true }), distance: fc.double({ min: 20, max: 300, noNaN: true }),
  })

  it('opens to both sides: a little late to the push side, a little early to the pull side', () => {
    // A face that closes fast misses both ways: common practice, no source.
    const { shots, push, pull } = missFan({ ...usual, faceScatter: 0, pathScatter: 0 })
    expect(shots.filter((shot) => shot.late > 0).every((shot) => shot.miss > 0)).toBe(true)
    expect(shots.filter((shot) => shot.late < 0).every((shot) => shot.miss < 0)).toBe(true)
    expect(push.share + pull.share).toBeCloseTo(1, 9)
    expect(Math.min(push.share, pull.share)).toBeGreaterThan(0.4)
  })

  it('favours no side where face and path look at the target', () => {
    const { pull, push, quantiles } = missFan({ ...usual, face: sure(0), path: sure(0) })
    expect(pull.share).toBe(0.5)
    expect(push.share).toBe(0.5)
    expect(Math.abs(quantiles.p5 + quantiles.p95)).toBeLessThan(1e-9)
  })

  it('narrows with less rotation', () => {
    fc.assert(fc.property(inputs, fc.double({ min: 0.1, max: 0.9, noNaN: true }), (input, less) => {
      const slower = { ...input, closureRate: sure(input.closureRate.value * less) }
      expect(missFan(slower).startSpread.value).toBeLessThanOrEqual(missFan(input).startSpread.value + 1e-12)
    }), { numRuns: 40 })
  })

  it('is the same for the same seed, mirrored for mirrored numbers, and sampled as its closed form says', () => {
    expect(missFan(usual, 7)).toEqual(missFan(usual, 7))
    expect(missFan(usual, 7).shots).not.toEqual(missFan(usual, 8).shots)
    fc.assert(fc.property(inputs, (input) => {
      const fan = missFan(input, 11, 4000)
      const starts = fan.shots.map((shot) => shot.start)
      const mean = starts.reduce((sum, s) => sum + s, 0) / starts.length
      const sd = Math.sqrt(starts.reduce((sum, s) => sum + (s - mean) ** 2, 0) / (starts.length - 1))
      expect(Math.abs(mean - fan.start.value)).toBeLessThan(5 * (fan.startSpread.value / Math.sqrt(4000)) + 1e-9)
      expect(Math.abs(sd - fan.startSpread.value)).toBeLessThan(0.06 * fan.startSpread.value + 1e-9)
      const mirrored = missFan({ ...input, face: sure(-input.face.value), path: sure(-input.path.value) })
      expect(mirrored.start.value).toBeCloseTo(-fan.start.value, 9)
      expect(mirrored.startSpread.value).toBeCloseTo(fan.startSpread.value, 9)
    }), { numRuns: 30 })
  })

  it('carries what is not known of k, closure and timing into every number', () => {
    const fan = missFan(usual)
    const timing = 1300 * 0.002
    expect(fan.timingSpread.value).toBeCloseTo(timing, 9)
    expect(fan.timingSpread.sigma).toBeCloseTo(Math.hypot(300 * 0.002, 1300 * 0.0005), 6)
    expect(fan.faceSpread.value).toBeCloseTo(Math.hypot(timing, 0.5), 9)
    expect(fan.startSpread.value).toBeCloseTo(Math.hypot(0.75 * fan.faceSpread.value, 0.25), 9)
    expect(fan.startSpread.sigma).toBeGreaterThan(0)
    expect(fan.missSpread.value).toBeCloseTo((200 * fan.startSpread.value * Math.PI) / 180, 6)
    const unsure = missFan({ ...usual, face: { value: 2, sigma: 1 }, path: { value: -3, sigma: 1 } })
    expect(unsure.start.sigma).toBeCloseTo(Math.hypot(0.75, 0.25, 5 * 0.06), 5)
    expect(unsure.quantiles.p5).toBeLessThan(unsure.quantiles.p50)
  })

  it('says what cannot hold', () => {
    expect(missFault(usual)).toBeNull()
    expect(missFault({ ...usual, share: sure(1.2) })).toContain('between 0 and 1')
    expect(missFault({ ...usual, closureRate: sure(-5) })).toContain('how fast, not which way')
    expect(missFault({ ...usual, distance: 0 })).toContain('greater than 0')
    expect(missFault({ ...usual, face: sure(Number.NaN) })).toContain('not a number')
    expect(missFault({ ...usual, timingS: sure(0.05) })).toContain('no player')
    expect(() => missFan({ ...usual, distance: -1 })).toThrow(RangeError)
  })
})

it('the face turns a little while the ball is on it', () => {
  // Impact of .5 ms: Cochran & Stobbs 1968. Twist of the handle 1307 +/- 304 degrees a second: Cheetham 2014, a proxy for closure.
  const turn = turnInContact({ value: 1307, sigma: 304 })
  expect(turn.value).toBeCloseTo(0.6535, 4)
  expect(turn.sigma).toBeCloseTo(0.152, 4)
})
