import { describe, expect, it } from 'vitest'
import { frameTimeSigma, motionBlur, rollingShutterDelay, tempoFromFrames, turnPerFrame } from '../../shared/camera/captureRate.ts'
import { fitHomography, mapPoint } from '../../shared/camera/homography.ts'
import { bearingOf, offPlaneShare, offPlaneWarning, seenAngle, trueAngle } from '../../shared/camera/offPlane.ts'
import { cameraFrom, depthOf, meetPlane, pinhole, project, sightline } from '../../shared/camera/projection.ts'
import { meetSightlines, triangulateLinear } from '../../shared/camera/triangulation.ts'
import { toDegrees, toRadians } from '../../shared/geometry/angle.ts'
import type { Vec2, Vec3 } from '../../shared/geometry/vec.ts'
import { outsideJson } from '../fixtures/outsideData.ts'

// Hartley & Zisserman, Multiple View Geometry; numbers computed from the stated formulas with an independent library.
const plain = (f: number, c: Vec2) => cameraFrom([[f, 0, c[0], 0], [0, f, c[1], 0], [0, 0, 1, 0]])

describe('a pinhole camera', () => {
  it('f = 1500, c = (960, 540) sees (.5, -.3, 4) at (1147.5, 427.5)', () => {
    const camera = plain(1500, [960, 540])!
    expect(project(camera, [0.5, -0.3, 4])).toEqual([1147.5, 427.5])
    expect(project(camera, [0.5, -0.3, -4])).toBeNull()
    expect(camera.focalPx).toBeCloseTo(1500, 6)
  })

  it('at 4 m a pixel is 2.667 mm, and what stands at 3.7 m reads 8.11 % large', () => {
    expect((4 / 1500) * 1000).toBeCloseTo(2.667, 3)
    expect(offPlaneShare(4, 0.3) * 100).toBeCloseTo(8.11, 2)
    expect(offPlaneWarning('the ball', 4, 0.3)).toBe('the ball is 0.30 m nearer to the camera than the measured plane: lengths there read 8.1 % too long')
    expect(offPlaneWarning('the hands', 4, 0.01)).toBeNull()
  })

  it('knows its place, its axis and the sightlines of its own pictures', () => {
    // Any camera will do: the check is that going out and coming back agree.
    const ahead: Vec3 = [0.8, -0.1, 0.6].map((v) => v / Math.hypot(0.8, 0.1, 0.6)) as unknown as Vec3
    const right: Vec3 = [-ahead[2] / Math.hypot(ahead[0], ahead[2]), 0, ahead[0] / Math.hypot(ahead[0], ahead[2])]
    const down: Vec3 = [ahead[1] * right[2] - ahead[2] * right[1], ahead[2] * right[0] - ahead[0] * right[2], ahead[0] * right[1] - ahead[1] * right[0]]
    const camera = cameraFrom(pinhole(1600, [540, 960], [-3.5, 1.2, -2], right, down, ahead))!
    camera.place.forEach((value, i) => expect(value).toBeCloseTo([-3.5, 1.2, -2][i]!, 9))
    camera.axis.forEach((value, i) => expect(value).toBeCloseTo(ahead[i]!, 9))
    const p: Vec3 = [0.3, 1.4, 0.5]
    const seen = project(camera, p)!
    const back = meetPlane(camera, seen, [0, 0, 1], 0.5)!
    back.forEach((value, i) => expect(value).toBeCloseTo(p[i]!, 9))
    expect(depthOf(camera, p)).toBeGreaterThan(0)
    expect(sightline(camera, seen)[0] * ahead[0]).toBeGreaterThan(0)
    // A file may hold the matrix with its sign turned over.
    const turned = cameraFrom(camera.rows.map((row) => row.map((value) => -value)))!
    expect(project(turned, p)![0]).toBeCloseTo(seen[0], 9)
  })
})

describe('a homography', () => {
  it('from four corners sends (.5, .5) to (198.571, 187.619)', () => {
    const h = fitHomography([[0, 0], [1, 0], [1, 1], [0, 1]], [[100, 100], [300, 120], [280, 260], [120, 240]])!
    const p = mapPoint(h, [0.5, 0.5])!
    expect(p[0]).toBeCloseTo(198.571, 3)
    expect(p[1]).toBeCloseTo(187.619, 3)
  })

  it('is refused where three of four corners lie on a line', () => {
    expect(fitHomography([[0, 0], [1, 0], [2, 0], [0, 1]], [[0, 0], [1, 0], [1, 1], [0, 1]])).toBeNull()
    expect(fitHomography([[0, 0], [1, 0], [2, 0]], [[0, 0], [1, 0], [1, 1]])).toBeNull()
  })

  const golden = outsideJson<{ homography_4pt: { src: Vec2[]; dst: Vec2[]; H_first4: number[][]; mapped: Vec2[] } }>('numeric/scipy_goldens.json')?.homography_4pt
  // Points of scikit-image's tests; the answer computed with SciPy.
  it.skipIf(!golden)('agrees with an independent library', () => {
    const h = fitHomography(golden!.src.slice(0, 4), golden!.dst.slice(0, 4))!
    h.forEach((value, i) => expect(value / golden!.H_first4.flat()[i]!).toBeCloseTo(1, 8))
    golden!.src.forEach((p, i) => mapPoint(h, p)!.forEach((value, k) => expect(value).toBeCloseTo(golden!.mapped[i]![k]!, 5)))
  })
})

describe('two views', () => {
  const one = plain(1000, [500, 500])!
  const two = cameraFrom(pinhole(1000, [500, 500], [4, 0, 4], [0, 0, 1], [0, 1, 0], [-1, 0, 0]))!
  const p: Vec3 = [0.2, -0.1, 4.3]
  it('see (.2, -.1, 4.3) at (546.512, 476.744) and (578.947, 473.684)', () => {
    project(one, p)!.forEach((value, i) => expect(value).toBeCloseTo([546.512, 476.744][i]!, 3))
    project(two, p)!.forEach((value, i) => expect(value).toBeCloseTo([578.947, 473.684][i]!, 3))
  })

  it('with 5 px added to v2: gap 18.99 mm, midpoint (.19980, -.09050, 4.29980), linear (.19981, -.09050, 4.29983)', () => {
    const a = project(one, p)!
    const b = project(two, p)!
    const moved: Vec2 = [b[0], b[1] + 5]
    const meeting = meetSightlines(one, a, two, moved)!
    expect(Math.abs(meeting.gap) * 1000).toBeCloseTo(18.99, 2)
    meeting.point.forEach((value, i) => expect(value).toBeCloseTo([0.1998, -0.0905, 4.2998][i]!, 5))
    triangulateLinear([one, two], [a, moved])!.forEach((value, i) => expect(value).toBeCloseTo([0.19981, -0.0905, 4.29983][i]!, 5))
  })

  it('refuse parallel sightlines', () => {
    expect(meetSightlines(one, [500, 500], cameraFrom(pinhole(1000, [500, 500], [1, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]))!, [500, 500])).toBeNull()
  })
})

describe('off the plane', () => {
  it.each([[45, 30, 49.107], [30, 15, 30.867]])('%d degrees seen from %d off square reads %d', (angle, psi, seen) => {
    expect(toDegrees(seenAngle(toRadians(angle), toRadians(psi)))).toBeCloseTo(seen, 3)
    expect(toDegrees(trueAngle(toRadians(seen), toRadians(psi)))).toBeCloseTo(angle, 2)
  })
  it('a camera .5 m off the line at 4 m is 7.125 degrees of yaw', () => expect(toDegrees(bearingOf(0.5, 4))).toBeCloseTo(7.125, 3))
})

describe('time', () => {
  it('blur and rolling shutter', () => {
    expect(motionBlur(45, 1 / 1000) * 1000).toBeCloseTo(45, 9)
    expect(motionBlur(45, 1 / 60) * 1000).toBeCloseTo(750, 9)
    expect(rollingShutterDelay(200, 1080, 0.01) * 1000).toBeCloseTo(1.852, 3)
    expect(motionBlur(45, rollingShutterDelay(200, 1080, 0.01)) * 1000).toBeCloseTo(83, 0)
  })
  it.each([[100, [3.3, 1.7, 0.83, 0.42]], [1500, [50, 25, 12.5, 6.25]], [2413, [80.4, 40.2, 20.1, 10.1]]])('turn a frame at %d degrees a second', (rate, turns) => {
    ;[30, 60, 120, 240].forEach((fps, i) => expect(Math.abs(turnPerFrame(rate, fps) - turns[i]!)).toBeLessThanOrEqual(0.051))
  })
  it('tempo 24:8 frames, one frame off, is 2.56 to 3.57; at 240 fps 2.94 to 3.06', () => {
    expect(tempoFromFrames(24, 8).ratio).toBe(3)
    expect(tempoFromFrames(24, 8).low).toBeCloseTo(2.56, 2)
    expect(tempoFromFrames(24, 8).high).toBeCloseTo(3.57, 2)
    expect(tempoFromFrames(192, 64).low).toBeCloseTo(2.94, 2)
    expect(tempoFromFrames(192, 64).high).toBeCloseTo(3.06, 2)
  })
  it('an instant known to a frame is evenly spread over it', () => expect(frameTimeSigma(0.12)).toBeCloseTo(0.0346, 4))
})

// Tracks and cameras of a structure-from-motion problem (BSD-3, Ceres Solver's data).
describe('real tracks', () => {
  interface Libmv {
    focal: number
    cx: number
    cy: number
    k: number[]
    cameras: { image: number; R: number[][]; t: number[] }[]
    points: Record<string, number[]>
    markers: [image: number, point: number, x: number, y: number][]
    check: { dlt_vs_bundle_rel_median: number }
  }
  const data = outsideJson<Libmv>('calib/libmv_problem02_subset.json')
  it.skipIf(!data)('triangulate to the stored points within their error', () => {
    const d = data!
    const cameras = new Map(
      d.cameras.map((c) => [c.image, cameraFrom(c.R.map((row, i) => [...row, c.t[i]!]))]),
    )
    // The distortion is taken off by iterating its own model.
    const undistort = (x: number, y: number): Vec2 => {
      const target: Vec2 = [(x - d.cx) / d.focal, (y - d.cy) / d.focal]
      let p: Vec2 = target
      for (let i = 0; i < 20; i++) {
        const r2 = p[0] ** 2 + p[1] ** 2
        const k = 1 + d.k[0]! * r2 + d.k[1]! * r2 ** 2
        p = [target[0] / k, target[1] / k]
      }
      return p
    }
    const off: number[] = []
    for (const [id, stored] of Object.entries(d.points)) {
      const seen = d.markers.filter((m) => m[1] === Number(id) && cameras.get(m[0]))
      if (seen.length < 2) continue
      const found = triangulateLinear(seen.map((m) => cameras.get(m[0])!), seen.map((m) => undistort(m[2], m[3])))
      if (found) off.push(Math.hypot(...found.map((value, i) => value - stored[i]!)) / Math.hypot(...stored))
    }
    expect(off.length).toBeGreaterThan(40)
    off.sort((a, b) => a - b)
    // The file's own check gives 8.1e-5 for the median of the same comparison.
    expect(off[Math.floor(off.length / 2)]!).toBeLessThan(3 * d.check.dlt_vs_bundle_rel_median)
  })
})
