import { describe, expect, test } from 'vitest'
import { matrixOf, phoneCamera, placeAgainst, project, rayThrough, type Setting } from '../../electron/desk/demo/camera.ts'
import { outfits } from '../../electron/desk/demo/figure/outfit.ts'
import { swingOf } from '../../electron/desk/demo/motion.ts'
import { demoShots, shutter } from '../../electron/desk/demo/plan.ts'
import { mat } from '../../electron/desk/demo/scene/backdrop.ts'
import { Film } from '../../electron/desk/demo/scene/film.ts'
import { toPlanes } from '../../electron/desk/demo/scene/planes.ts'
import { pointsOf } from '../../electron/desk/demo/truth.ts'
import { distance, along, type Vec } from '../../electron/desk/demo/vec.ts'

const plain: Setting = { view: 'face-on', place: [0, 0.95, 3.9], yawDeg: 0, pitchDeg: 0, rollDeg: 0, focalPx: 1600, mirrored: false }

describe('the phone', () => {
  test('projects as the points file says', () => {
    // Worked by hand: a face-on camera 3.9 m out, f 1600, centre (540, 960): u = 540 + 1600 X / (3.9 - Z), v = 960 - 1600 (Y - .95) / (3.9 - Z).
    const m = matrixOf(phoneCamera(plain, 1))
    expect(project(m, [0.39, 1.34, 0])).toEqual([expect.closeTo(540 + 160, 6), expect.closeTo(960 - 160, 6)])
    expect(project(m, [0, 0, 5])).toBeNull()
    const side = matrixOf(phoneCamera({ ...plain, view: 'down-the-line', place: [-4, 1, 0.3] }, 1))
    expect(project(side, [0, 1, 0.7])).toEqual([expect.closeTo(540 + 160, 6), expect.closeTo(960, 6)])
  })
  test('films a left-hander as the mirror image', () => {
    const crooked: Setting = { ...plain, yawDeg: 2, pitchDeg: -1, rollDeg: 3 }
    const p: Vec = [0.3, 1.2, 0.4]
    const right = project(matrixOf(phoneCamera(crooked, 1)), p)!
    const left = project(matrixOf(phoneCamera({ ...crooked, mirrored: true }, 1)), p)!
    expect(left[0]).toBeCloseTo(1080 - right[0], 6)
    expect(left[1]).toBeCloseTo(right[1], 6)
  })
  test('looks back along its own rays', () => {
    for (const mirrored of [false, true]) {
      const camera = phoneCamera(
        { ...plain, view: 'down-the-line', place: [-4.2, 1, 0.6], yawDeg: -2.6, pitchDeg: 1.2, rollDeg: -2, mirrored },
        0.5,
      )
      for (const [x, y] of [
        [10, 20],
        [270, 480],
        [500, 900],
      ] as const) {
        const seen = project(matrixOf(camera), along(camera.place, rayThrough(camera, x, y), 3.3))!
        expect(seen[0]).toBeCloseTo(x, 6)
        expect(seen[1]).toBeCloseTo(y, 6)
      }
    }
  })
  test('stands off the hand line by what the plan says', () => {
    const shot = demoShots().find((one) => one.id === 'rowan-down-the-line')!
    const hands = swingOf(shot.spec).poseAt(0).club.hands
    const placed = placeAgainst(phoneCamera(shot.setting, 1), hands)
    expect(placed.offsetM).toBeCloseTo(0.35, 9)
    expect(placed.yawDeg).toBeCloseTo(-2.6, 9)
    // Seen from .35 m toward the ball's side at 4.2 m and more, the hands at address bear about 4.8 degrees to the player's side.
    expect(placed.bearingDeg).toBeCloseTo((-Math.atan(0.35 / (4.2 + hands[0])) * 180) / Math.PI, 6)
  })
})

test('colours become BT.709 limited range', () => {
  // ITU-T H.273 code 1, 8-bit: red (63,102,240), green (173,42,26), blue (32,240,118).
  for (const [rgb, yuv] of [
    [
      [255, 0, 0],
      [63, 102, 240],
    ],
    [
      [0, 255, 0],
      [173, 42, 26],
    ],
    [
      [0, 0, 255],
      [32, 240, 118],
    ],
  ] as const) {
    const planes = toPlanes(Uint8Array.from([...rgb, ...rgb, ...rgb, ...rgb]), 2, 2)
    for (const [i, at] of [0, 4, 5].entries()) expect(Math.abs(planes[at]! - yuv[i]!)).toBeLessThanOrEqual(1)
  }
})

describe('the film', () => {
  const shots = Object.fromEntries(demoShots().map((shot) => [shot.id, shot]))
  const filmOf = (id: string) => {
    const shot = shots[id]!
    const swing = swingOf(shot.spec)
    const { ball } = swing.poseAt(0)
    return { swing, film: new Film(swing, outfits[shot.outfit], phoneCamera(shot.setting, 0.5), { ballX: ball[0], ballZ: ball[2] }) }
  }
  const pixel = (film: Film, rgb: Uint8Array, at: readonly [number, number]): number[] => {
    const k = (Math.floor(at[1]) * film.camera.widthPx + Math.floor(at[0])) * 3
    return [...rgb.subarray(k, k + 3)]
  }
  const unlike = (a: number[], b: number[]): number => Math.max(...a.map((x, i) => Math.abs(x - b[i]!)))

  test.each(['rowan-face-on', 'rowan-down-the-line', 'maren-face-on'])('%s shows the golfer where the truth says', (id) => {
    const { swing, film } = filmOf(id)
    const first = film.still(-0.2, shutter)
    for (const t of [-0.2, 0.3, swing.times.top, swing.times.finish]) {
      const rgb = film.still(t, shutter)
      const points = pointsOf(swing, swing.poseAt(t))
      for (const name of ['head', 'leadShoulder', 'trailHip', 'leadKnee', 'hands', 'spineTop'] as const) {
        const seen = project(film.matrix, points[name]!)!
        expect(unlike(pixel(film, rgb, seen), pixel(film, film.empty, seen)), `${name} at ${t}`).toBeGreaterThan(12)
      }
      // The shaft is a few pixels wide: something of it lies within two pixels of its middle.
      const shaft = project(film.matrix, [0, 1, 2].map((i) => (points['hands']![i]! + points['shaftEnd']![i]!) / 2) as unknown as Vec)!
      const around = [-2, -1, 0, 1, 2].flatMap((dx) => [-2, -1, 0, 1, 2].map((dy) => [shaft[0] + dx, shaft[1] + dy] as const))
      expect(Math.max(...around.map((at) => unlike(pixel(film, rgb, at), pixel(film, film.empty, at))))).toBeGreaterThan(25)
    }
    // Nothing of one frame stays in the next.
    expect(Buffer.compare(film.still(-0.2, shutter), first)).toBe(0)
  })

  test('the same instant filmed again gives the same bytes', () => {
    const shoot = () => {
      const { film } = filmOf('linden-face-on')
      const planes = new Uint8Array((film.camera.widthPx * film.camera.heightPx * 3) / 2)
      film.shoot(1.03, shutter, planes)
      return planes
    }
    expect(Buffer.compare(shoot(), shoot())).toBe(0)
    const { film } = filmOf('linden-face-on')
    const planes = [-0.3, -0.1, 0.2].map((t) => {
      const out = new Uint8Array((film.camera.widthPx * film.camera.heightPx * 3) / 2)
      film.shoot(t, shutter, out)
      return out
    })
    expect(Buffer.compare(planes[0]!, planes[1]!)).toBe(0)
    expect(Buffer.compare(planes[0]!, planes[2]!)).not.toBe(0)
  })

  test('the ball is white and round where the truth says, and its shirt is red', () => {
    const { swing, film } = filmOf('rowan-face-on')
    const rgb = film.still(-0.2, shutter)
    const ball = pixel(film, rgb, project(film.matrix, swing.poseAt(-0.2).ball)!)
    expect(Math.min(...ball)).toBeGreaterThan(150)
    const { hips, shoulders } = swing.poseAt(-0.2).trunk
    const chest = pixel(
      film,
      rgb,
      project(film.matrix, along(hips, [shoulders[0] - hips[0], shoulders[1] - hips[1], shoulders[2] - hips[2]], 0.6))!,
    )
    expect(chest[0]!).toBeGreaterThan(1.5 * chest[1]!)
  })

  test('the fast club is smeared along its way, by no more than the exposure', () => {
    const { swing, film } = filmOf('rowan-face-on')
    const t = swing.times.impact - 0.02
    const changed = (exposure: number): number => {
      const rgb = film.still(t, exposure)
      const [cx, cy] = project(film.matrix, swing.poseAt(t).club.clubhead)!
      let count = 0
      for (let dy = -30; dy <= 30; dy++)
        for (let dx = -30; dx <= 30; dx++)
          if (unlike(pixel(film, rgb, [cx + dx, cy + dy]), pixel(film, film.empty, [cx + dx, cy + dy])) > 10) count++
      return count
    }
    const sharp = changed(1 / 20000)
    const blurred = changed(1 / 1000)
    expect(sharp).toBeGreaterThan(60)
    expect(blurred).toBeGreaterThan(sharp * 1.1)
    expect(blurred).toBeLessThan(sharp * 3)
  })

  test('the mat has the size it says', () => {
    const { film } = filmOf('rowan-face-on')
    for (const x of [mat.fromX, mat.toX]) {
      // Just inside the border is dark rubber, 10 cm outside is grass.
      const sign = Math.sign(x)
      const rubber = pixel(film, film.empty, project(film.matrix, [x - sign * 0.015, 0, 0.3])!)
      const grass = pixel(film, film.empty, project(film.matrix, [x + sign * 0.1, 0, 0.3])!)
      expect(Math.max(...rubber)).toBeLessThan(90)
      expect(grass[1]! - rubber[1]!).toBeGreaterThan(30)
    }
    expect(distance([mat.fromX, 0, mat.fromZ], [mat.toX, 0, mat.fromZ])).toBeCloseTo(1.6, 9)
  })
})
