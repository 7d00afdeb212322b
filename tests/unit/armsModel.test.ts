import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { levelled, turningOf, usualTurning } from '../../shared/arms/atLevel.ts'
import { forward } from '../../shared/arms/forward.ts'
import { readArmsJson } from '../../shared/arms/input.ts'
import { inverse } from '../../shared/arms/inverse.ts'
import { createArms, type ArmsModel } from '../../shared/arms/model.ts'
import { behindBodyPlane } from '../../shared/arms/pose.ts'
import { spreadOf } from '../../shared/arms/spread.ts'
import { standardArms } from '../../shared/arms/standard.ts'
import { sweep } from '../../shared/arms/sweep.ts'
import { turnsBack } from '../../shared/arms/turnsBack.ts'
import { isArmsRefusal, type ArmsInput, type ForwardResult } from '../../shared/arms/types.ts'
import { dot3, length3, sub3, type Vec3 } from '../../shared/geometry/vec.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { randomTop } from '../fixtures/armsBodies.ts'
import { monotony, pastRanges } from '../fixtures/armsMonotony.ts'

const degrees = 180 / Math.PI
const modelOf = (input: ArmsInput): ArmsModel => {
  const model = createArms(input)
  if (isArmsRefusal(model)) throw new Error(model.why)
  return model
}
const poseAt = (model: ArmsModel, swivel: number): ForwardResult => {
  const pose = forward(model, swivel)
  if (isArmsRefusal(pose)) throw new Error(pose.why)
  return pose
}
const between = (a: Vec3, b: Vec3): number => Math.acos(Math.max(-1, Math.min(1, dot3(a, b)))) * degrees
const filmed = (input: ArmsInput): ArmsInput => ({ ...input, anchor: { ...input.anchor!, filmed: true } })

/** Bodies for the property tests, made once. */
const bodies = ((): ArmsInput[] => {
  const random = seededRandom(5)
  const out: ArmsInput[] = []
  while (out.length < 90) {
    const input = randomTop(random)
    if (input) out.push(filmed(input))
  }
  return out
})()
const models = bodies.map(modelOf)
const anyBody = fc.nat({ max: bodies.length - 1 })

describe('the closed chain', () => {
  it('is closed wherever the elbow is, within a tenth of a millimetre', () => {
    fc.assert(
      fc.property(anyBody, fc.double({ min: -60, max: 110, noNaN: true }), (i, swivel) => {
        const pose = forward(models[i]!, swivel)
        if (isArmsRefusal(pose)) return
        expect(pose.gapM).toBeLessThan(1e-4)
        const { arms, grip } = bodies[i]!.body
        for (const side of ['lead', 'trail'] as const) {
          const arm = pose[side]
          expect(length3(sub3(arm.elbow, arm.shoulder))).toBeCloseTo(arms[side].upperArm, 6)
          expect(length3(sub3(arm.wrist, arm.elbow))).toBeCloseTo(arms[side].forearm, 6)
          // Each hand stays where it is on the one club.
          expect(length3(sub3(arm.grip, arm.wrist))).toBeCloseTo(Math.hypot(grip[side].awayM, grip[side].alongM - (side === 'lead' ? -0.5 : 0.5) * grip.apartM), 6)
          expect(dot3(sub3(arm.wrist, pose.hands), pose.club.shaft)).toBeCloseTo(grip[side].alongM, 6)
        }
      }),
      { numRuns: 250 },
    )
  })

  it('passes through the filmed pose exactly, at no cost', () => {
    for (const [i, model] of models.entries()) {
      const pose = poseAt(model, model.swivelDeg)
      const anchor = bodies[i]!.anchor!
      expect(between(pose.club.shaft, anchor.shaft)).toBeLessThan(1e-4)
      expect(length3(sub3(pose.trail.elbow, anchor.trailElbow))).toBeLessThan(1e-6)
      expect(length3(sub3(pose.lead.elbow, anchor.leadElbow))).toBeLessThan(1e-6)
      expect(pose.cost).toBeLessThan(1e-12)
      expect(pose.reachable).toBe(true)
      expect(pose.kind).toBe('anchored')
      expect(pose.change.azimuthDeg).toBe(0)
    }
  })

  it('finds the least cost: no posture beside it costs less', () => {
    const model = models[3]!
    for (const offset of [-12, 15, 30]) {
      const found = model.branch.at((model.swivelDeg + offset) / degrees)
      if ('reason' in found) continue
      const least = model.branch.cost(found.posture)
      const random = seededRandom(2)
      for (let k = 0; k < 60; k++) {
        const { shaft, side, lead, trail } = found.posture
        const axis = [random.normal() * 0.01, random.normal() * 0.01, random.normal() * 0.01]
        const turned = (v: Float64Array): Float64Array => Float64Array.from([v[0]! + axis[1]! * v[2]! - axis[2]! * v[1]!, v[1]! + axis[2]! * v[0]! - axis[0]! * v[2]!, v[2]! + axis[0]! * v[1]! - axis[1]! * v[0]!])
        const size = (v: Float64Array): Float64Array => v.map((x) => x / Math.hypot(...v))
        expect(model.branch.cost({ shaft: size(turned(shaft)), side: size(turned(side)), lead: lead + random.normal() * 0.01, trail })).toBeGreaterThan(least - 1e-6)
      }
    }
  })

  it('has no jump of the shaft over 2 degrees for .2 degrees of elbow on the connected branch; past its end it says so', () => {
    let ends = 0
    fc.assert(
      fc.property(anyBody, fc.double({ min: -70, max: 118, noNaN: true }), (i, swivel) => {
        const a = forward(models[i]!, swivel)
        const b = forward(models[i]!, swivel + 0.2)
        if (isArmsRefusal(a) || isArmsRefusal(b)) {
          const refusal = isArmsRefusal(a) ? a : isArmsRefusal(b) ? b : null
          expect(refusal!.refused).toBe('off-the-branch')
          expect(refusal!.nearest!.swivelDeg).toBeTypeOf('number')
          ends++
          return
        }
        expect(between(a.club.shaft, b.club.shaft)).toBeLessThan(2)
      }),
      { numRuns: 700 },
    )
    expect(ends).toBeGreaterThan(0)
  })

  it('gives the same whatever was asked before', () => {
    const [there, here] = [modelOf(bodies[7]!), modelOf(bodies[7]!)]
    const far = poseAt(there, there.swivelDeg + 20)
    for (const k of [40, -10, 33, 5]) forward(here, here.swivelDeg + k)
    const same = poseAt(here, here.swivelDeg + 20)
    expect(between(far.club.shaft, same.club.shaft)).toBeLessThan(1e-5)
  })
})

describe('what the trade says (common practice, no source)', () => {
  it('turns the shaft farther across as the elbow goes out, for bodies whose joints allow their pose', () => {
    const possible = models.filter((model) => pastRanges(poseAt(model, model.swivelDeg)) <= 10)
    expect(possible.length).toBeGreaterThan(12)
    const read = possible.map((model) => monotony(model, (swivel) => {
      const pose = forward(model, swivel)
      return isArmsRefusal(pose) || !pose.reachable ? null : pose.readings.azimuthDeg
    }))
    const share = (f: (m: (typeof read)[number]) => number): number => read.reduce((sum, m) => sum + f(m), 0) / read.length
    // Measured over thousands: see MODEL.md. Not every body does.
    expect(share((m) => Number(m.sign))).toBeGreaterThan(0.9)
    expect(share((m) => m.rising)).toBeGreaterThan(0.93)
  })

  it('sends the elbow in and down to bring a shaft from across to the line, and the elbow out behind for the other way', () => {
    const model = modelOf(filmed(standardArms()))
    const across = poseAt(model, model.swivelDeg + 30).readings.azimuthDeg
    const out = inverse(model, { azimuthDeg: across })
    expect(out.found && out.move.inCm).toBeLessThan(-3)
    // Seen from there, back again.
    const there = poseAt(model, model.swivelDeg + 30)
    const back = modelOf({ ...model.input, anchor: { filmed: true, shaft: there.club.shaft, side: there.club.side, leadElbow: there.lead.elbow, trailElbow: there.trail.elbow } })
    const result = inverse(back, { azimuthDeg: there.readings.azimuthDeg - 15 })
    expect(result.found).toBe(true)
    if (!result.found) return
    expect(result.move.inCm).toBeGreaterThan(1)
    expect(result.move.downCm).toBeGreaterThan(1)
    expect(result.move.words).toMatch(/^\d+\.\d cm in, \d+\.\d cm down$/)
  })
})

describe('the inverse', () => {
  it('gives the elbow place whose forward pose points as wanted', () => {
    fc.assert(
      fc.property(anyBody, fc.double({ min: -25, max: 25, noNaN: true }), (i, by) => {
        const model = models[i]!
        const azimuthDeg = poseAt(model, model.swivelDeg).readings.azimuthDeg + by
        const result = inverse(model, { azimuthDeg, sigmaDeg: 2 })
        if (result.found) {
          const pose = poseAt(model, result.pose.readings.swivelDeg)
          expect(Math.abs(pose.readings.azimuthDeg - azimuthDeg)).toBeLessThan(1e-3)
          expect(pose.reachable).toBe(true)
          const [low, high] = result.interval.swivelDeg
          if (low !== null) expect(low).toBeLessThanOrEqual(pose.readings.swivelDeg + 1e-6)
          if (high !== null) expect(high).toBeGreaterThanOrEqual(pose.readings.swivelDeg - 1e-6)
          for (const end of [low, high]) if (end !== null) expect(Math.abs(poseAt(model, end).readings.azimuthDeg - azimuthDeg)).toBeCloseTo(2, 3)
        } else {
          expect(result.why).toMatch(/^No reachable elbow place makes the shaft .*: the nearest leaves it/)
          expect(Math.abs(result.leftDeg!)).toBeGreaterThan(0)
        }
      }),
      { numRuns: 40 },
    )
  })

  it('says what else would do it where no elbow does', () => {
    const model = modelOf(filmed(standardArms()))
    const result = inverse(model, { azimuthDeg: -55 })
    expect(result.found).toBe(false)
    if (result.found) return
    expect(result.why).toContain('shoulder turned out')
    expect(result.instead.length).toBeGreaterThan(0)
    expect(result.nearest!.reachable).toBe(true)
    expect(inverse(model, {})).toMatchObject({ found: false, why: expect.stringContaining('Say one direction') as string })
    expect(inverse(model, { azimuthDeg: NaN })).toMatchObject({ found: false })
  })

  it('widens with the shaft’s own error and with what the model does not know', () => {
    const model = modelOf(filmed(standardArms()))
    const spread = spreadOf(model, { count: 16 })
    const width = (result: ReturnType<typeof inverse>): number => (result.found ? result.interval.swivelDeg[1]! - result.interval.swivelDeg[0]! : NaN)
    const wanted = { azimuthDeg: poseAt(model, model.swivelDeg).readings.azimuthDeg + 12 }
    const plain = width(inverse(model, { ...wanted, sigmaDeg: 1 }))
    expect(width(inverse(model, { ...wanted, sigmaDeg: 3 }))).toBeGreaterThan(2 * plain)
    expect(width(inverse(model, { ...wanted, sigmaDeg: 1 }, spread))).toBeGreaterThan(plain)
  })
})

describe('the sweep', () => {
  const model = modelOf(standardArms())
  const spread = spreadOf(model, { count: 16 })
  const result = sweep(model, { spread, wanted: { azimuthDeg: -5 } })!

  it('holds now, the target, the reachable stretch and the slope with its error', () => {
    expect(result.kind).toBe('sketch')
    expect(result.basis).toContain('sketch')
    expect(Object.keys(result.rows[0]!).toSorted()).toEqual(['azimuthAtLevelDeg', 'azimuthDeg', 'elbowOutCm', 'reachable', 'swivelDeg'])
    expect(result.rows.some((row) => row.swivelDeg === result.now.swivelDeg && row.reachable)).toBe(true)
    expect(result.target!.azimuthDeg).toBeCloseTo(-5, 3)
    const reachable = result.rows.filter((row) => row.reachable)
    expect(reachable[0]!.swivelDeg).toBeCloseTo(result.range.swivelDeg[0], 1)
    expect(result.range.low).toContain('trail shoulder turned out')
    for (let i = 1; i < reachable.length; i++) expect(reachable[i]!.azimuthDeg).toBeGreaterThan(reachable[i - 1]!.azimuthDeg)
    expect(result.rows.some((row) => !row.reachable)).toBe(true)
    expect(result.slope!.perCm.value).toBeGreaterThan(0.3)
    expect(result.slope!.perCm.sigma).toBeGreaterThan(0)
    expect(result.slope!.words).toMatch(/^A centimetre in is \d\.\d ± \d\.\d degrees less across: model, chest and hands held\.$/)
  })

  it('of a body that nobody filmed is a sketch’s: its error is as large as bodies that could stand there differ', () => {
    const model = modelOf(standardArms())
    expect(model.kind).toBe('sketch')
    const { perDegree } = spreadOf(model, { count: 60 }).slopes!
    // Random bodies at random tops, each through its own pose, its joints within 15 degrees of their ranges.
    const own = bodies.flatMap((input) => {
      const of = modelOf(input)
      const here = poseAt(of, of.swivelDeg)
      const [low, high] = [forward(of, of.swivelDeg - 3), forward(of, of.swivelDeg + 3)]
      if (pastRanges(here) > 15 || isArmsRefusal(low) || isArmsRefusal(high)) return []
      const turn = high.readings.azimuthDeg - low.readings.azimuthDeg
      return [(turn - 360 * Math.round(turn / 360)) / 6]
    })
    expect(own.length).toBeGreaterThan(15)
    const held = own.filter((slope) => Math.abs(slope - perDegree.value) <= perDegree.sigma).length / own.length
    expect(held).toBeGreaterThan(0.5)
    expect(held).toBeLessThan(0.95)
  })

  it('draws the same for the same seed', () => {
    expect(spreadOf(modelOf(standardArms()), { count: 8, seed: 3 })).toEqual(spreadOf(modelOf(standardArms()), { count: 8, seed: 3 }))
    expect(spreadOf(model, { count: 8, seed: 4 }).slopes).not.toEqual(spreadOf(model, { count: 8, seed: 3 }).slopes)
  })
})

describe('the shaft at level', () => {
  it('is what a shaft short of level in its plane comes to (computed: slope 50, 30 short: elevation 22.521, azimuth -20.361)', () => {
    const shaft = (el: number, az: number): Vec3 => [Math.cos(el / degrees) * Math.cos(az / degrees), Math.sin(el / degrees), Math.cos(el / degrees) * Math.sin(az / degrees)]
    const at = levelled(shaft(22.521, -20.361), usualTurning)!
    expect(at.azimuthDeg).toBeCloseTo(0, 2)
    expect(at.shortDeg).toBeCloseTo(30, 2)
    const gentler = turningOf([0, -Math.cos(45 / degrees), -Math.sin(45 / degrees)], shaft(13.995, -14.433))!
    expect(levelled(shaft(13.995, -14.433), gentler)!.azimuthDeg).toBeCloseTo(0, 2)
    expect(levelled(shaft(70, 0), usualTurning)).toBeNull()
  })
})

describe('the elbow against the body plane', () => {
  it('is positive behind the plane of both shoulders and the trail hip', () => {
    const chest = { axes: { lead: [1, 0, 0], up: [0, 1, 0], front: [0, 0, 1] }, leadShoulder: [0.2, 1.4, 0], trailShoulder: [-0.2, 1.4, 0], trailHip: [-0.1, 0.9, 0] } as const
    expect(behindBodyPlane(chest, [0, 1, -0.12])).toBeCloseTo(12, 9)
    expect(behindBodyPlane(chest, [5, 1, 0.3])).toBeCloseTo(-30, 9)
  })
})

describe('bad input', () => {
  const good = standardArms()
  const change = (f: (input: ArmsInput) => ArmsInput): ReturnType<typeof createArms> => createArms(f(good))

  it.each<[string, (input: ArmsInput) => ArmsInput, string, RegExp]>([
    ['hands out of reach', (i) => ({ ...i, hands: [i.hands[0] - 1, i.hands[1], i.hands[2]], anchor: null }), 'out-of-reach', /^The hands are out of reach/],
    ['a filmed club out of reach', (i) => ({ ...i, hands: [i.hands[0] - 0.2, i.hands[1], i.hands[2]] }), 'out-of-reach', /^The lead wrist is \d+\.\d cm out of its arm's reach of/],
    ['a segment without length', (i) => ({ ...i, body: { ...i.body, arms: { ...i.body.arms, trail: { upperArm: 0.3, forearm: 0 } } } }), 'zero-length', /^The trail forearm is 0 m long/],
    ['a club without length', (i) => ({ ...i, body: { ...i.body, club: { lengthM: 0, buttToHandsM: 0 } } }), 'zero-length', /^The club is 0 m long/],
    ['a wrist on the shaft', (i) => ({ ...i, body: { ...i.body, grip: { ...i.body.grip, lead: { ...i.body.grip.lead, awayM: 0 } } } }), 'zero-length', /lead wrist lies on the shaft/],
    ['NaN', (i) => ({ ...i, hands: [NaN, 1, 0] }), 'bad-input', /^The place of the hands is not three finite numbers/],
    ['shoulders swapped', (i) => ({ ...i, chest: { ...i.chest, leadShoulder: i.chest.trailShoulder, trailShoulder: i.chest.leadShoulder } }), 'contradiction', /trail side of the chest/],
    ['shoulders at one place', (i) => ({ ...i, chest: { ...i.chest, leadShoulder: i.chest.trailShoulder } }), 'contradiction', /one place/],
    ['a hip on the line of the shoulders', (i) => ({ ...i, chest: { ...i.chest, trailHip: i.chest.trailShoulder } }), 'contradiction', /no plane/],
    ['crooked axes', (i) => ({ ...i, chest: { ...i.chest, axes: { ...i.chest.axes, up: [0, 2, 0] } } }), 'bad-input', /axes/],
    ['a stretched trail arm', (i) => ({ ...i, anchor: { ...i.anchor!, trailElbow: [0, 1, 2].map((k) => (i.chest.trailShoulder[k]! + poseAt(modelOf(i), 40).trail.wrist[k]!) / 2) as unknown as Vec3 } }), 'swivel-undefined', /straight/],
  ])('refuses %s in words', (_, f, refused, why) => {
    const result = change(f)
    expect(isArmsRefusal(result) && result.refused).toBe(refused)
    expect(isArmsRefusal(result) && result.why).toMatch(why)
  })

  it('names the nearest place of the hands that can be reached', () => {
    const result = change((i) => ({ ...i, hands: [i.hands[0] - 0.5, i.hands[1] + 0.3, i.hands[2]], anchor: null }))
    expect(isArmsRefusal(result)).toBe(true)
    if (!isArmsRefusal(result)) return
    expect(result.nearest!.words).toMatch(/^the hands \d+\.\d cm nearer/)
    expect(isArmsRefusal(createArms({ ...good, hands: result.nearest!.hands!, anchor: null }))).toBe(false)
  })

  it('reads an arms file, and refuses a bad one in one sentence', () => {
    const head = { format: 'crossbearing-arms', version: 1 }
    const small = readArmsJson({ ...head, statureM: 1.6, swivelDeg: 30 })
    expect(!isArmsRefusal(small) && small.body.arms.lead.upperArm).toBeCloseTo(0.186 * 1.6, 9)
    expect(readArmsJson({ ...head, input: JSON.parse(JSON.stringify(good)) as unknown })).toEqual(JSON.parse(JSON.stringify(good)))
    expect(readArmsJson({ ...head, upperArmM: 0 })).toMatchObject({ refused: 'zero-length', why: 'upperArmM: must be longer than nothing, not 0 m.' })
    expect(readArmsJson({ ...head, hands: [3, 1, 0] })).toMatchObject({ refused: 'out-of-reach' })
    expect(readArmsJson({ ...head, elbows: 2 })).toMatchObject({ why: 'Does not know "elbows".' })
    expect(readArmsJson({ format: 'other' })).toMatchObject({ why: 'format: must be "crossbearing-arms".' })
    expect(readArmsJson(3)).toMatchObject({ why: 'The file must be one JSON object.' })
  })
})

describe('a shaft that turns back along the arc', () => {
  const row = (swivelDeg: number, azimuthDeg: number, reachable = true) => ({ swivelDeg, azimuthDeg, azimuthAtLevelDeg: null, elbowOutCm: swivelDeg / 4, reachable })

  it('is told of where it does, and not of ripples, nor of what is out of reach', () => {
    const rows = [row(-10, 60, false), row(0, 0), row(10, 5), row(20, 8), row(30, 6), row(40, 1), row(50, -40, false)]
    const [turn, ...more] = turnsBack(rows, 0.2, 10)
    expect(more).toEqual([])
    // 10 degrees of a circle of .2 m radius: 3.49 cm.
    expect(turn).toMatchObject({ swivelDeg: 20, azimuthDeg: 8, words: 'With the elbow 3.5 cm farther out on its arc than now the shaft turns back: it is 8.0 degrees across there, and less across with the elbow to either side. One azimuth then has two elbow places.' })
    expect(turnsBack([row(0, 0), row(10, 5), row(20, 4.8), row(30, 9)], 0.2, 10)).toEqual([])
    expect(turnsBack([row(0, 175), row(10, -178), row(20, -170)], 0.2, 10)).toEqual([])
    expect(turnsBack([row(0, 4), row(10, 1), row(20, 6)], 0.2, 30).map(({ swivelDeg }) => swivelDeg)).toEqual([10])
    expect(turnsBack([], 0.2, 0)).toEqual([])
  })

  it('has two elbow places for one azimuth: each is given, and each does it', () => {
    let seen = 0
    for (const input of bodies) {
      const model = modelOf(input)
      if (seen > 3) break
      const result = sweep(model)!
      const [turn] = result.turns
      if (!turn) continue
      const now = result.now.azimuthDeg
      const rows = result.rows.filter((r) => r.reachable)
      // Halfway between now and the turn's azimuth, where that lies beyond a degree off.
      const wanted = turn.azimuthDeg + (now > turn.azimuthDeg ? 1 : -1) * 0.4
      if (Math.abs(now - turn.azimuthDeg) < 1 || Math.abs(now - turn.azimuthDeg) > 60 || rows.at(-1)!.swivelDeg - turn.swivelDeg < 4 || turn.swivelDeg - rows[0]!.swivelDeg < 4) continue
      const found = inverse(model, { azimuthDeg: wanted })
      if (!found.found || found.others.length === 0) continue
      seen++
      expect(found.words).toContain('makes the same')
      for (const other of found.others) {
        const there = poseAt(model, model.swivelDeg + other.swivelDeg)
        expect(there.readings.azimuthDeg).toBeCloseTo(wanted, 3)
        expect(there.reachable).toBe(true)
        expect(Math.abs(other.swivelDeg)).toBeGreaterThanOrEqual(Math.abs(found.move.swivelDeg) - 1e-6)
      }
    }
    expect(seen).toBeGreaterThan(2)
  })
})
