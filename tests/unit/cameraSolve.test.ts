import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { axisYaw } from '../../shared/camera/place/place.ts'
import { pinhole, cameraFrom, project } from '../../shared/camera/projection.ts'
import { fitBlocks, type Term } from '../../shared/camera/solve/blockFit.ts'
import { focalFrom35, focalTo35, phoneCamera, phoneNumbers, phoneSize, poseOf, seePoint } from '../../shared/camera/solve/phone.ts'
import { isRefusal, solveCameras } from '../../shared/camera/solve/solveCameras.ts'
import { numericTerm } from '../../shared/camera/solve/terms.ts'
import { mirrorPointsFile, type PointsFile } from '../../shared/contract/pointsFile.ts'
import type { Vec3 } from '../../shared/geometry/vec.ts'
import { fitLeastSquares } from '../../shared/signal/leastSquares.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { measurePrepared, measureSwing, prepareSwing } from '../../shared/swing/measureSwing.ts'
import { isMissing } from '../../shared/swing/reading.ts'
import { solveInput } from '../../shared/swing/solveInput.ts'
import { countRigs, tallyLine, type RigCounts } from '../fixtures/rigCoverage.ts'
import { randomRig, rigCamera } from '../fixtures/rigs.ts'
import { digitise, parametricSwing } from '../fixtures/swingSim.ts'
import { trueTimes } from '../fixtures/swingTruth.ts'

const views = ['face-on', 'down-the-line'] as const
const angle = (most: number) => fc.double({ min: -most, max: most, noNaN: true })

describe('a phone by nine numbers', () => {
  const numbers = fc.tuple(
    fc.double({ min: 6.8, max: 7.6, noNaN: true }), fc.double({ min: 500, max: 580, noNaN: true }), fc.double({ min: 900, max: 1000, noNaN: true }),
    angle(0.4), angle(0.3), angle(0.3), angle(1), fc.double({ min: 0.2, max: 2, noNaN: true }), fc.double({ min: 2.5, max: 8, noNaN: true }))

  it('is the camera that those numbers say, and gives them back', () => {
    fc.assert(fc.property(numbers, fc.constantFrom(...views), (n, view) => {
      const g = view === 'face-on' ? n : [...n.slice(0, 6), -n[8], n[7], n[6]]
      const back = phoneNumbers(view, phoneCamera(view, g))
      for (let i = 0; i < phoneSize; i++) expect(back[i]).toBeCloseTo(g[i]!, 6)
    }))
  })

  it('face-on looks at -Z with the target to the right, down the line at the target with the ball to the right', () => {
    const square = (view: (typeof views)[number], place: Vec3) => phoneCamera(view, [Math.log(1500), 540, 960, 0, 0, 0, ...place])
    const faceOn = cameraFrom(pinhole(1500, [540, 960], [0, 1, 4], [1, 0, 0], [0, -1, 0], [0, 0, -1]))!
    const along = cameraFrom(pinhole(1500, [540, 960], [-4, 1, 0.4], [0, 0, 1], [0, -1, 0], [1, 0, 0]))!
    const p: Vec3 = [0.3, 1.4, 0.5]
    project(square('face-on', [0, 1, 4]), p)!.forEach((v, i) => expect(v).toBeCloseTo(project(faceOn, p)![i]!, 9))
    project(square('down-the-line', [-4, 1, 0.4]), p)!.forEach((v, i) => expect(v).toBeCloseTo(project(along, p)![i]!, 9))
  })

  it('knows how its picture moves with each number and with the point', () => {
    fc.assert(fc.property(numbers, angle(0.5), angle(0.5), (n, dx, dy) => {
      const at = (g: readonly number[], p: readonly number[]) => {
        const out = new Float64Array(2)
        seePoint(poseOf('face-on', g), p, 0, out, new Float64Array(18), new Float64Array(6))
        return out
      }
      const p = [dx, 1 + dy, 0.3]
      const jg = new Float64Array(18)
      const jp = new Float64Array(6)
      fc.pre(seePoint(poseOf('face-on', n), p, 0, new Float64Array(2), jg, jp))
      const check = (analytic: readonly number[], vary: (k: number) => Float64Array) => {
        const [high, low] = [vary(1e-5), vary(-1e-5)]
        for (const i of [0, 1] as const) expect(Math.abs((high[i]! - low[i]!) / 2e-5 - analytic[i]!)).toBeLessThan(1e-4 * (1 + Math.abs(analytic[i]!)))
      }
      for (let k = 0; k < phoneSize; k++) check([jg[k]!, jg[phoneSize + k]!], (h) => at(n.map((v, i) => (i === k ? v + h : v)), p))
      for (let k = 0; k < 3; k++) check([jp[k]!, jp[3 + k]!], (h) => at(n, p.map((v, i) => (i === k ? v + h : v))))
    }), { numRuns: 40 })
  })

  it('has a focal length in the terms of a 35 mm frame', () => {
    // A frame of 36 x 24 mm has a diagonal of 43.27 mm; 1080 x 1920 has one of 2202.9 px.
    expect(focalFrom35(28, 1080, 1920)).toBeCloseTo((28 / 43.2666) * 2202.9, 1)
    expect(focalTo35(focalFrom35(28, 1080, 1920), 1080, 1920)).toBeCloseTo(28, 9)
  })
})

describe('a fit by blocks', () => {
  it('comes to what a fit without any structure comes to, covariance and all', () => {
    // y = a + b x + c_k: two shared numbers, one point (three numbers) for each of four groups, all tied by a prior.
    const random = seededRandom(5)
    const data = Array.from({ length: 60 }, (_, i) => ({ x: random.uniform() * 3, group: i % 4, axis: i % 3, y: 1 + 0.5 * (i % 5) + random.normal() }))
    const residual = (d: (typeof data)[number], g: ArrayLike<number>, p: ArrayLike<number>) => g[0]! * Math.exp(-0.2 * g[1]! * d.x) + p[3 * d.group + d.axis]! - d.y
    const terms: Term[] = data.map((d) => numericTerm(1, [0, 1], [d.group], (g, p, r) => {
      r[0] = residual(d, g, p)
      return true
    }))
    for (let k = 0; k < 4; k++) terms.push(numericTerm(3, [], [k], (_, p, r) => {
      for (let i = 0; i < 3; i++) r[i] = p[3 * k + i]! / 2
      return true
    }))
    const blocks = fitBlocks({ terms, sharedCount: 2, pointCount: 4 }, [1, 1], new Float64Array(12), { tolerance: 1e-14 })
    const dense = fitLeastSquares({
      count: data.length + 12,
      residuals: (p, out) => {
        data.forEach((d, i) => (out[i] = residual(d, p, p.subarray(2))))
        for (let i = 0; i < 12; i++) out[data.length + i] = p[2 + i]! / 2
      },
    }, [1, 1, ...new Float64Array(12)])
    expect(blocks.converged).toBe(true)
    expect(2 * blocks.cost).toBeCloseTo(dense.sumOfSquares, 6)
    for (const i of [0, 1]) {
      expect(blocks.shared[i]).toBeCloseTo(dense.parameters[i]!, 4)
      for (const j of [0, 1]) expect(blocks.covariance![i * 2 + j]! / dense.covariance![i * 14 + j]!).toBeCloseTo(1, 2)
    }
  })

  it('says what is not determined by giving no covariance', () => {
    const term = numericTerm(1, [0, 1], [], (g, _, r) => {
      r[0] = g[0]! + g[1]! - 3
      return true
    })
    expect(fitBlocks({ terms: [term], sharedCount: 2, pointCount: 0 }, [0, 0], []).covariance).toBeNull()
  })
})

/**
 * Of n rigs the share whose interval holds the truth is itself known to 2.6 standard deviations (99 %); what is asked is
 * 63 to 73 % within that. The nightly run of 1,000 asks for it without.
 */
const band = (n: number) => 2.6 * Math.sqrt((0.683 * 0.317) / n)
const honest = (counts: RigCounts, key: string) => {
  const t = counts.tallies.get(key)!
  expect(t.held / t.n, tallyLine(key, t)).toBeGreaterThan(0.63 - band(t.n))
  expect(t.held / t.n, tallyLine(key, t)).toBeLessThan(0.73 + band(t.n))
  return t
}

describe('two unknown phones 4 m away, up to .6 m off their lines and rolled up to 8 degrees', () => {
  const rigs = 150
  const counts = countRigs({ rigs, seed: 31, options: { stops: [-10, 45] } })

  it('give the azimuth at the top within 3 degrees, with intervals that hold what they say', () => {
    expect(counts.refused).toEqual([])
    const t = honest(counts, 'shaft-azimuth top')
    expect(t.n).toBe(rigs)
    expect(t.sigma / t.n).toBeLessThan(3)
    expect(Math.sqrt(t.ee / t.n)).toBeLessThan(3)
    expect(t.largest).toBeLessThan(6)
    for (const key of ['shaft-elevation top', 'shaft-short-of-level top', 'shaft-azimuth-at-level top', 'shaft-plane-slope top', 'ray-gap top']) honest(counts, key)
  })

  it('carry a shaft up to 45 degrees short on to level without bias, where the azimuth as it is was far off', () => {
    const t = counts.tallies.get('shaft-azimuth-at-level top')!
    expect(counts.deepest).toBeGreaterThan(28)
    expect(Math.abs(t.e / t.n), tallyLine('at level', t)).toBeLessThan(0.3)
  })

  it('know where they stand', () => {
    for (const id of ['camera-yaw', 'camera-roll', 'camera-offset', 'camera-height', 'camera-distance'])
      for (const view of views) honest(counts, `${id} ${view} swing`)
    honest(counts, 'camera-look-bias down-the-line top')
    const offset = counts.tallies.get('camera-offset-hand-line down-the-line swing')!
    expect(Math.sqrt(offset.ee / offset.n)).toBeLessThan(60)
  })
})

describe('harder rigs', () => {
  it('are solved from 2.5 to 8 m and 10 degrees of roll', () => {
    const counts = countRigs({ rigs: 30, seed: 32, options: { distance: [2.5, 8], rollDegrees: 10, offLine: 0.5 } })
    expect(counts.refused).toEqual([])
    const t = honest(counts, 'shaft-azimuth top')
    expect(Math.sqrt(t.ee / t.n)).toBeLessThan(3)
  })

  it('take the stature from the ears where both are seen: a cap, or a head held high, moves no camera', () => {
    const { file, cameras, motion } = randomRig(seededRandom(61))
    const higher = ({ camera }: (typeof cameras)[number], t: number): [number, number] => {
      const crown = motion.at(t).crown!
      const [low, high] = [project(camera, crown)!, project(camera, [crown[0], crown[1] + 0.15, crown[2]])!]
      return [high[0] - low[0], high[1] - low[1]]
    }
    const capped: PointsFile = {
      ...file,
      views: file.views.map((v, i) => ({
        ...v, frames: v.frames.map((f) => {
          const { crown } = f.points
          const [dx, dy] = higher(cameras[i]!, f.t)
          return { ...f, points: { ...f.points, ...(crown && { crown: [crown[0] + dx, crown[1] + dy] as [number, number] }) } }
        }),
      })),
    }
    const distance = (f: PointsFile) => measureSwing(f).measures.find((m) => m.id === 'camera-distance' && m.view === 'face-on')!
    const plain = distance(file)
    expect(Math.abs(distance(capped).value - plain.value)).toBeLessThan(0.15 * plain.sigma)
  })

  it('are not all too near: over many rigs the distance has no bias', () => {
    const counts = countRigs({ rigs: 80, seed: 35 })
    // Both cameras share one scale: the mean error over sigma of 80 rigs is itself known to .11.
    for (const view of views) {
      const t = counts.tallies.get(`camera-distance ${view} swing`)!
      expect(Math.abs(t.z / t.n), tallyLine(view, t)).toBeLessThan(0.33)
    }
  })

  it('without a target line say that the aim is the feet\'s, and carry its error', () => {
    const rig = randomRig(seededRandom(8), {}, { plumb: true, stanceLine: true })
    const m = measureSwing(rig.file).measures.find((r) => r.id === 'shaft-azimuth')!
    expect(m.basis).toMatch(/no target line: the stance line stands in, within 5 degrees of aim/)
    // Common practice, no source: 5 degrees of aim, less a little for what ankles and toes agree on.
    expect(m.sigma).toBeGreaterThan(3)
    expect(m.sigma).toBeLessThan(6)
  })

  it('from one view down the line give the top under assumptions, with a larger error that holds', () => {
    const counts = countRigs({ rigs: 40, seed: 33, views: ['down-the-line'] })
    expect(counts.refused.length).toBeLessThan(3)
    const t = counts.tallies.get('shaft-azimuth top')!
    expect(t.held / t.n, tallyLine('alone', t)).toBeGreaterThan(0.63 - band(t.n))
    expect(t.sigma / t.n).toBeGreaterThan(1)
    expect(Math.sqrt(t.ee / t.n)).toBeLessThan(4)
    const level = counts.tallies.get('shaft-azimuth-at-level top')!
    expect(level.held / level.n).toBeGreaterThan(0.63 - band(level.n))
    for (const id of ['shaft-plane-slope top', 'shaft-elevation top', 'shaft-short-of-level top', 'camera-look-bias top', 'camera-yaw swing', 'camera-offset swing', 'camera-height swing', 'camera-distance swing']) {
      const c = counts.tallies.get(id)!
      expect(c.held / c.n, tallyLine(id, c)).toBeGreaterThan(0.63 - band(c.n))
    }
    const rig = randomRig(seededRandom(3), {}, { targetLine: true, plumb: true }, {}, ['down-the-line'])
    const m = measureSwing(rig.file).measures.find((r) => r.id === 'shaft-azimuth')!
    expect(m.view).toBe('down-the-line')
    expect(m.basis).toMatch(/in the down-the-line view alone, taken to be .* m long, to move near one plane and to be held where hands usually are/)
  })

  it('of two swings tie them position by position and carry what the player repeats', () => {
    const counts = countRigs({ rigs: 60, seed: 34, repeats: 0.025 })
    expect(counts.refused).toEqual([])
    const t = honest(counts, 'shaft-azimuth top')
    expect(t.sigma / t.n).toBeGreaterThan(1.5)
  })

  it.each([41, 42, 43])('with one mark in fifty slipped by up to 80 px still find the cameras, seed %d', (seed) => {
    const random = seededRandom(seed)
    const rig = randomRig(random)
    const slipped: PointsFile = {
      ...rig.file,
      views: rig.file.views.map((v) => ({
        ...v,
        frames: v.frames.map((f) => ({
          t: f.t,
          points: Object.fromEntries(Object.entries(f.points).map(([name, p]) => {
            const move = random.uniform() > 0.02 ? 0 : 160 * (random.uniform() - 0.5)
            return [name, [Math.min(1079, Math.max(1, p[0] + move)), Math.min(1919, Math.max(1, p[1] - move))] as [number, number]]
          })),
        })),
      })),
    }
    const result = measureSwing(slipped)
    for (const { view, camera } of rig.cameras) {
      const m = result.measures.find((r) => r.id === 'camera-yaw' && r.view === view)!
      expect(Math.abs(m.value - axisYaw(view, camera)!), `${view} ${m.value} +- ${m.sigma}`).toBeLessThan(Math.max(4 * m.sigma, 1.5))
      expect(m.sigma).toBeLessThan(2)
    }
  })

  it('find how far two clocks are apart', () => {
    const rig = randomRig(seededRandom(12), { syncSigma: 0.004 })
    const swing = prepareSwing(rig.file)
    const { solve } = swing.solved
    const last = solve!.numbers.length - 1
    expect(Math.sqrt(solve!.covariance[last * (last + 1) + last]!)).toBeLessThan(0.001)
  })
})

describe('refusals name what is wrong, with the number that shows it', () => {
  const whyOf = (file: PointsFile) => measureSwing(file).missing.find((m) => m.id === 'shaft-azimuth' && m.at === 'top')?.why ?? 'not refused'
  const { file } = randomRig(seededRandom(1))
  const [one, two] = file.views as [PointsFile['views'][number], PointsFile['views'][number]]
  it.each([3, 51, 52])('views of two swings called one, seed %d', (seed) => {
    expect(whyOf({ ...file, views: [one, randomRig(seededRandom(seed)).file.views[1]!] })).toMatch(/cannot be of one swing.* points miss each other by \d+ mm, \d+ times what the marks' own error allows\. Check that both clips show the same swing/)
  })
  it('clocks that are 20 ms apart where 2 are allowed', () => {
    // What 2 ms are said of it pulls the fitted shift a few of the 20 back.
    expect(whyOf({ ...file, views: [one, { ...two, frames: two.frames.map((f) => ({ ...f, t: f.t + 0.02 })) }] })).toMatch(/with the clocks (?:1[5-9]|2[01]) ms apart, (?:and|where) 2 ms are allowed/)
  })
  it('a clock that is .3 s off', () => {
    expect(whyOf({ ...file, views: [one, { ...two, frames: two.frames.map((f) => ({ ...f, t: f.t + 0.3 })) }] })).toMatch(/cannot be of one swing.* \d+ mm/)
  })
  it('a stature that the club contradicts', () => {
    expect(whyOf({ ...file, statureM: 1.2 })).toMatch(/contradicts the stature: by the club's length the student would be 1\.\d\d m tall, and the file says 1\.20 m/)
  })
  it('one side twice', () => {
    expect(whyOf({ ...file, views: [one, { ...one, view: 'down-the-line' }] })).toMatch(/look the same way: .* some 0\.0 degrees apart/)
  })
  it('two cameras face-on, given or not', () => {
    const random = seededRandom(4)
    const motion = parametricSwing(random)
    const pair = [rigCamera('face-on', random), rigCamera('face-on', random)]
    const given = digitise(motion, pair, random, { sigmaPx: 1.5, fps: 120, syncSigma: 0.002, matrices: true, positionSigma: 0.003 }, trueTimes(motion))
    const named: PointsFile = { ...given, views: [given.views[0]!, { ...given.views[1]!, view: 'down-the-line' }] }
    expect(whyOf(named)).toMatch(/look the same way: .* \d\.\d degrees apart/)
    expect(whyOf({ ...named, views: named.views.map((v) => Object.fromEntries(Object.entries(v).filter(([key]) => key !== 'camera')) as typeof v) })).toMatch(/look the same way: .* \d\.\d degrees apart/)
  })
  it('given cameras that the marks contradict', () => {
    const random = seededRandom(4)
    const pair = [rigCamera('face-on', random), rigCamera('down-the-line', random)]
    const how = { sigmaPx: 1.5, fps: 120, syncSigma: 0.002, matrices: true, positionSigma: 0.003 }
    const [a, b] = [0, 1].map(() => {
      const motion = parametricSwing(random)
      return digitise(motion, pair, random, how, trueTimes(motion))
    }) as [PointsFile, PointsFile]
    expect(whyOf(a)).toBe('not refused')
    expect(whyOf({ ...a, views: [a.views[0]!, b.views[1]!] })).toMatch(/cannot be of one swing.* \d+ mm/)
  })
})

it('reads a left-hander, filmed in the mirror, the same', () => {
  const right = randomRig(seededRandom(14)).file
  const mirrored: PointsFile = { ...mirrorPointsFile(right), handedness: 'left' }
  const pick = (f: PointsFile, id: string) => measureSwing(f).measures.find((m) => m.id === id)!
  for (const id of ['shaft-azimuth', 'camera-yaw', 'camera-offset']) {
    expect(pick(mirrored, id).value).toBeCloseTo(pick(right, id).value, 6)
    expect(pick(mirrored, id).sigma).toBeCloseTo(pick(right, id).sigma, 6)
  }
})

it('starts from an earlier solve and comes to the same', () => {
  const swing = prepareSwing(randomRig(seededRandom(6)).file)
  const input = solveInput({ ...swing, views: swing.views.map(({ file: f, ...v }) => ({ ...v, file: f, camera: null })) })
  if (isMissing(input)) throw new Error(input.why)
  const cold = solveCameras(input)
  if (isRefusal(cold)) throw new Error(cold.why)
  const warm = solveCameras(input, cold)
  if (isRefusal(warm)) throw new Error(warm.why)
  expect(warm.iterations).toBeLessThan(cold.iterations)
  warm.cameras.forEach((c, i) => c.place.forEach((v, k) => expect(v).toBeCloseTo(cold.cameras[i]!.place[k]!, 2)))
})

it('follows a dragged point from an earlier solve in one step, to within a fiftieth of the errors of a solve from nothing', () => {
  const swing = prepareSwing(randomRig(seededRandom(7)).file)
  const input = solveInput({ ...swing, views: swing.views.map((v) => ({ ...v, camera: null })) })
  if (isMissing(input)) throw new Error(input.why)
  let from = solveCameras(input)
  for (const [k, by] of [[2, 3], [5, -6], [5, 9]] as const) {
    if (isRefusal(from)) throw new Error(from.why)
    const [name, seen] = [...input.instants[k]!][0]!
    const dragged = { ...input, instants: input.instants.map((instant, i) => (i === k ? new Map([...instant, [name, seen.map((s) => s && { ...s, x: s.x + by })]]) : instant)) }
    const warm = solveCameras(dragged, from)
    const cold = solveCameras(dragged)
    if (isRefusal(warm) || isRefusal(cold)) throw new Error('refused')
    expect(warm.iterations).toBeLessThan(4)
    warm.numbers.forEach((v, i) => {
      const sigma = Math.sqrt(cold.covariance[i * warm.numbers.length + i]!)
      expect(Math.abs(v - cold.numbers[i]!), `${i}`).toBeLessThan(0.02 * sigma)
      expect(Math.sqrt(warm.covariance[i * warm.numbers.length + i]!) / sigma).toBeCloseTo(1, 1)
    })
    from = warm
  }
})

it('keeps cameras that could not be had together as they are while a point is dragged', () => {
  const { file } = randomRig(seededRandom(1))
  const [one, two] = file.views as [PointsFile['views'][number], PointsFile['views'][number]]
  const apart: PointsFile = { ...file, views: [one, { ...two, frames: two.frames.map((f) => ({ ...f, t: f.t + 0.05 })) }] }
  const before = prepareSwing(apart)
  expect(before.solved.why).toMatch(/cannot be of one swing/)
  const held = measurePrepared(prepareSwing(apart, before.solved))
  const fresh = measurePrepared(before)
  expect(held.measures).toEqual(fresh.measures)
  expect(held.missing).toEqual(fresh.missing)
})
