import { createCanvas } from '@napi-rs/canvas'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { interpolate, sweepColumns } from '../../renderer/arms/chart.ts'
import { usualInput } from '../../renderer/arms/face/faceState.ts'
import type { FaceInput } from '../../shared/contract/faceInput.ts'
import { missesOf } from '../../renderer/arms/face/misses.ts'
import { eyeAxes, fixedViews, orbited, toScreen, type Eye } from '../../renderer/arms/figure/eye.ts'
import { ghostOf } from '../../renderer/arms/ghost.ts'
import { changeWords, effectWords, intervalWords, nowSigma, numberRows, rowWords, turnWords, wantedSigma } from '../../renderer/arms/numbers.ts'
import { elbowRadius } from '../../shared/arms/elbowMove.ts'
import { forward } from '../../shared/arms/forward.ts'
import { createArms, type ArmsModel } from '../../shared/arms/model.ts'
import { spreadOf } from '../../shared/arms/spread.ts'
import { standardArms } from '../../shared/arms/standard.ts'
import { sweep } from '../../shared/arms/sweep.ts'
import { isArmsRefusal, type ForwardResult } from '../../shared/arms/types.ts'
import { cameraFrom, pinhole, project } from '../../shared/camera/projection.ts'
import { missAt } from '../../shared/flight/launch.ts'
import { imagePoint, length3, sub3, type Vec2, type Vec3 } from '../../shared/geometry/vec.ts'
import { armsInCorner, armsMarkId, armsOverPicture, freeCorner, jointsInWorld, keptFrom, missesInCorner, type FigureWords, type MarkClip } from '../../shared/markup/armsMarks.ts'
import { figureJoints, type FigureJoint } from '../../shared/markup/figure.ts'
import { markSchema, type Mark } from '../../shared/markup/mark.ts'
import { handlesOf, movedBy } from '../../shared/markup/tools/handles.ts'
import { markAt } from '../../shared/markup/tools/hit.ts'
import { drawMark } from '../../shared/picture/drawMark.ts'
import { missGeometry } from '../../shared/picture/drawMisses.ts'
import { inkColours } from '../../shared/picture/palette.ts'

const model = createArms(standardArms(1.8)) as ArmsModel
const at = (swivel: number, spread: ReturnType<typeof spreadOf> | null = null): ForwardResult => {
  const pose = forward(model, swivel, spread)
  if (isArmsRefusal(pose)) throw new Error(pose.why)
  return pose
}
const now = at(model.swivelDeg)
const wanted = at(model.swivelDeg - 8)

const clip: MarkClip = { id: 'c', width: 1080, height: 1920, handedness: 'right' }
const camera = cameraFrom(pinhole(1600, imagePoint(540, 960), [0, 1.1, 4.2], [1, 0, 0], [0, -1, 0], [0, 0, -1]))!
const words: FigureWords = {
  seen: null, rows: [{ name: 'shaft', unit: 'deg', filmed: { value: 18, sigma: 2 }, wanted: { value: 3, sigma: 3 } }], verdict: 'Elbow 4 cm in: shaft 15 \u00b1 3\u00b0 less across', limits: [], basis: 'both views', handedness: 'right',
}
const joint = (mark: Mark, name: FigureJoint, pose = 0): Vec2 => mark.points[pose * figureJoints.length + figureJoints.indexOf(name)]!

describe('the eye', () => {
  const screen = { width: 800, height: 600 }
  const see = (eye: Eye, p: Vec3, mirrored = false): Vec2 => toScreen(eyeAxes(eye), screen, mirrored, p).slice(0, 2) as unknown as Vec2
  const eye = (view: keyof typeof fixedViews): Eye => ({ ...fixedViews[view], rise: view === 'above' ? Math.PI / 2 : 0, distance: 5, middle: [0, 1, 0] })

  it('has the target to the right face-on, the ball\u2019s side to the right down the line, the target up from above', () => {
    expect(see(eye('face-on'), [0, 1, 0])).toEqual([400, 300])
    expect(see(eye('face-on'), [0.5, 1, 0])[0]).toBeGreaterThan(410)
    expect(see(eye('down-the-line'), [0, 1, 0.5])[0]).toBeGreaterThan(410)
    expect(see(eye('above'), [0.5, 1, 0])[1]).toBeLessThan(290)
    expect(see(eye('above'), [0, 1, 0.5])[0]).toBeGreaterThan(410)
    expect(see(eye('face-on'), [0, 1.5, 0])[1]).toBeLessThan(290)
  })

  it('keeps its axes square, and a left-hander\u2019s screen is the mirror of a right-hander\u2019s', () => {
    fc.assert(fc.property(fc.double({ min: -7, max: 7, noNaN: true }), fc.double({ min: -0.5, max: Math.PI / 2, noNaN: true }), fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 3, maxLength: 3 }), (turn, rise, p) => {
      const one: Eye = { turn, rise, distance: 5, middle: [0, 1, 0] }
      const { right, up, away } = eyeAxes(one)
      for (const [a, b] of [[right, up], [up, away], [away, right]] as const) expect(a[0] * b[0] + a[1] * b[1] + a[2] * b[2]).toBeCloseTo(0, 9)
      const [x, y] = see(one, p as unknown as Vec3)
      const [mx, my] = see(one, p as unknown as Vec3, true)
      expect(mx).toBeCloseTo(800 - x, 6)
      expect(my).toBeCloseTo(y, 9)
      // Dragged to the right, what is near the viewer goes to the right, for either hand.
      const near: Vec3 = [eyeAxes(one).place[0] * 0.1, 1, eyeAxes(one).place[2] * 0.1]
      for (const mirrored of [false, true]) expect(see(orbited(one, 10, 0, mirrored), near, mirrored)[0]).toBeGreaterThanOrEqual(see(one, near, mirrored)[0] - 1e-6)
    }))
  })
})

describe('the figure as marks', () => {
  const over = (more: Partial<MarkClip> = {}, poses = [{ kind: 'filmed', pose: now }, { kind: 'wanted', pose: wanted }] as const): Mark =>
    armsOverPicture({ ...clip, ...more }, { from: 7, to: 7 }, camera, poses, words, 'elbow in', 3)!

  it('lies where the camera sees each joint, on the one frame, with its numbers, and holds by the schema', () => {
    const mark = over()
    expect(markSchema.safeParse(mark).success).toBe(true)
    expect(mark).toMatchObject({ id: armsMarkId('c', 'arms'), shape: 'arms', span: { from: 7, to: 7 }, order: 3 })
    for (const [i, pose] of [now, wanted].entries())
      jointsInWorld(pose).forEach((place, k) => {
        const [x, y] = project(camera, place)!
        const [mx, my] = mark.points[i * figureJoints.length + k]!
        expect(Math.hypot(mx - x, my - y)).toBeLessThan(0.02)
      })
    expect(mark.figure!.rows).toEqual(words.rows)
    expect(mark.figure!.poses.map(({ kind }) => kind)).toEqual(['filmed', 'wanted'])
  })

  it('of a left-hander is the mirror image in the picture as filmed', () => {
    const [right, left] = [over(), over({ handedness: 'left' })]
    right.points.forEach(([x, y], i) => {
      expect(left.points[i]![0]).toBeCloseTo(1080 - x, 2)
      expect(left.points[i]![1]).toBeCloseTo(y, 9)
    })
  })

  it('is none where a joint lies behind the camera', () => {
    const near = cameraFrom(pinhole(1600, imagePoint(540, 960), [0, 1.1, 0], [1, 0, 0], [0, -1, 0], [0, 0, -1]))!
    expect(armsOverPicture(clip, { from: 7, to: 7 }, near, [{ kind: 'filmed', pose: now }], words, '', 0)).toBeNull()
  })

  it('on a plate keeps its proportions and fills its square one way', () => {
    const seen = (p: Vec3) => [100 + 50 * p[0], 900 - 50 * p[1], -p[2]] as const
    const mark = armsInCorner(clip, { from: 7, to: 7 }, seen, [{ kind: 'filmed', pose: now }], words, 0, [])!
    expect(markSchema.safeParse(mark).success).toBe(true)
    const joints = mark.figure!.poses[0]!.joints!
    const xs = joints.map((p) => p[0])
    const ys = joints.map((p) => p[1])
    expect(Math.min(...xs)).toBeCloseTo(0, 4)
    expect(Math.min(...ys)).toBeCloseTo(0, 4)
    expect(Math.max(...xs, ...ys)).toBeCloseTo(1, 4)
    const [a, b] = [jointsInWorld(now)[figureJoints.indexOf('butt')]!, jointsInWorld(now)[figureJoints.indexOf('clubhead')]!]
    const [c, d] = [joints[figureJoints.indexOf('butt')]!, joints[figureJoints.indexOf('clubhead')]!]
    expect(Math.atan2(d[1] - c[1], d[0] - c[0])).toBeCloseTo(Math.atan2(-(b[1] - a[1]), b[0] - a[0]), 2)
    // What lies far from the viewer is drawn first.
    const order = mark.figure!.poses[0]!.order
    expect(new Set(order).size).toBe(4)
  })

  it('is taken by a bone and moved as a whole; a plate is taken anywhere and has corners', () => {
    const mark = over()
    const place = { unit: 1, mirror: false, reach: 6 }
    const [a, b] = [joint(mark, 'trailShoulder'), joint(mark, 'trailElbow')]
    expect(markAt([mark], imagePoint((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), place)?.id).toBe(mark.id)
    expect(markAt([mark], imagePoint(20, 1900), place)).toBeNull()
    expect(handlesOf(mark)).toEqual([])
    expect(joint(movedBy(mark, 5, -3), 'butt')[0]).toBeCloseTo(joint(mark, 'butt')[0] + 5, 6)
    const fan = missesInCorner(clip, null, missesOf(usualInput, 'right'), 0, [])
    expect(markSchema.safeParse(fan).success).toBe(true)
    expect(handlesOf(fan)).toHaveLength(4)
    const [p, q] = fan.points as [Vec2, Vec2]
    expect(markAt([fan], imagePoint((p[0] + q[0]) / 2, (p[1] + q[1]) / 2), place)?.id).toBe(fan.id)
  })

  it('drawn again stays as the coach left it', () => {
    const seen = (p: Vec3) => [p[0], -p[1], p[2]] as const
    const plate = armsInCorner(clip, { from: 7, to: 7 }, seen, [{ kind: 'filmed', pose: now }], words, 9, [])!
    const moved = movedBy({ ...plate, hidden: true, span: { from: 2, to: 30 } }, 40, 60)
    expect(keptFrom(plate, moved)).toMatchObject({ points: moved.points, span: { from: 2, to: 30 }, hidden: true })
    // Laid over the picture, its place is where the joints are now.
    const old = movedBy(over(), 100, 0)
    expect(keptFrom(over(), old).points).toEqual(over().points)
  })

  it('finds the corner that hides least', () => {
    const taken = [imagePoint(1000, 100), imagePoint(900, 200), imagePoint(100, 100)]
    const [a] = freeCorner(clip, taken, 0.4, 0.4)
    expect(a[1]).toBeGreaterThan(960)
    expect(freeCorner(clip, [], 0.4, 0.4)[0][1]).toBeLessThan(100)
  })
})

describe('the picture', () => {
  const near = (data: Uint8ClampedArray, i: number, hex: string): boolean => [0, 1, 2].every((k) => Math.abs(data[i + k]! - Number.parseInt(hex.slice(1 + 2 * k, 3 + 2 * k), 16)) < 40)
  const count = (mark: Mark, hex: string, mirrored = false): { readonly n: number; readonly x: number } => {
    const canvas = createCanvas(540, 960)
    const ctx = canvas.getContext('2d')
    drawMark(ctx, mark, { transform: { a: mirrored ? -0.5 : 0.5, b: 0, c: 0, d: 0.5, e: mirrored ? 540 : 0, f: 0 }, rect: { x: 0, y: 0, width: 540, height: 960 }, unit: 0.54 })
    const { data } = ctx.getImageData(0, 0, 540, 960)
    let [n, x] = [0, 0]
    for (let i = 0; i < data.length; i += 4) if (data[i + 3]! > 200 && near(data, i, hex)) {
      n++
      x += (i / 4) % 540
    }
    return { n, x: x / Math.max(1, n) }
  }

  it('has both arms and the club in their inks, and the wanted pose hollow', () => {
    const filmed = armsOverPicture(clip, { from: 0, to: 0 }, camera, [{ kind: 'filmed', pose: now }], words, '', 0)!
    const hollow = armsOverPicture(clip, { from: 0, to: 0 }, camera, [{ kind: 'wanted', pose: now }], words, '', 0)!
    for (const ink of ['lead', 'trail', 'club'] as const) {
      expect(count(filmed, inkColours[ink]).n, ink).toBeGreaterThan(40)
      expect(count(hollow, inkColours[ink]).n, `${ink}, hollow`).toBeLessThan(0.85 * count(filmed, inkColours[ink]).n)
    }
    const ghost = armsOverPicture(clip, { from: 0, to: 0 }, camera, [{ kind: 'reference', pose: now }], words, '', 0)!
    expect(count(ghost, inkColours.trail).n).toBe(0)
    expect(count(ghost, inkColours.reference).n).toBeGreaterThan(40)
  })

  it('shows a limit with a sign, not by a colour alone', () => {
    const mark = armsOverPicture(clip, { from: 0, to: 0 }, camera, [{ kind: 'filmed', pose: { ...now, limits: [] } }], words, '', 0)!
    const lit: Mark = { ...mark, figure: { ...mark.figure!, poses: [{ ...mark.figure!.poses[0]!, atLimit: ['trailShoulder'] }] } }
    expect(count(lit, inkColours.plain).n).toBeGreaterThan(count(mark, inkColours.plain).n + 60)
  })

  it('draws a plate with its words, mirrored with its picture', () => {
    const seen = (p: Vec3) => [p[0], -p[1], -p[2]] as const
    const plate: Mark = { ...armsInCorner(clip, { from: 0, to: 0 }, seen, [{ kind: 'filmed', pose: now }], words, 0, [])!, points: [imagePoint(100, 100), imagePoint(980, 1400)] }
    expect(count(plate, inkColours.trail).n).toBeGreaterThan(60)
    expect(count(plate, inkColours.plain).n).toBeGreaterThan(300)
    const side = count(plate, inkColours.club).x
    expect(count(plate, inkColours.club, true).x).toBeCloseTo(540 - side, -1)
  })

  it('draws the fan to scale: along and across alike, pushes on the ball\u2019s side', () => {
    const box = { x: 10, y: 20, width: 400, height: 500 }
    fc.assert(fc.property(fc.double({ min: -8, max: 8, noNaN: true }), fc.constantFrom('right' as const, 'left' as const), fc.boolean(), (value, handedness, mirrored) => {
      const misses = missesOf({ ...usualInput, face: { value, sigma: 1 } }, handedness)
      const fan = missGeometry(misses, box, mirrored)
      const side = (handedness === 'left') !== mirrored ? -1 : 1
      expect(fan.pushSide).toBe(side)
      expect((fan.ball[1] - fan.target[1]) / misses.distance).toBeCloseTo(fan.scale, 9)
      misses.starts.forEach((start, i) => {
        expect((side * (fan.landings[i]![0] - fan.ball[0])) / fan.scale).toBeCloseTo(missAt(misses.distance, start), 6)
        expect(fan.landings[i]![0]).toBeGreaterThanOrEqual(box.x - 1e-6)
        expect(fan.landings[i]![0]).toBeLessThanOrEqual(box.x + box.width + 1e-6)
      })
    }), { numRuns: 30 })
  })
})

describe('the numbers', () => {
  const spread = spreadOf(model, { count: 12 })
  const moved = at(model.swivelDeg - 8, spread)
  const sketch = { loaded: null, errors: null }
  const row = (id: string) => numberRows.find((one) => one.id === id)!

  it('never stand without an error: a sketch\u2019s shaft is tens of degrees off, its elbow is set, the rest is not shown', () => {
    expect(nowSigma(sketch, 'azimuthDeg', null)).toBe(40)
    expect(nowSigma(sketch, 'shortOfLevelDeg', null)).toBeNull()
    expect(rowWords(row('azimuthDeg'), -20.2, 40, true)).toBe('\u221220 \u00b1 40\u00b0')
    expect(rowWords(row('swivelDeg'), 12.34, null, true)).toBe('+12.3\u00b0 set')
    expect(rowWords(row('swivelDeg'), 12.34, null, false)).toBe('\u2013')
    expect(rowWords(row('shortOfLevelDeg'), 4, null, true)).toBe('\u2013')
    // Moved, what the model does not know comes on top.
    expect(wantedSigma(sketch, moved, 'azimuthDeg', null)).toBeGreaterThan(40)
    expect(wantedSigma(sketch, wanted, 'azimuthDeg', null)).toBeNull()
  })

  it('tell the move and what it does, and nothing before its error is known', () => {
    expect(effectWords(now, moved)).toMatch(/^elbow .*cm.*: shaft [\d.]+ \u00b1 [\d.]+\u00b0 (less across|more laid off|further across|less laid off)$/)
    expect(effectWords(now, wanted)).toBe('')
    expect(effectWords(now, now)).toBe('')
    expect(changeWords(row('azimuthDeg'), now, moved)).toMatch(/ \u00b1 /)
    expect(changeWords(row('swivelDeg'), now, moved)).toBe('\u22128.0\u00b0 set')
    expect([turnWords(-5, 3), turnWords(-5, -3), turnWords(5, 3), turnWords(5, -3)]).toEqual(['less across', 'more laid off', 'further across', 'less laid off'])
  })

  it('of the wished elbow say between which places, and where an end cannot be reached', () => {
    const r = 100 * elbowRadius(now) * (Math.PI / 180)
    const here = now.readings.swivelDeg
    expect(intervalWords([here - 10, here + 5], now)).toContain(`from \u2212${(10 * r).toFixed(1)} cm to +${(5 * r).toFixed(1)} cm`)
    expect(intervalWords([null, here], now)).toContain('from beyond how far in it goes to 0.0 cm')
  })

  it('of the sweep ascend along the arc, with now at 0, and lead back from a place to its swivel', () => {
    const result = sweep(model, { spread })!
    const columns = sweepColumns(result, elbowRadius(now), spread)
    expect(columns.out.length).toBe(result.rows.length)
    expect(columns.out.every((value, i) => i === 0 || value > columns.out[i - 1]!)).toBe(true)
    expect(interpolate(columns.out, columns.swivel, 0)!).toBeCloseTo(model.swivelDeg, 6)
    expect(interpolate(columns.out, columns.swivel, columns.out[0]! - 1)).toBeNull()
    // Each row is on one of the two curves.
    expect(columns.within.every((value, i) => value !== null || columns.beyond[i] !== null)).toBe(true)
    const here = columns.out.findIndex((value) => value >= -1e-9)
    const width = (i: number): number => columns.high[i]! - columns.low[i]!
    expect(width(here)).toBeLessThan(width(Math.max(0, here - 4)))
  })

  it('of a reference are brought to this body\u2019s shoulders and size, directions kept', () => {
    const tall = createArms(standardArms(1.98)) as ArmsModel
    const pose = forward(tall, tall.swivelDeg) as ForwardResult
    const { pose: ghost, basis } = ghostOf('s', 'Another', pose, now)
    const middle = (p: typeof ghost): Vec3 => [0, 1, 2].map((i) => (p.lead.shoulder[i]! + p.trail.shoulder[i]!) / 2) as unknown as Vec3
    middle(ghost).forEach((value, i) => expect(value).toBeCloseTo(middle(now)[i]!, 9))
    expect(length3(sub3(ghost.lead.shoulder, ghost.trail.shoulder))).toBeCloseTo(length3(sub3(now.lead.shoulder, now.trail.shoulder)), 9)
    expect(ghost.readings.azimuthDeg).toBe(pose.readings.azimuthDeg)
    const way = (p: typeof ghost): number => Math.atan2(p.club.end[2] - p.club.butt[2], p.club.end[0] - p.club.butt[0])
    expect(way(ghost)).toBeCloseTo(way(pose), 9)
    expect(basis).toContain('91 %')
  })

  it('of the misses say to which side, and both ways only where both are many', () => {
    const say = (more: Partial<FaceInput>): string => missesOf({ ...usualInput, ...more }, 'right').verdict
    expect(say({})).toMatch(/^Misses both ways: \d+ % pull side, \d+ % push side$/)
    expect(say({ face: { value: 8, sigma: 1 } })).toMatch(/^Misses to the push side/)
    expect(say({ face: { value: -8, sigma: 1 } })).toMatch(/^Misses to the pull side/)
    expect(missesOf(usualInput, 'right').basis).toContain('the middle of what was measured')
  })
})
