import { describe, expect, it } from 'vitest'
import { axisYaw } from '../../shared/camera/place/place.ts'
import type { PointsFile } from '../../shared/contract/pointsFile.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { measureSwing } from '../../shared/swing/measureSwing.ts'
import { randomRig } from '../fixtures/rigs.ts'
import { otherTruth } from '../fixtures/swingTruth.ts'

/** The file without points of these names, in every view or in one. */
const without = (file: PointsFile, names: RegExp, view?: string): PointsFile => ({
  ...file,
  views: file.views.map((v) => (view && v.view !== view ? v : { ...v, frames: v.frames.map((f) => ({ ...f, points: Object.fromEntries(Object.entries(f.points).filter(([name]) => !names.test(name))) })) })),
})
const among = ({ measures }: ReturnType<typeof measureSwing>, id: string, view: string | null = null) => measures.find((m) => m.id === id && m.view === view)!
const find = (file: PointsFile, id: string, view: string | null = null) => among(measureSwing(file), id, view)

describe('cameras without both ankles at address', () => {
  it.each([
    ['one of them', /leadAnkle/, 'the trail ankle alone stands in for the origin, within 60 mm along the target line and 30 mm across'],
    ['neither', /Ankle/, 'no ankle at address: the ball stands in for the origin, within 110 mm along the target line and 140 mm across'],
    ['neither, and no ball', /Ankle|ball/, 'no ankle at address: the clubhead stands in for the origin, within 110 mm along the target line and 140 mm across'],
  ] as const)('%s: the shaft at the top is as sure, what is from the origin less so, and the basis says what stands in', (_, names, words) => {
    const random = seededRandom(311)
    let [zz, far, n] = [0, 0, 0]
    for (let i = 0; i < 5; i++) {
      const rig = randomRig(random)
      const file = without(rig.file, names)
      const [lacking, full] = [measureSwing(file), measureSwing(rig.file)]
      const [top, whole] = [among(lacking, 'shaft-azimuth'), among(full, 'shaft-azimuth')]
      expect(top.basis).toContain(words)
      expect(whole.basis).not.toContain('stands in')
      expect(top.sigma).toBeLessThan(1.1 * whole.sigma)
      zz += ((top.value - otherTruth('shaft-azimuth', rig.motion, null, rig.times, 'top')!) / top.sigma) ** 2
      const place = among(lacking, 'camera-distance', 'face-on')
      const { camera } = rig.cameras[0]!
      far += ((place.value - 1000 * Math.hypot(camera.place[0], camera.place[2])) / place.sigma) ** 2
      expect(place.sigma).toBeGreaterThan(among(full, 'camera-distance', 'face-on').sigma)
      n++
    }
    expect(Math.sqrt(zz / n)).toBeLessThan(2)
    expect(Math.sqrt(far / n)).toBeLessThan(2)
  })

  it('with the feet out of one picture only are as with both', () => {
    const rig = randomRig(seededRandom(312))
    const file = without(rig.file, /Ankle/, 'down-the-line')
    const yaw = find(file, 'camera-yaw', 'face-on')
    expect(yaw.basis).not.toContain('stands in')
    expect(Math.abs(yaw.value - axisYaw('face-on', rig.cameras[0]!.camera)!)).toBeLessThan(3 * yaw.sigma)
  })

  it('and without a line on the ground say that the direction is only the cameras\' own', () => {
    const rig = randomRig(seededRandom(313), {}, { plumb: true })
    const top = find(without(rig.file, /Ankle/), 'shaft-azimuth')
    expect(top.basis).toContain('the cameras are taken to look square')
    expect(top.sigma).toBeGreaterThan(4)
    expect(Math.abs(top.value - otherTruth('shaft-azimuth', rig.motion, null, rig.times, 'top')!)).toBeLessThan(3 * top.sigma)
  })

  it('nor the ball nor the clubhead are refused, and what is missing is named', () => {
    const { file } = randomRig(seededRandom(314))
    const none = measureSwing(without(file, /Ankle|ball|clubhead|shaftEnd/)).missing.find((m) => m.id === 'shaft-azimuth' && m.at === 'top')!
    expect(none.why).toMatch(/^The cameras cannot be solved: at address neither an ankle nor the ball nor the clubhead is placed/)
  })
})
