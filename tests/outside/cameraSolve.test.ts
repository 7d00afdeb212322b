import { createCanvas, loadImage } from '@napi-rs/canvas'
import { describe, expect, it } from 'vitest'
import { cameraFrom, project } from '../../shared/camera/projection.ts'
import { fitHomography } from '../../shared/camera/homography.ts'
import { fitBlocks, type Term } from '../../shared/camera/solve/blockFit.ts'
import { numericTerm } from '../../shared/camera/solve/terms.ts'
import type { PointsFile } from '../../shared/contract/pointsFile.ts'
import type { Vec2, Vec3 } from '../../shared/geometry/vec.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { measureSwing, type SwingResult } from '../../shared/swing/measureSwing.ts'
import { findChessboard, type Grey } from '../fixtures/chessboard.ts'
import { outsideJson, outsidePath } from '../fixtures/outsideData.ts'
import { renderedPoints, renderedTruth } from '../fixtures/renderedSwing.ts'

// A rendered swing whose cameras and shaft are given with it; the cameras are taken away and found again.
const truth = renderedTruth()

describe.skipIf(!truth)('a rendered swing without its cameras', () => {
  const t = truth!
  /** Guides as a coach would mark them: a stick of 1.1 m on the ground, a post behind. */
  const file = (sigmaPx: number, seed: number, views: readonly ('face-on' | 'down-the-line')[] = ['face-on', 'down-the-line']): PointsFile => {
    const plain = renderedPoints(t, { sigmaPx, seed, cameras: false, positions: true, views })
    const random = seededRandom(seed + 100)
    return {
      ...plain,
      views: plain.views.map((v) => {
        const camera = cameraFrom(t.cameras[v.view]!.matrix)!
        const mark = (p: Vec3): [number, number] => {
          const [x, y] = project(camera, p)!
          return [x + sigmaPx * random.normal(), y + sigmaPx * random.normal()]
        }
        const post = v.view === 'face-on' ? ([0.5, -0.8] as const) : ([0.9, 0.3] as const)
        return { ...v, guides: { targetLine: [mark([-0.55, 0, 0.9]), mark([0.55, 0, 0.9])], plumb: [mark([post[0], 0.1, post[1]]), mark([post[0], 1.7, post[1]])] } }
      }),
    }
  }
  const reading = (result: SwingResult, id: string, at: string, view: string | null = null) => {
    const m = result.measures.find((r) => r.id === id && r.at === at && r.view === view)
    if (!m) throw new Error(`${id} at ${at} is missing: ${result.missing.find((r) => r.id === id && r.at === at)?.why}`)
    return m
  }
  /** What is asked of one reading with a known answer: three errors. */
  const within = (m: { value: number; sigma: number }, value: number, words: string) =>
    expect(Math.abs(m.value - value), `${words} ${m.value.toFixed(2)} +- ${m.sigma.toFixed(2)}, true ${value.toFixed(2)}`).toBeLessThan(3 * m.sigma)

  const cameras = (result: SwingResult, views: readonly ('face-on' | 'down-the-line')[]) => {
    for (const view of views) {
      const [x, y, z] = t.cameras[view]!.position
      within(reading(result, 'camera-height', 'swing', view), 1000 * y, `height ${view}`)
      within(reading(result, 'camera-distance', 'swing', view), 1000 * Math.hypot(x, z), `distance ${view}`)
      within(reading(result, 'camera-yaw', 'swing', view), 0, `yaw ${view}`)
      within(reading(result, 'camera-roll', 'swing', view), 0, `roll ${view}`)
    }
    if (views.includes('face-on')) within(reading(result, 'camera-offset', 'swing', 'face-on'), 1000 * t.cameras['face-on']!.position[0], 'offset face-on')
    if (!views.includes('down-the-line')) return
    within(reading(result, 'camera-offset', 'swing', 'down-the-line'), 1000 * (t.cameras['down-the-line']!.position[2] - t.frames[60]!.ball[2]!), 'offset down the line')
    within(reading(result, 'camera-offset-hand-line', 'swing', 'down-the-line'), 1000 * (t.cameras['down-the-line']!.position[2] - t.frames[60]!.grip[2]!), 'off the hand line')
  }

  it('with its true pixels gives azimuth 3.0 and elevation 2.0', () => {
    const result = measureSwing(file(0, 1))
    expect(reading(result, 'shaft-azimuth', 'top').value).toBeCloseTo(t.shaftAtTop.azimuthDeg, 0)
    expect(Math.abs(reading(result, 'shaft-azimuth', 'top').value - t.shaftAtTop.azimuthDeg)).toBeLessThan(0.15)
    expect(Math.abs(reading(result, 'shaft-elevation', 'top').value - t.shaftAtTop.elevationDeg)).toBeLessThan(0.15)
    cameras(result, ['face-on', 'down-the-line'])
  })

  it.each([1, 2, 3, 4, 5, 6])('with 1.5 px of noise gives them within their error, seed %d', (seed) => {
    const result = measureSwing(file(1.5, seed))
    const azimuth = reading(result, 'shaft-azimuth', 'top')
    within(azimuth, t.shaftAtTop.azimuthDeg, 'azimuth')
    expect(azimuth.sigma).toBeLessThan(1)
    within(reading(result, 'shaft-elevation', 'top'), t.shaftAtTop.elevationDeg, 'elevation')
    cameras(result, ['face-on', 'down-the-line'])
  })

  it('from the view down the line alone, with a larger error', () => {
    const both = measureSwing(file(1.5, 1))
    const result = measureSwing(file(1.5, 1, ['down-the-line']))
    const azimuth = reading(result, 'shaft-azimuth', 'top', 'down-the-line')
    within(azimuth, t.shaftAtTop.azimuthDeg, 'azimuth')
    expect(azimuth.sigma).toBeGreaterThan(2 * reading(both, 'shaft-azimuth', 'top').sigma)
    expect(azimuth.sigma).toBeLessThan(5)
    within(reading(result, 'shaft-elevation', 'top', 'down-the-line'), t.shaftAtTop.elevationDeg, 'elevation')
    cameras(result, ['down-the-line'])
    cameras(measureSwing(file(1.5, 2, ['face-on'])), ['face-on'])
  })

  it('without any guide still gives them, with the aim\'s error', () => {
    const result = measureSwing(renderedPoints(t, { sigmaPx: 1.5, seed: 3, cameras: false, positions: true }))
    const azimuth = reading(result, 'shaft-azimuth', 'top')
    within(azimuth, t.shaftAtTop.azimuthDeg, 'azimuth')
    expect(azimuth.sigma).toBeGreaterThan(3)
    expect(azimuth.basis).toMatch(/the ankles at address stand in, within 5 degrees of aim/)
  })
})

// OpenCV's sample pictures and the intrinsics published with them (Apache-2.0).
interface Published {
  images: number
  board: [number, number]
  square_m: number
  fx: number
  cx: number
  cy: number
}
const published = outsideJson<Published>('calib/opencv_left/left_intrinsics.json')

async function greyOf(path: string): Promise<Grey> {
  const image = await loadImage(path)
  const canvas = createCanvas(image.width, image.height)
  const context = canvas.getContext('2d')
  context.drawImage(image, 0, 0)
  const { data } = context.getImageData(0, 0, image.width, image.height)
  return { width: image.width, height: image.height, values: Float32Array.from({ length: image.width * image.height }, (_, i) => 0.299 * data[4 * i]! + 0.587 * data[4 * i + 1]! + 0.114 * data[4 * i + 2]!) }
}

/** Turn a point by a rotation vector (Rodrigues' formula) and shift it. */
function placed(pose: ArrayLike<number>, at: number, [x, y]: Vec2): Vec3 {
  const k: Vec3 = [pose[at]!, pose[at + 1]!, pose[at + 2]!]
  const a = Math.hypot(...k) || 1e-12
  const [kx, ky, kz] = [k[0] / a, k[1] / a, k[2] / a]
  const c = Math.cos(a)
  const s = Math.sin(a)
  const d = (kx * x + ky * y) * (1 - c)
  return [x * c - kz * y * s + kx * d + pose[at + 3]!, y * c + kz * x * s + ky * d + pose[at + 4]!, (kx * y - ky * x) * s + kz * d + pose[at + 5]!]
}

describe.skipIf(!published)('chessboard pictures with a published answer', () => {
  it('give focal length and centre within 1 %', async () => {
    const p = published!
    const [columns, rows] = p.board
    const board = Array.from({ length: columns * rows }, (_, i): Vec2 => [p.square_m * (i % columns), p.square_m * Math.floor(i / columns)])
    const seen: (readonly Vec2[])[] = []
    for (let n = 1; n <= 14; n++) {
      const path = n === 10 ? null : outsidePath(`calib/opencv_left/left${String(n).padStart(2, '0')}.jpg`)
      const corners = path && findChessboard(await greyOf(path), columns, rows)
      if (corners) seen.push(corners)
    }
    expect(seen.length).toBeGreaterThanOrEqual(11)

    // Zhang 2000: each board's homography constrains the lens; here only the focal length, the centre as the picture's.
    const centre: Vec2 = [320, 240]
    const homographies = seen.map((corners) => fitHomography(board, corners.map((c) => [c[0] - centre[0], c[1] - centre[1]] as const))!)
    let [top, bottom] = [0, 0]
    for (const h of homographies) {
      // h1' w h2 = 0 and h1' w h1 = h2' w h2 for w = diag(1/f2, 1/f2, 1).
      const cross = h[0]! * h[1]! + h[3]! * h[4]!
      const one = h[6]! * h[7]!
      const squares = h[0]! ** 2 + h[3]! ** 2 - h[1]! ** 2 - h[4]! ** 2
      const two = h[6]! ** 2 - h[7]! ** 2
      top -= cross * one + squares * two
      bottom += one * one + two * two
    }
    const focal = Math.sqrt(top / bottom)
    expect(focal / p.fx).toBeGreaterThan(0.8)
    expect(focal / p.fx).toBeLessThan(1.25)

    // Refined over all corners with the lens's distortion (k1 k2 p1 p2 k3, as published), poses as blocks of two points.
    const poses = new Float64Array(6 * seen.length)
    homographies.forEach((h, i) => {
      const columnsOf = [0, 1, 2].map((k): Vec3 => [h[k]! / focal, h[3 + k]! / focal, h[6 + k]!])
      const scale = 2 / (Math.hypot(...columnsOf[0]!) + Math.hypot(...columnsOf[1]!)) * Math.sign(columnsOf[2]![2])
      const [r1, r2, shift] = columnsOf.map((v) => v.map((x) => x * scale)) as [number[], number[], number[]]
      const r3 = [r1[1]! * r2[2]! - r1[2]! * r2[1]!, r1[2]! * r2[0]! - r1[0]! * r2[2]!, r1[0]! * r2[1]! - r1[1]! * r2[0]!]
      const angle = Math.acos(Math.max(-1, Math.min(1, (r1[0]! + r2[1]! + r3[2]! - 1) / 2)))
      const k = angle / (2 * Math.sin(angle) || 1)
      poses.set([k * (r2[2]! - r3[1]!), k * (r3[0]! - r1[2]!), k * (r1[1]! - r2[0]!), ...shift], 6 * i)
    })
    const lens = [0, 1, 2, 3, 4, 5, 6, 7]
    const terms = seen.flatMap((corners, i): Term[] => corners.map((corner, n) =>
      numericTerm(2, lens, [2 * i, 2 * i + 1], (g, q, r) => {
        const [x, y, z] = placed(q, 6 * i, board[n]!)
        if (!(z > 0)) return false
        const [u, v] = [x / z, y / z]
        const rr = u * u + v * v
        const radial = 1 + g[3]! * rr + g[4]! * rr * rr + g[7]! * rr ** 3
        r[0] = g[0]! * (u * radial + 2 * g[5]! * u * v + g[6]! * (rr + 2 * u * u)) + g[1]! - corner[0]
        r[1] = g[0]! * (v * radial + g[5]! * (rr + 2 * v * v) + 2 * g[6]! * u * v) + g[2]! - corner[1]
        return true
      }, 2)))
    const fit = fitBlocks({ terms, sharedCount: 8, pointCount: 2 * seen.length }, [focal, ...centre, 0, 0, 0, 0, 0], poses, { maxIterations: 60 })
    expect(fit.converged).toBe(true)
    const [f, cx, cy] = fit.shared as unknown as [number, number, number]
    const rms = Math.sqrt(fit.misfits.reduce((sum, m) => sum + m * m, 0) / fit.misfits.length)
    console.log(`${seen.length} boards: focal ${f.toFixed(2)} (published ${p.fx.toFixed(2)}), centre ${cx.toFixed(2)}, ${cy.toFixed(2)} (${p.cx.toFixed(2)}, ${p.cy.toFixed(2)}), rms ${rms.toFixed(3)} px`)
    expect(Math.abs(f / p.fx - 1)).toBeLessThan(0.01)
    expect(Math.abs(cx / p.cx - 1)).toBeLessThan(0.01)
    expect(Math.abs(cy / p.cy - 1)).toBeLessThan(0.01)
    expect(rms).toBeLessThan(0.5)
  })
})
