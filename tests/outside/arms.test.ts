import { describe, expect, it } from 'vitest'
import { fitArms } from '../../shared/arms/fit.ts'
import { fitWorld, type WorldPoints } from '../../shared/arms/fitWorld.ts'
import { forward } from '../../shared/arms/forward.ts'
import { createArms } from '../../shared/arms/model.ts'
import { isArmsRefusal, type FitResult } from '../../shared/arms/types.ts'
import type { Vec3 } from '../../shared/geometry/vec.ts'
import { prepareSwing } from '../../shared/swing/measureSwing.ts'
import { distance3 } from '../fixtures/distance3.ts'
import { outsideJson } from '../fixtures/outsideData.ts'
import { renderedPoints, renderedTruth, type RenderedOptions } from '../fixtures/renderedSwing.ts'

/** The recorded swing: obtained from mocap.cs.cmu.edu, created with funding from NSF EIA-0196217. No club was recorded. */
interface Recorded {
  readonly joints: readonly string[]
  readonly events: { readonly address: number; readonly top: number; readonly impact: number }
  readonly positions: readonly (readonly Vec3[])[]
}
const recorded = outsideJson<Recorded>('mocap/cmu_golf_joints.json')

/** A right-hander: left is lead. The first knuckle of the middle finger stands for the middle of the fist. */
const names: Readonly<Record<keyof WorldPoints, string>> = {
  leadShoulder: 'LeftArm', trailShoulder: 'RightArm', leadElbow: 'LeftForeArm', trailElbow: 'RightForeArm', leadWrist: 'LeftHand', trailWrist: 'RightHand',
  leadHip: 'LeftUpLeg', trailHip: 'RightUpLeg', leadFist: 'LeftHandMiddle1', trailFist: 'RightHandMiddle1',
}
const pointsAt = ({ joints, positions }: Recorded, frame: number): WorldPoints =>
  Object.fromEntries(Object.entries(names).map(([point, joint]) => [point, positions[frame]![joints.indexOf(joint)]!])) as unknown as WorldPoints

describe.runIf(recorded)('the recorded swing', () => {
  // Upper arm .265 m and forearm .26 m at .186 and .146 of stature.
  const statureM = 1.58
  const { address, top, impact } = recorded?.events ?? { address: 0, top: 0, impact: 0 }

  it('is fitted on every fourth frame from address to impact with one person’s lengths and one hold of the club; the residual', () => {
    const first: (readonly number[])[] = []
    let numbers: readonly number[] = []
    for (let frame = address; frame <= impact; frame += 20) {
      const { constants } = fitWorld(pointsAt(recorded!, frame), statureM, 0.01)!
      numbers = [...constants.keys()]
      first.push([...constants.values()])
    }
    const held = new Map(numbers.map((number, k) => [number, first.map((values) => values[k]!).toSorted((a, b) => a - b)[Math.floor(first.length / 2)]!]))
    const residuals: number[] = []
    let largestGap = 0
    let lengths: readonly number[] | null = null
    for (let frame = address; frame <= impact; frame += 4) {
      const fit = fitWorld(pointsAt(recorded!, frame), statureM, 0.01, held)
      expect(fit).not.toBeNull()
      residuals.push(1000 * fit!.rms)
      const { lead, trail } = fit!.input.body.arms
      const now = [lead.upperArm, lead.forearm, trail.upperArm, trail.forearm, fit!.input.body.grip.lead.awayM, fit!.input.body.grip.trail.awayM]
      lengths ??= now
      // A stretched arm is given the last fraction of a millimetre that its wrist is out of reach.
      now.forEach((length, k) => expect(Math.abs(length - lengths![k]!)).toBeLessThan(0.001))
      const model = createArms(fit!.input)
      if (isArmsRefusal(model)) {
        // At address the trail arm may hang so straight that its swivel has no meaning.
        expect(model.refused).toBe('swivel-undefined')
        continue
      }
      const pose = forward(model, model.swivelDeg)
      if (!isArmsRefusal(pose)) largestGap = Math.max(largestGap, pose.gapM)
    }
    const rms = Math.sqrt(residuals.reduce((sum, r) => sum + r * r, 0) / residuals.length)
    console.log(`recorded swing: ${residuals.length} frames, residual ${rms.toFixed(1)} mm rms, ${Math.max(...residuals).toFixed(1)} mm on the worst frame; the recorded hands are not rigid on a club`)
    expect(rms).toBeLessThan(20)
    expect(Math.max(...residuals)).toBeLessThan(30)
    expect(largestGap).toBeLessThan(1e-4)
  })

  it('says at its own top what the trade says: elbow out, shaft across (common practice, no source)', () => {
    const fit = fitWorld(pointsAt(recorded!, top), statureM, 0.01)!
    const model = createArms(fit.input)
    if (isArmsRefusal(model)) throw new Error(model.why)
    const azimuths = [-12, -6, 0, 6, 12].map((by) => {
      const pose = forward(model, model.swivelDeg + by)
      return isArmsRefusal(pose) ? NaN : pose.readings.azimuthDeg
    })
    const steps = azimuths.slice(1).map((a, i) => a - azimuths[i]! - 360 * Math.round((a - azimuths[i]!) / 360))
    console.log(`recorded swing at the top: shaft ${steps.map((s) => s.toFixed(1)).join(', ')} degrees for each 6 degrees of elbow out`)
    for (const step of steps) expect(step).toBeGreaterThan(0)
  })
})

const truth = renderedTruth()
describe.runIf(truth)('the rendered swing', () => {
  const frame = truth?.frames.reduce((best, f) => (Math.abs(f.t - truth.events.top) < Math.abs(best.t - truth.events.top) ? f : best))
  const fitted = (options: RenderedOptions): FitResult => {
    const fit = fitArms(prepareSwing(renderedPoints(truth!, { positions: true, ...options })), 'top')
    if (isArmsRefusal(fit)) throw new Error(fit.why)
    return fit
  }
  it('is fitted at the top from two views, with cameras given and solved', () => {
    for (const [cameras, within] of [[true, 0.012], [false, 0.03]] as const) {
      const fit = fitted({ cameras, sigmaPx: 1.5 })
      for (const side of ['lead', 'trail'] as const)
        for (const part of ['shoulder', 'elbow', 'wrist'] as const)
          expect(distance3(fit.pose[side][part], frame!.joints[`${side}${part[0]!.toUpperCase()}${part.slice(1)}`]!), `${side} ${part}, cameras ${cameras ? 'given' : 'solved'}`).toBeLessThan(within)
      expect(Math.abs(fit.pose.readings.azimuthDeg - truth!.shaftAtTop.azimuthDeg)).toBeLessThan(3 * fit.sigma.azimuthDeg)
      expect(fit.misfit).toBeLessThan(1.5)
    }
  })
  it('is fitted from the down-the-line view alone, farther off and saying so', () => {
    const both = fitted({ sigmaPx: 1.5 })
    const fit = fitted({ sigmaPx: 1.5, views: ['down-the-line'] })
    expect(Math.abs(fit.pose.readings.swivelDeg - both.pose.readings.swivelDeg)).toBeLessThan(2.5 * fit.sigma.swivelDeg)
    expect(fit.sigma.swivelDeg).toBeGreaterThan(3 * both.sigma.swivelDeg)
  })
  it('stands as published swings do: the trail shoulder turned out by 66 +- 11 degrees (Zheng et al. 2008), within three of these', () => {
    expect(Math.abs(-fitted({}).pose.trail.angles.rotation - 66)).toBeLessThan(33)
  })
})
