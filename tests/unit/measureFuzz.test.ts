import { describe, expect, it } from 'vitest'
import { parsePointsFile, type PointsFile } from '../../shared/contract/pointsFile.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { measureSwing } from '../../shared/swing/measureSwing.ts'
import { digitise, parametricSwing, randomCamera } from '../fixtures/swingSim.ts'
import { trueTimes } from '../fixtures/swingTruth.ts'

/** Files as hurried hands make them: points, frames, cameras, positions and guides left out at random, points far off. */
function spoil(file: PointsFile, seed: number): PointsFile {
  const random = seededRandom(seed)
  const keepPoint = random.uniform() ** 2
  const keepFrame = 0.05 + 0.95 * random.uniform()
  const gone = new Set(Object.keys(file.views[0]!.frames[40]!.points).filter(() => random.uniform() < 0.25))
  const views = file.views.filter(() => random.uniform() > 0.2).map((v) => {
    const frames = v.frames
      .filter(() => random.uniform() < keepFrame)
      .map((f) => ({
        t: f.t,
        points: Object.fromEntries(
          Object.entries(f.points)
            .filter(([name]) => !gone.has(name) && random.uniform() > keepPoint)
            .map(([name, p]) => [name, random.uniform() < 0.01 ? [v.widthPx * random.uniform(), v.heightPx * random.uniform()] : p]),
        ),
      }))
    const { camera, ...rest } = v
    return {
      ...rest, frames, readoutS: random.uniform() < 0.5 ? 0.01 : 0,
      ...(camera && random.uniform() < 0.7 && { camera }),
      ...(random.uniform() < 0.5 && { guides: { plumb: [[80, 1500], [84, 420]] } }),
      ...(random.uniform() < 0.3 && { ballDiameterPx: 16 }),
    }
  })
  const { positions, ...rest } = file
  const kept = Object.fromEntries(Object.entries(positions ?? {}).filter(() => random.uniform() < 0.5))
  const parsed = parsePointsFile({ ...rest, sameSwing: random.uniform() < 0.7, handedness: random.uniform() < 0.5 ? 'left' : 'right', views, ...(random.uniform() < 0.5 && { positions: kept }) })
  return parsed.ok ? parsed.file : file
}

describe('measuring what hurried hands digitised', () => {
  const random = seededRandom(12)
  const motion = parametricSwing(random)
  const file = digitise(motion, [randomCamera('face-on', random), randomCamera('down-the-line', random)], random, { sigmaPx: 1.5, fps: 60, syncSigma: 0.002, matrices: true, positionSigma: 0.001 }, trueTimes(motion))

  it('never fails: each measure is a finite number with its error, or missing with a reason', () => {
    let found = 0
    let lacking = 0
    for (let seed = 1; seed <= 120; seed++) {
      const spoilt = spoil(file, seed)
      let result
      try {
        result = measureSwing(spoilt)
      } catch (error) {
        throw new Error(`seed ${seed}: ${error instanceof Error ? error.stack : String(error)}`, { cause: error })
      }
      for (const m of result.measures) {
        found++
        for (const value of [m.value, m.sigma, m.lo, m.hi]) expect(Number.isFinite(value), `seed ${seed}: ${m.id} ${m.at}`).toBe(true)
        expect(m.lo).toBeLessThanOrEqual(m.hi)
      }
      for (const m of result.missing) {
        lacking++
        expect(m.why).not.toBe('')
      }
      for (const p of Object.values(result.positions)) expect(Number.isFinite(p.t) && Number.isFinite(p.sigma), `seed ${seed}`).toBe(true)
    }
    // It would be no test if all were refused, or nothing.
    expect(found).toBeGreaterThan(500)
    expect(lacking).toBeGreaterThan(500)
  })

  it('takes two swings as two: positions of each view, and what needs both tied position by position, with what repeats', () => {
    const [one, two] = file.views
    const own = file.positions!
    const { positions: _, ...rest } = file
    const shifted = { ...two!, frames: two!.frames.map((f) => ({ ...f, t: f.t + 5 })) }
    const later = Object.fromEntries(Object.entries(own).map(([name, p]) => [name, { ...p, t: p.t + 5 }]))
    const result = measureSwing({ ...rest, sameSwing: false, views: [{ ...one!, positions: own }, { ...shifted, positions: later }] })
    expect(result.viewPositions!['down-the-line']!.top!.t - result.viewPositions!['face-on']!.top!.t).toBeCloseTo(5, 9)
    const tempos = result.measures.filter((m) => m.id === 'tempo-ratio')
    expect(tempos.map((m) => m.view)).toEqual(['face-on', 'down-the-line'])
    expect(tempos[0]!.value).toBeCloseTo(tempos[1]!.value, 9)
    const azimuth = result.measures.find((m) => m.id === 'shaft-azimuth')!
    const ofOne = measureSwing(file).measures.find((m) => m.id === 'shaft-azimuth')!
    expect(azimuth.basis).toMatch(/two swings tied position by position/)
    expect(azimuth.value).toBeCloseTo(ofOne.value, 0)
    expect(azimuth.sigma).toBeGreaterThan(2 * ofOne.sigma)
    expect(result.measures.some((m) => m.id === 'inclination' && m.at === 'top')).toBe(true)
  })
})
