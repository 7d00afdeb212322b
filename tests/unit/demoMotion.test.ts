import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import type { Seen } from '../../shared/arms/fitBody.ts'
import { anglesSeen } from '../../shared/arms/fitLikely.ts'
import { at, rowLength } from '../../shared/arms/joints.ts'
import { ranges } from '../../shared/arms/ranges.ts'
import { eventsOf, peakHeadSpeed, positionOrder } from '../../electron/desk/demo/events.ts'
import { ballRadius, swingOf, type Pose, type Swing } from '../../electron/desk/demo/motion.ts'
import { acrossSwing, referenceSwing, shortSwing, shortSwingAgain, type SwingSpec } from '../../electron/desk/demo/swingSpec.ts'
import { swingTruth } from '../../electron/desk/demo/truth.ts'
import { middleJoint, swivelOf, swivelPole } from '../../electron/desk/demo/twoBone.ts'
import { distance, sub, type Vec } from '../../electron/desk/demo/vec.ts'

const specs = { referenceSwing, acrossSwing, shortSwing, shortSwingAgain }
const swings = Object.entries(specs).map(([name, spec]) => [name, swingOf(spec)] as const)
const moments = (swing: Swing, step: number): number[] =>
  Array.from({ length: Math.ceil((swing.times.finish + 0.3) / step) }, (_, i) => -0.2 + i * step)

/** Distance of a point from the line through two others. */
function offLine(p: Vec, a: Vec, b: Vec): number {
  const d = sub(b, a)
  const k = ((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1] + (p[2] - a[2]) * d[2]) / (d[0] ** 2 + d[1] ** 2 + d[2] ** 2)
  return Math.hypot(p[0] - a[0] - k * d[0], p[1] - a[1] - k * d[1], p[2] - a[2] - k * d[2])
}
/** Azimuth and elevation of butt to shaft end in degrees, from the two points alone. */
function shaftFrom(pose: Pose): { azimuth: number; elevation: number } {
  const d = sub(pose.club.shaftEnd, pose.club.butt)
  return { azimuth: (Math.atan2(d[2], d[0]) * 180) / Math.PI, elevation: (Math.atan2(d[1], Math.hypot(d[0], d[2])) * 180) / Math.PI }
}
const limbs = (pose: Pose): Record<string, readonly [Vec, Vec]> => ({
  leadUpperArm: [pose.lead.shoulder, pose.lead.elbow],
  leadForearm: [pose.lead.elbow, pose.lead.wrist],
  leadHand: [pose.lead.wrist, pose.lead.grip],
  trailUpperArm: [pose.trail.shoulder, pose.trail.elbow],
  trailForearm: [pose.trail.elbow, pose.trail.wrist],
  trailHand: [pose.trail.wrist, pose.trail.grip],
  leadThigh: [pose.leadLeg.hip, pose.leadLeg.knee],
  leadShank: [pose.leadLeg.knee, pose.leadLeg.foot.ankle],
  trailThigh: [pose.trailLeg.hip, pose.trailLeg.knee],
  trailShank: [pose.trailLeg.knee, pose.trailLeg.foot.ankle],
  trunk: [pose.trunk.hips, pose.trunk.shoulders],
  neck: [pose.trunk.shoulders, pose.trunk.head],
  leadClavicle: [pose.trunk.shoulders, pose.lead.shoulder],
  trailClavicle: [pose.trunk.shoulders, pose.trail.shoulder],
  shaft: [pose.club.butt, pose.club.shaftEnd],
  club: [pose.club.butt, pose.club.sole],
})

describe.each(swings)('the demo swing %s', (_, swing) => {
  const { spec, times } = swing
  const rest = swing.poseAt(0)

  test('keeps every length, and both hands on the one club', () => {
    const lengths = Object.entries(limbs(rest)).map(([name, [a, b]]) => [name, distance(a, b)] as const)
    for (const t of moments(swing, 0.005)) {
      const pose = swing.poseAt(t)
      const now = limbs(pose)
      const changed = lengths.filter(([name, length]) => !(Math.abs(distance(...(now[name] as [Vec, Vec])) - length) < 1e-9))
      expect(changed, `at ${t}`).toEqual([])
      const off = Math.max(...[pose.lead, pose.trail].map((arm) => offLine(arm.grip, pose.club.butt, pose.club.sole)))
      expect(off).toBeLessThan(0.001)
      expect(distance(pose.club.butt, pose.lead.grip)).toBeLessThan(distance(pose.club.butt, pose.trail.grip))
    }
    expect(distance(rest.club.butt, rest.club.sole)).toBeCloseTo(spec.club.lengthM, 9)
  })

  test('has the published segment lengths', () => {
    // Drillis & Contini 1966 in Winter, fig. 4.1: upper arm .186, forearm .146, hip to knee .530 - .285, knee to ankle .285 - .039 of stature.
    const length = (name: string) => distance(...(limbs(rest)[name] as [Vec, Vec])) / spec.statureM
    expect(length('leadUpperArm')).toBeCloseTo(0.186, 9)
    expect(length('trailForearm')).toBeCloseTo(0.146, 9)
    expect(length('leadThigh')).toBeCloseTo(0.245, 9)
    expect(length('trailShank')).toBeCloseTo(0.246, 9)
  })

  test('reaches the top with the shaft as asked, and turns there', () => {
    const { azimuth, elevation } = shaftFrom(swing.poseAt(times.top))
    expect(azimuth).toBeCloseTo(spec.shaftAzimuthTopDeg, 6)
    // A shaft gamma short of level in a plane of slope beta rises by asin(sin gamma sin beta); computed from the stated formula.
    const rad = Math.PI / 180
    expect(elevation).toBeCloseTo(Math.asin(Math.sin(spec.shortOfLevelDeg * rad) * Math.sin(spec.topPlaneSlopeDeg * rad)) / rad, 6)
    const turnedIn = (a: number, b: number) => distance(swing.poseAt(a).club.shaft, swing.poseAt(b).club.shaft)
    expect(turnedIn(times.top - 0.0005, times.top + 0.0005)).toBeLessThan(1e-4)
    expect(turnedIn(times.top - 0.08, times.top)).toBeGreaterThan(0.02)
    expect(turnedIn(times.top, times.top + 0.08)).toBeGreaterThan(0.02)
    const trail = swing.poseAt(times.top).trail
    expect((swivelOf(trail.shoulder, trail.elbow, trail.wrist) * 180) / Math.PI).toBeCloseTo(spec.trailElbowSwivelDeg, 6)
  })

  test('brings the head back to the ball at impact', () => {
    const pose = swing.poseAt(times.impact)
    expect(distance(pose.club.clubhead, rest.club.clubhead)).toBeLessThan(0.006)
    // The face is half a blade in front of the head's centre; the ball's near side lies there.
    const gap = pose.ball[0] - ballRadius - pose.club.clubhead[0]
    expect(gap).toBeGreaterThan(0.005)
    expect(gap).toBeLessThan(0.015)
    expect(Math.abs(pose.ball[2] - pose.club.clubhead[2])).toBeLessThan(0.01)
  })

  test('moves as a body can: finite, without a jump, at believable speeds', () => {
    const step = 0.001
    const before: Record<string, [Vec, Vec | null]> = {}
    const worst: Record<string, number> = {}
    // Not-a-number stays once it is in, so that it fails the checks below.
    const note = (what: string, value: number) =>
      (worst[what] = value <= (worst[what] ?? 0) ? worst[what]! : Number.isNaN(worst[what]) ? NaN : value)
    for (const t of moments(swing, step)) {
      for (const [name, [a, b]] of Object.entries(limbs(swing.poseAt(t)))) {
        const d = sub(b, a)
        const length = Math.hypot(...d)
        const direction: Vec = [d[0] / length, d[1] / length, d[2] / length]
        const last = before[name]
        let rate: Vec | null = null
        if (last) {
          rate = [0, 1, 2].map((i) => (direction[i]! - last[0][i]!) / step) as unknown as Vec
          note(name === 'shaft' || name === 'club' ? 'club' : name.endsWith('Hand') ? 'hand' : 'bone', Math.hypot(...rate))
          if (last[1]) note('jump', Math.hypot(...sub(rate, last[1])))
        }
        before[name] = [direction, rate]
      }
    }
    // rad/s; the shaft alone may pass 20: peak shaft rate 2413 +/- 442 deg/s, elbow extension 854 +/- 150 deg/s (Zheng et al. 2008).
    expect(worst['bone']).toBeLessThan(20)
    expect(worst['hand']).toBeLessThan(32)
    expect(worst['club']).toBeLessThan(50)
    expect(worst['club']).toBeGreaterThan(28)
    // From one millisecond to the next.
    expect(worst['jump']).toBeLessThan(2)
    const peak = peakHeadSpeed(swing)
    expect(peak.mS).toBeGreaterThan(28)
    expect(peak.mS).toBeLessThan(50)
    expect(Math.abs(peak.t - times.impact)).toBeLessThan(0.025)
  })

  test('has arms that a player can have: joints about within their published ranges, one rigid hold of the club', () => {
    const row = new Float64Array(rowLength)
    const lengths = { upperArm: swing.body.upperArm, forearm: swing.body.forearm }
    /** The joint that is farthest past its AAOS range, degrees; 0 where none is. */
    const past = (t: number): number => {
      const { lead, trail, trunk, club } = swing.poseAt(t)
      const seen = {
        leadShoulder: lead.shoulder, leadElbow: lead.elbow, leadWrist: lead.wrist, trailShoulder: trail.shoulder, trailElbow: trail.elbow, trailWrist: trail.wrist,
        trunkBase: trunk.hips, hands: club.hands, shaft: club.shaft,
      } as unknown as Seen
      let most = 0
      for (const side of ['lead', 'trail'] as const) {
        expect(anglesSeen(row, seen, side, lengths)).toBe(true)
        for (const [joint, place] of [['rotation', at.rotation], ['elbowFlexion', at.elbow], ['pronation', at.pronation], ['wristFlexion', at.wristFlexion], ['ulnarDeviation', at.ulnar]] as const) {
          const [low, high] = ranges[joint]
          const value = (row[place]! * 180) / Math.PI
          most = Math.max(most, low - value, value - high)
        }
      }
      return most
    }
    for (const t of [0, 0.25 * times.top, 0.5 * times.top, 0.75 * times.top, times.top, times.impact]) expect(past(t), `at ${t}`).toBeLessThan(6)
    for (const t of moments(swing, 0.01)) expect(past(t), `at ${t}`).toBeLessThan(25)
    const hold = (t: number) => {
      const { lead, trail } = swing.poseAt(t)
      return [distance(lead.wrist, trail.wrist), distance(lead.wrist, trail.grip), distance(trail.wrist, lead.grip)]
    }
    for (const t of moments(swing, 0.05)) hold(t).forEach((d, i) => expect(d).toBeCloseTo(hold(0)[i]!, 9))
  })

  test('stands on its feet and stays above the ground', () => {
    for (const t of moments(swing, 0.01)) {
      const pose = swing.poseAt(t)
      expect(distance(pose.leadLeg.foot.ankle, rest.leadLeg.foot.ankle)).toBeLessThan(1e-9)
      if (t < times.impact - 0.1) expect(distance(pose.trailLeg.foot.ankle, rest.trailLeg.foot.ankle)).toBeLessThan(0.005)
      expect(pose.club.sole[1]).toBeGreaterThan(-0.012)
    }
    expect(swing.poseAt(times.finish).trailLeg.foot.ankle[1]).toBeGreaterThan(rest.trailLeg.foot.ankle[1] + 0.06)
    expect(swing.poseAt(-3)).toEqual(swing.poseAt(-0.5))
  })

  test('passes its positions in order, at the tempo asked for', () => {
    const events = eventsOf(swing)
    const order = positionOrder.map((name) => events[name])
    expect(order).toEqual([...order].sort((a, b) => a - b))
    expect(events.top - events.takeaway).toBeCloseTo(spec.backswingS, 9)
    expect(events.impact - events.top).toBeCloseTo(spec.downswingS, 9)
    for (const name of ['shaft-level-back', 'shaft-level-down', 'shaft-level-through'] as const)
      expect(shaftFrom(swing.poseAt(events[name])).elevation).toBeCloseTo(0, 4)
    for (const name of ['lead-arm-level-back', 'lead-arm-level-down'] as const) {
      const { shoulder, wrist } = swing.poseAt(events[name]).lead
      expect(wrist[1]).toBeCloseTo(shoulder[1], 6)
    }
  })

  test('keeps the head about still to the top', () => {
    const excursion = Math.max(
      ...moments(swing, 0.02)
        .filter((t) => t > 0 && t < times.top)
        .map((t) => distance(swing.poseAt(t).trunk.head, rest.trunk.head)),
    )
    expect(excursion).toBeLessThan(spec.headSwayM + 0.03)
  })
})

test('the three characters differ where they should', () => {
  const truth = (spec: SwingSpec) => swingTruth(swingOf(spec))
  const [across, short, reference] = [truth(acrossSwing), truth(shortSwing), truth(referenceSwing)]
  expect(across.shaftAzimuthTopDeg).toBeCloseTo(18, 6)
  expect(across.inclinationImpactDeg - across.inclinationAddressDeg).toBeLessThan(-5)
  expect(Math.abs(reference.inclinationImpactDeg - reference.inclinationAddressDeg)).toBeLessThan(2)
  // beta 50, gamma 30: elevation 22.521, azimuth -20.361; computed from the stated formula.
  expect(short.shaftElevationTopDeg).toBeCloseTo(22.521, 3)
  expect(short.shaftAzimuthTopDeg).toBeCloseTo(-20.361, 3)
  expect(reference.shaftAzimuthTopDeg).toBeCloseTo(0, 6)
  expect(reference.headSwayTopM).toBeLessThan(0.01)
})

test('any reasonable swing can be made', () => {
  fc.assert(
    fc.property(
      fc.record({
        shaftAzimuthTopDeg: fc.double({ min: -25, max: 25, noNaN: true }),
        shortOfLevelDeg: fc.double({ min: -10, max: 35, noNaN: true }),
        trailElbowSwivelDeg: fc.double({ min: -10, max: 70, noNaN: true }),
        statureM: fc.double({ min: 1.62, max: 1.95, noNaN: true }),
        headSwayM: fc.double({ min: 0, max: 0.06, noNaN: true }),
        inclinationChangeDeg: fc.double({ min: -8, max: 2, noNaN: true }),
      }),
      (some) => {
        const swing = swingOf({ ...referenceSwing, ...some })
        for (const t of moments(swing, 0.03))
          expect(
            Object.values(limbs(swing.poseAt(t)))
              .flat(2)
              .every(Number.isFinite),
          ).toBe(true)
        expect(shaftFrom(swing.poseAt(swing.times.top)).azimuth).toBeCloseTo(some.shaftAzimuthTopDeg, 5)
      },
    ),
    { numRuns: 25 },
  )
})

describe('the two-bone arm', () => {
  test('puts the elbow where the published formula puts it', () => {
    // Tolani, Goswami & Badler 2000: S = 0, W = (.5,0,0), L1 = .3, L2 = .4, a = (0,0,-1): E(0) = (.18, 0, -.24); computed from the formula.
    const e = middleJoint([0, 0, 0], [0.5, 0, 0], 0.3, 0.4, [0, 0, -1])
    expect(e[0]).toBeCloseTo(0.18, 12)
    expect(e[1]).toBeCloseTo(0, 12)
    expect(e[2]).toBeCloseTo(-0.24, 12)
  })
  test('counts a swivel from hanging down to out behind', () => {
    const [s, w] = [
      [0, 1.4, 0],
      [-0.4, 1.4, 0],
    ] as const
    const out = middleJoint(s, w, 0.3, 0.3, swivelPole(s, w, Math.PI / 2))
    expect(out[2]).toBeLessThan(-0.2)
    expect(out[1]).toBeCloseTo(1.4, 9)
    expect(middleJoint(s, w, 0.3, 0.3, swivelPole(s, w, 0))[1]).toBeLessThan(1.2)
  })
  test('says so where no elbow is right', () => {
    expect(() => middleJoint([0, 0, 0], [0.701, 0, 0], 0.3, 0.4, [0, 0, 1])).toThrow(/out of reach/)
    expect(() => middleJoint([0, 0, 0], [0.5, 0, 0], 0.3, 0.4, [1, 0, 0])).toThrow(/no direction/)
  })
})
