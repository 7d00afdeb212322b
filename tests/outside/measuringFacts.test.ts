import { describe, expect, it } from 'vitest'
import { fractions } from '../../shared/arms/standard.ts'
import { motionBlur, tempoFromFrames } from '../../shared/camera/captureRate.ts'
import { pinhole } from '../../shared/camera/projection.ts'
import { ballDiameter, scaleFromClub, scaleFromStature, shaftEndAboveSole, usualClubLengths } from '../../shared/camera/scale.ts'
import { parsePointsFile } from '../../shared/contract/pointsFile.ts'
import type { Vec3 } from '../../shared/geometry/vec.ts'
import { measureSwing } from '../../shared/swing/measureSwing.ts'
import { measures } from '../../shared/swing/registry.ts'

const rad = Math.PI / 180
const inch = 0.0254

describe('equipment', () => {
  // R&A and USGA Equipment Rules, Part 4: 1.680 in at least.
  it('the ball is 42.67 mm', () => expect(ballDiameter).toBeCloseTo(1.68 * inch, 5))

  // Common practice, no source.
  it.each([['driver', 45, 45.5], ['3-iron', 39, 39], ['5-iron', 38, 38], ['7-iron', 37, 37], ['9-iron', 36, 36], ['wedge', 35.5, 35.5]])('a %s is usually %d to %d in', (kind, from, to) => {
    const inches = usualClubLengths[kind]! / inch
    expect(inches).toBeGreaterThan(from - 0.03)
    expect(inches).toBeLessThan(to + 0.03)
    // Rule 2.1c: 18 to 48 in.
    expect(inches).toBeGreaterThan(18)
    expect(inches).toBeLessThan(48)
  })

  // R&A and USGA Equipment Rules, Part 2 section 2: straight from the grip's end to at most 5 in above the sole.
  it('the shaft ends at most 5 in above the sole, and a scale from its end is that of the club', () => {
    expect(shaftEndAboveSole.m + 2 * shaftEndAboveSole.sigma).toBeLessThan(5 * inch)
    const [k, clubM] = [1 / 400, 0.94]
    for (const above of [0.02, 0.05, 0.08]) {
      const short = scaleFromClub(clubM, (clubM - above) / k, 1, 'down-the-line', 55 * rad, 4 * rad, 'shaftEnd')
      expect(Math.abs(short.metresPerPx - k)).toBeLessThan(2 * short.sigma)
    }
    expect(scaleFromClub(clubM, (clubM - 0.05) / k, 1, 'down-the-line', 55 * rad, 4 * rad, 'shaftEnd').metresPerPx).toBeCloseTo(k, 9)
  })
})

describe('the body', () => {
  // Drillis & Contini 1966, in Winter, Biomechanics and Motor Control of Human Movement, fig. 4.1; lengths computed.
  it('at 1.80 m: upper arm .3348, forearm .2628, hand .1944, shoulder width .4662, shoulder to wrist .5976 m', () => {
    const of = (part: keyof typeof fractions) => 1.8 * fractions[part]
    expect(of('upperArm')).toBeCloseTo(0.3348, 4)
    expect(of('forearm')).toBeCloseTo(0.2628, 4)
    expect(of('hand')).toBeCloseTo(0.1944, 4)
    expect(of('shoulderWidth')).toBeCloseTo(0.4662, 4)
    expect(of('upperArm') + of('forearm')).toBeCloseTo(0.5976, 4)
    expect([fractions.hipWidth, fractions.shoulderHeight, fractions.hipHeight]).toEqual([0.191, 0.818, 0.53])
  })
  // Ankle .039 of the stature (same source); how high the head is at address: common practice, no source.
  it('a scale from the stature counts from the ankle, .039 of it', () => {
    const scale = scaleFromStature(1.8, 400, 1, 'head')
    expect(scale.metresPerPx * 400).toBeCloseTo(1.8 * (0.855 - 0.039), 9)
    expect(scale.sigma / scale.metresPerPx).toBeGreaterThan(0.03)
  })
})

/** A shaft in the vertical plane along the target line, at an elevation, filmed from far off so that perspective does not show. */
function filmed(elevation: number, psi: number): number {
  const away = 200_000
  const focal = 400 * away
  const place: Vec3 = [away * Math.sin(psi), 1, away * Math.cos(psi)]
  const ahead: Vec3 = [-Math.sin(psi), 0, -Math.cos(psi)]
  const right: Vec3 = [Math.cos(psi), 0, -Math.sin(psi)]
  const matrix = pinhole(focal, [540, 960], place, right, [0, -1, 0], ahead)
  const see = ([x, y, z]: Vec3): [number, number] => {
    const [u, v, w] = matrix.map((row) => row[0]! * x + row[1]! * y + row[2]! * z + row[3]!) as [number, number, number]
    return [u / w, v / w]
  }
  const butt = see([0, 1, 0])
  const clubhead = see([-Math.cos(elevation), 1 + Math.sin(elevation), 0])
  const parsed = parsePointsFile({
    format: 'crossbearing-points', version: 1, handedness: 'right', positions: { top: { t: 0.1, sigma: 0 } },
    views: [{ view: 'face-on', widthPx: 1080, heightPx: 1920, captureRate: 120, frames: [0, 0.1, 0.2].map((t) => ({ t, points: { butt, clubhead } })) }],
  })
  if (!parsed.ok) throw new Error(parsed.error)
  const found = measureSwing(parsed.file).measures.find(({ id, at }) => id === 'shaft-to-vertical' && at === 'top')!
  // From straight down, growing away from the target: 90 is level.
  return found.value - 90
}

describe('one view sees apparent angles', () => {
  // tan(seen) = tan(true) / cos(psi): Hartley & Zisserman, from memory; numbers computed.
  it.each([[45, 0, 45], [45, 30, 49.107], [30, 15, 30.867]])('%d degrees filmed %d off square are measured as %d', (elevation, psi, seen) => {
    expect(filmed(elevation * rad, psi * rad)).toBeCloseTo(seen, 3)
  })

  // Computed from the stated formula: a shaft in a plane of slope beta through the target line, gamma short of level.
  it.each([[50, 30], [50, 5], [45, 20], [62, 41]])('down the line a shaft in a plane of slope %d is seen at that slope, however short of level (%d) it stops', (beta, gamma) => {
    const [along, up, out] = [Math.cos(gamma * rad), Math.sin(gamma * rad) * Math.sin(beta * rad), -Math.sin(gamma * rad) * Math.cos(beta * rad)]
    expect(along).toBeGreaterThan(0)
    const pitch = measures.find(({ id }) => id === 'shaft-pitch')!.planar!
    expect(pitch.value([[0, 0], [out, up]], 'top')).toBeCloseTo(beta, 9)
  })
})

describe('time', () => {
  // Zheng et al. 2008, Int J Sports Med 29:487: peak shaft rate 2413 degrees a second.
  it('at the published peak a shutter of 1/500 s smears the shaft over 4.8 degrees, as the measure of its rate warns', () => {
    expect(motionBlur(2413, 1 / 500)).toBeCloseTo(4.8, 1)
    expect(motionBlur(2000, 1 / 500)).toBeCloseTo(4, 9)
    expect(measures.find(({ id }) => id === 'shaft-rate')!.definition).toContain('2000 degrees a second over 4 degrees')
  })
  // Backswing .7 to .9 s, downswing .23 to .30 s, about 3:1: second-hand.
  it('published times at 240 frames a second come to a tempo about 3', () => {
    const { ratio, low, high } = tempoFromFrames(192, 64)
    expect(192 / 240).toBeCloseTo(0.8, 9)
    expect(64 / 240).toBeCloseTo(0.267, 3)
    expect(ratio).toBe(3)
    expect([low, high].map((one) => Number(one.toFixed(2)))).toEqual([2.94, 3.06])
  })
})

describe('norms', () => {
  // Bourgain 2022 reports no consensus of method: head movement, inclination and the lead arm have no verified norm.
  it('no measure says which value is good', () => {
    for (const { id, definition, sign, formula } of measures) if (!id.startsWith('camera-')) expect(`${definition} ${sign} ${formula}`).not.toMatch(/\b(?:good|ideal|should|normal|correct|tour|average|recommended)\b/i)
  })
})
