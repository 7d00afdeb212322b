import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { armAngles, at, rowLength } from '../../shared/arms/joints.ts'
import { isNoSwivel, swivelElbow, swivelOf, trailSwivelDeg, trailSwivelElbow, type Elbow } from '../../shared/arms/swivel.ts'
import { length3, sub3, unit3, type Vec3 } from '../../shared/geometry/vec.ts'

const degrees = 180 / Math.PI
const elbowAt = (...args: Parameters<typeof swivelElbow>): Elbow => {
  const found = swivelElbow(...args)
  if (isNoSwivel(found)) throw new Error(found.fault)
  return found
}

describe('the elbow on its circle (Tolani, Goswami & Badler 2000; values computed from the stated formula with an independent library)', () => {
  const wrist: Vec3 = [0.5, 0, 0]
  const reference: Vec3 = [0, 0, -1]

  it('is where the published formula puts it', () => {
    const hanging = elbowAt([0, 0, 0], wrist, 0.3, 0.4, reference, 0)
    hanging.elbow.forEach((v, i) => expect(v).toBeCloseTo([0.18, 0, -0.24][i]!, 12))
    expect(hanging.flexion * degrees).toBeCloseTo(90, 10)
    elbowAt([0, 0, 0], wrist, 0.3, 0.4, reference, Math.PI / 2).elbow.forEach((v, i) => expect(v).toBeCloseTo([0.18, 0.24, 0][i]!, 12))
  })

  it('says why there is none, instead of NaN', () => {
    expect(swivelElbow([0, 0, 0], [0.7, 0, 0], 0.3, 0.4, reference, 0)).toEqual({ fault: 'stretched' })
    expect(swivelElbow([0, 0, 0], [0.71, 0, 0], 0.3, 0.4, reference, 0)).toEqual({ fault: 'out-of-reach' })
    expect(swivelElbow([0, 0, 0], [0.05, 0, 0], 0.3, 0.4, reference, 0)).toEqual({ fault: 'too-close' })
    expect(swivelElbow([0, 0, 0], wrist, 0.3, 0.4, [2, 0, 0], 0)).toEqual({ fault: 'reference-along-the-arm' })
    expect(swivelElbow([0, 0, 0], wrist, 0.3, 0, reference, 0)).toEqual({ fault: 'zero-length' })
    expect(swivelElbow([0, 0, 0], [0, 0, 0], 0.3, 0.4, reference, 0)).toEqual({ fault: 'zero-length' })
    expect(swivelOf([0, 0, 0], [0.3, 0, 0], [0.7, 0, 0], reference)).toEqual({ fault: 'stretched' })
  })

  it('keeps both lengths and comes back to its own swivel', () => {
    const part = fc.double({ min: -1, max: 1, noNaN: true })
    fc.assert(
      fc.property(fc.tuple(part, part, part), fc.double({ min: 0.2, max: 0.4, noNaN: true }), fc.double({ min: 0.2, max: 0.4, noNaN: true }), fc.double({ min: -3.1, max: 3.1, noNaN: true }), fc.double({ min: 0.3, max: 0.95, noNaN: true }), (direction, upper, fore, phi, stretch) => {
        fc.pre(length3(direction) > 0.01)
        const n = unit3(direction)
        fc.pre(n !== null && Math.hypot(n[0], n[1]) > 0.01)
        const d = Math.abs(upper - fore) + stretch * (upper + fore - Math.abs(upper - fore))
        const end: Vec3 = [n![0] * d, n![1] * d, n![2] * d]
        const { elbow } = elbowAt([0, 0, 0], end, upper, fore, reference, phi)
        expect(length3(elbow)).toBeCloseTo(upper, 10)
        expect(length3(sub3(end, elbow))).toBeCloseTo(fore, 10)
        expect(swivelOf([0, 0, 0], elbow, end, reference)).toBeCloseTo(phi, 8)
      }),
      { numRuns: 300 },
    )
  })

  it('counts the trail elbow from hanging, positive out behind the player', () => {
    // At the top: the arm points away from the target and up.
    const up: Vec3 = [-0.35, 0.3, 0.05]
    const hanging = trailSwivelElbow([0, 0, 0], up, 0.33, 0.26, 0) as Elbow
    const behind = trailSwivelElbow([0, 0, 0], up, 0.33, 0.26, 60) as Elbow
    expect(behind.elbow[2]).toBeLessThan(hanging.elbow[2] - 0.1)
    expect(behind.elbow[1]).toBeGreaterThan(hanging.elbow[1])
    expect(trailSwivelDeg([0, 0, 0], behind.elbow, up)).toBeCloseTo(60, 8)
    expect(trailSwivelDeg([0, 0, 0], [0, -0.3, 0], [0, -0.5, 0])).toEqual({ fault: 'reference-along-the-arm' })
  })
})

describe('joint angles in the ISB’s conventions (Wu et al. 2005), worked out by hand for plain postures', () => {
  const [upper, fore] = [0.3, 0.25]
  const tilt = (18 * Math.PI) / 180
  /** Toward the trail side is outward for the trail arm; `palm` is where the palm looks. All in (lead, up, front). */
  const read = (outward: 1 | -1, elbow: Vec3, wrist: Vec3, bones: Vec3, palm: Vec3, thumb: Vec3): Float64Array => {
    const flip = (v: Vec3): Vec3 => [outward * v[0], v[1], v[2]]
    const n = unit3(wrist)!
    const k = elbow[0] * n[0] + elbow[1] * n[1] + elbow[2] * n[2]
    const e = unit3([elbow[0] - k * n[0], elbow[1] - k * n[1], elbow[2] - k * n[2]])!
    const hand: Vec3 = [0, 1, 2].map((i) => Math.cos(tilt) * bones[i]! + Math.sin(tilt) * palm[i]!) as unknown as Vec3
    const row = new Float64Array(rowLength)
    expect(armAngles(row, outward, Float64Array.from([...flip(n), ...flip(e), ...flip(hand), ...flip(thumb)]), length3(wrist), upper, fore)).toBe(true)
    return row
  }
  // Written for outward = +lead, so that the inward side is -lead; the trail arm is its mirror image.
  const postures: readonly (readonly [string, elbow: Vec3, wrist: Vec3, bones: Vec3, palm: Vec3, thumb: Vec3, Partial<Record<keyof typeof at, number>>])[] = [
    ['hanging, elbow square, thumb up', [0, -upper, 0], [0, -upper, fore], [0, 0, 1], [-1, 0, 0], [0, 1, 0], { elevation: 0, elbow: 90, rotation: 0, pronation: 0, wristFlexion: 0, ulnar: 0 }],
    ['the same, palm down', [0, -upper, 0], [0, -upper, fore], [0, 0, 1], [0, -1, 0], [-1, 0, 0], { elbow: 90, pronation: 90, wristFlexion: 0, ulnar: 0 }],
    ['the same, wrist bent back by 30', [0, -upper, 0], [0, -upper, fore], [0.5, 0, Math.cos(Math.PI / 6)], [-Math.cos(Math.PI / 6), 0, 0.5], [0, 1, 0], { pronation: 0, wristFlexion: -30, ulnar: 0 }],
    ['the same, dropped to the little finger by 20', [0, -upper, 0], [0, -upper, fore], [0, -Math.sin(20 / degrees), Math.cos(20 / degrees)], [-1, 0, 0], [0, Math.cos(20 / degrees), Math.sin(20 / degrees)], { wristFlexion: 0, ulnar: 20 }],
    ['raised to the side, forearm forward', [upper, 0, 0], [upper, 0, fore], [0, 0, 1], [0, -1, 0], [-1, 0, 0], { plane: 0, elevation: 90, axial: 0, rotation: 0, elbow: 90, pronation: 0 }],
    ['raised to the side, forearm up: turned out', [upper, 0, 0], [upper, fore, 0], [0, 1, 0], [0, 0, 1], [-1, 0, 0], { plane: 0, elevation: 90, axial: -90, rotation: -90 }],
    ['raised forward, forearm up', [0, 0, upper], [0, fore, upper], [0, 1, 0], [-1, 0, 0], [0, 0, -1], { plane: 90, elevation: 90, axial: -90 }],
    ['raised forward, forearm across', [0, 0, upper], [-fore, 0, upper], [-1, 0, 0], [0, -1, 0], [0, 0, -1], { plane: 90, elevation: 90, axial: 0 }],
  ]
  it.each(postures)('%s', (_, elbow, wrist, bones, palm, thumb, wanted) => {
    for (const outward of [1, -1] as const) {
      const row = read(outward, elbow, wrist, bones, palm, thumb)
      for (const [name, value] of Object.entries(wanted)) expect(row[at[name as keyof typeof at]]! * degrees, `${name}, ${outward === 1 ? 'lead' : 'trail'}`).toBeCloseTo(value!, 6)
    }
  })

  it('keeps the rotation steady where plane and axial rotation each lose their meaning: the arm hanging', () => {
    const near = (x: number, z: number): number => {
      const n = unit3([x, -1, z])!
      return read(1, [n[0] * upper, n[1] * upper, n[2] * upper], [n[0] * upper, n[1] * upper, n[2] * upper + fore], [0, 0, 1], [-1, 0, 0], [0, 1, 0])[at.rotation]! * degrees
    }
    for (const [x, z] of [[1e-3, 0], [0, 1e-3], [-1e-3, 0], [1e-3, -1e-3]] as const) expect(Math.abs(near(x, z))).toBeLessThan(0.2)
  })
})
