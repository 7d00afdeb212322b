import { describe, expect, it } from 'vitest'
import { project } from '../../shared/camera/projection.ts'
import { mirrorPointsFile, parsePointsFile, type PointsFile, type ViewName } from '../../shared/contract/pointsFile.ts'
import type { Vec3 } from '../../shared/geometry/vec.ts'
import { seededRandom, type Random } from '../../shared/signal/random.ts'
import { matReading } from '../../shared/swing/matWords.ts'
import { measurePrepared, measureSwing, prepareSwing } from '../../shared/swing/measureSwing.ts'
import { measures } from '../../shared/swing/registry.ts'
import { randomRig, type Rig } from '../fixtures/rigs.ts'

type Corners = [[number, number], [number, number], [number, number], [number, number]]
const [across, along] = [1.2, 1.5]

/** A mat of 1.2 by 1.5 m marked in every view, begun at any corner and gone round either way. */
function withMat(rig: Rig, random: Random, at = { x: 0.05, z: 0.45, turn: 0.1 }): PointsFile {
  const [c, s] = [Math.cos(at.turn), Math.sin(at.turn)]
  const ground = ([[-1, -1], [1, -1], [1, 1], [-1, 1]] as const).map(([i, j]): Vec3 => {
    const [a, b] = [(i * across) / 2, (j * along) / 2]
    return [at.x + a * c - b * s, 0, at.z + a * s + b * c]
  })
  return {
    ...rig.file,
    views: rig.file.views.map((v, k) => {
      const first = Math.floor(4 * random.uniform())
      const order = [0, 1, 2, 3].map((i) => (first + i) % 4)
      if (random.uniform() < 0.5) order.reverse()
      const corners = order.map((i) => {
        const seen = project(rig.cameras[k]!.camera, ground[i]!)!
        return [seen[0] + 1.5 * random.normal(), seen[1] + 1.5 * random.normal()]
      }) as Corners
      // The sides 0 to 1 and 2 to 3 are those across.
      const isAcross = (order[0]! + order[1]!) % 4 === 1
      return { ...v, guides: { ...v.guides, mat: { corners, lengthM: isAcross ? across : along, widthM: isAcross ? along : across } } }
    }),
  }
}

const ofDistance = measures.filter(({ id }) => id === 'camera-distance')
const distance = (file: PointsFile, view: ViewName) => measurePrepared(prepareSwing(file), ofDistance).measures.find((m) => m.view === view)!

describe('a mat of known size on the ground', () => {
  it.each([['face-on'], ['down-the-line']] as const)('tells how far one camera stands, %s, whichever corner is marked first', (view) => {
    const random = seededRandom(31)
    let [without, withIt, stated, statedWithIt] = [0, 0, 0, 0]
    for (let i = 0; i < 24; i++) {
      const rig = randomRig(random, {}, { plumb: true, targetLine: true }, { rollDegrees: 3, offLine: 0.3 }, [view])
      const { place } = rig.cameras[0]!.camera
      const truth = 1000 * Math.hypot(place[0], place[2])
      const marked = distance(withMat(rig, random), view)
      const plain = distance(rig.file, view)
      without += Math.abs(plain.value - truth)
      stated += plain.sigma
      statedWithIt += marked.sigma
      withIt += Math.abs(marked.value - truth)
      expect(Math.abs(marked.value - truth)).toBeLessThan(3 * marked.sigma)
      expect(marked.sigma).toBeLessThan(300)
      expect(marked.basis).toMatch(/the mat/)
    }
    expect(withIt).toBeLessThan(0.5 * without)
    expect(statedWithIt).toBeLessThan(0.5 * stated)
  })

  it('makes two cameras surer, and is a left-hander\'s as well', () => {
    const random = seededRandom(32)
    const rig = randomRig(random, {}, { plumb: true, targetLine: true }, { rollDegrees: 3, offLine: 0.3 })
    const file = withMat(rig, random)
    expect(distance(file, 'face-on').sigma).toBeLessThan(0.8 * distance(rig.file, 'face-on').sigma)
    const mirrored = measureSwing({ ...mirrorPointsFile(file), handedness: 'left' }).measures.find((m) => m.id === 'camera-distance' && m.view === 'face-on')!
    expect(mirrored.value).toBeCloseTo(distance(file, 'face-on').value, 3)
  })

  it('is refused where its corners cross over, or a side has no size', () => {
    const random = seededRandom(33)
    const file = withMat(randomRig(random, {}, {}, {}, ['face-on']), random)
    const { mat } = file.views[0]!.guides!
    const [a, b, c, d] = mat!.corners
    const broken = (change: object) => parsePointsFile({ ...file, views: [{ ...file.views[0]!, guides: { mat: { ...mat, ...change } } }] })
    expect(parsePointsFile(file).ok).toBe(true)
    expect(broken({ corners: [a, c, b, d] })).toEqual({ ok: false, error: 'views[0].guides.mat.corners: its corners do not go around it: mark them one after another along its sides.' })
    expect(broken({ widthM: 0 })).toEqual({ ok: false, error: 'views[0].guides.mat.widthM: must be greater than 0.' })
  })
})

describe('what is left out of the scale', () => {
  it('is not used, alone or with others, and the basis does not name it', () => {
    const random = seededRandom(34)
    const rig = randomRig(random, {}, {}, {}, ['face-on'])
    const scaled = (scaleWithout?: ('club' | 'stature')[]) =>
      measureSwing({ ...rig.file, views: [{ ...rig.file.views[0]!, ...(scaleWithout && { scaleWithout }) }] })
    const stance = (result: ReturnType<typeof measureSwing>) => result.measures.find((m) => m.id === 'stance-width')
    expect(stance(scaled())!.basis).toMatch(/scale from the club and the stature/)
    expect(stance(scaled(['club']))!.basis).toMatch(/scale from the stature/)
    expect(stance(scaled(['club']))!.sigma).toBeGreaterThan(stance(scaled())!.sigma)
    expect(stance(scaled(['stature']))!.basis).toMatch(/scale from the club(?! and)/)
    const none = scaled(['club', 'stature'])
    expect(stance(none)).toBeUndefined()
    expect(none.missing.find((m) => m.id === 'stance-width')!.why).toMatch(/no scale/)
  })
})

describe('what a mat gives', () => {
  const both = (file: PointsFile) => {
    const swing = prepareSwing(file)
    return { swing, result: measurePrepared(swing) }
  }

  it('is told as the camera\'s place with its error; sides the wrong way round are named with the number that shows it', () => {
    const random = seededRandom(35)
    for (let i = 0; i < 6; i++) {
      const file = withMat(randomRig(random, {}, { plumb: true, targetLine: true }, { rollDegrees: 3, offLine: 0.3 }), random)
      const { swing, result } = both(file)
      expect(matReading(swing, result, 'face-on')).toMatchObject({ words: expect.stringMatching(/^With it the camera is \d\.\d\d \u00b1 0\.\d\d m away, \d\.\d\d \u00b1 0\.\d\d m high$/) as string, basis: expect.stringContaining('the mat') as string, warning: null })
      const turned = both({
        ...file, views: file.views.map((v) => ({ ...v, guides: { ...v.guides, mat: { ...v.guides!.mat!, lengthM: 1.6 * v.guides!.mat!.lengthM } } })),
      })
      const wrong = matReading(turned.swing, turned.result, 'face-on')
      expect(wrong.warning).toMatch(/^The mat's size contradicts the rest: by the other marks of the (?:face-on|down the line) view its sides are \d+ \u00b1 \d+ and \d+ \u00b1 \d+ cm, and \d+ and \d+ cm were given, \d+ times the error off\. It is left out/)
      expect(wrong.words).toMatch(/^Without it/)
      // Nothing else is pulled along.
      const plain = both({ ...file, views: file.views.map((v) => ({ ...v, guides: { ...v.guides, mat: undefined } })) }).result.measures.find((m) => m.id === 'camera-distance')!
      expect(turned.result.measures.find((m) => m.id === 'camera-distance')).toMatchObject({ value: plain.value, sigma: plain.sigma, basis: expect.stringContaining('the mat left out') as string })
    }
  })

  it('gives nothing, with the reason, where there is no address', () => {
    const random = seededRandom(36)
    const file = withMat(randomRig(random, {}, {}, {}, ['face-on']), random)
    const { swing, result } = both({ ...file, positions: {}, views: file.views.map((v) => ({ ...v, positions: {}, frames: v.frames.map(({ t }) => ({ t, points: {} })) })) })
    expect(matReading(swing, result, 'face-on').words).toMatch(/^Gives nothing yet: /)
  })
})
