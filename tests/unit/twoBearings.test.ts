import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createCanvas, loadImage } from '@napi-rs/canvas'
import fc from 'fast-check'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { demoShots } from '../../electron/desk/demo/plan.ts'
import { clipTruth, pointsFile, type ClipTruth } from '../../electron/desk/demo/truth.ts'
import { renderStill } from '../../electron/handoff/stills.ts'
import { guideId, landmarkId, positionId, type Digitised } from '../../shared/contract/digitising.ts'
import { parsePointsText, type PointName } from '../../shared/contract/pointsFile.ts'
import type { Camera } from '../../shared/camera/projection.ts'
import { meetSightlines } from '../../shared/camera/triangulation.ts'
import { cross3, dot3, imagePoint, sub3, unit3, type ImagePoint, type Vec2, type Vec3 } from '../../shared/geometry/vec.ts'
import { History } from '../../shared/markup/history.ts'
import { markSchema, type Mark, type MarkReading } from '../../shared/markup/mark.ts'
import { handlesOf, movedBy } from '../../shared/markup/tools/handles.ts'
import { markAt } from '../../shared/markup/tools/hit.ts'
import { inkColours } from '../../shared/picture/palette.ts'
import { planGeometry } from '../../shared/picture/drawPlan.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { assembleSwing, type MeasuredClip } from '../../shared/swing/assemble.ts'
import { planeIds, planeMarks, type DownFrame } from '../../shared/swing/planeMarks.ts'
import { traced, traceIn, type PlaneTrace } from '../../shared/swing/planeTrace.ts'
import { bearingId, bearingMarks, kept, refreshed, shownBy, type TopFrame } from '../../shared/swing/bearingMarks.ts'
import { measurePrepared, prepareSwing } from '../../shared/swing/measureSwing.ts'
import { isMissing } from '../../shared/swing/reading.ts'
import { cameraWords, fanIn, lackingWords, lookIn, measureOf, shaftInSpace, topReading, verdictWords } from '../../shared/swing/twoBearings.ts'
import { lesson, mark, stageClip } from '../fixtures/lesson.ts'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'

const reading = (more: Partial<MarkReading> = {}): MarkReading => ({
  azimuth: { value: 18, sigma: 1.5 }, atLevel: { value: 20, sigma: 2 }, short: { value: 2.5, sigma: 0.5 }, verdict: 'across the line', basis: '', handedness: 'right', ...more,
})
const box = { x: 40, y: 60, width: 200, height: 150 }
const angleOf = (from: Vec2, to: Vec2): number => (Math.atan2(to[0] - from[0], from[1] - to[1]) * 180) / Math.PI

describe('the view from above', () => {
  it('draws angles as they are, the positive ones toward the ball\u2019s side, mirrored for left-handers and in a mirrored picture', () => {
    const angle = fc.double({ min: -170, max: 170, noNaN: true })
    fc.assert(fc.property(angle, angle, fc.double({ min: 0.1, max: 30, noNaN: true }), fc.constantFrom('right' as const, 'left' as const), fc.boolean(), (value, level, sigma, handedness, mirrored) => {
      const plan = planGeometry(reading({ azimuth: { value, sigma }, atLevel: { value: level, sigma }, handedness }), box, mirrored)
      const side = (handedness === 'left') !== mirrored ? -1 : 1
      expect(plan.ballSide).toBe(side)
      expect(side * angleOf(plan.hands, plan.now.head)).toBeCloseTo(value, 6)
      expect(side * angleOf(plan.hands, plan.level!.head)).toBeCloseTo(level, 6)
      const off = side * (angleOf(plan.hands, plan.now.high) - angleOf(plan.hands, plan.now.low))
      expect(((off % 360) + 360) % 360).toBeCloseTo(2 * sigma, 6)
      for (const [x, y] of [plan.now.head, plan.now.low, plan.now.high, plan.level!.head]) {
        expect(x).toBeGreaterThanOrEqual(box.x)
        expect(x).toBeLessThanOrEqual(box.x + box.width)
        expect(y).toBeGreaterThanOrEqual(box.y)
        expect(y).toBeLessThanOrEqual(box.y + box.height)
      }
      expect(angleOf(...plan.targetLine)).toBeCloseTo(0, 9)
    }))
  })

  it('says what its intervals allow, here and at level', () => {
    const of = (lo: number, hi: number) => ({ id: '', view: null, at: 'top' as const, unit: 'deg' as const, basis: '', value: (lo + hi) / 2, sigma: (hi - lo) / 2, lo, hi })
    expect(verdictWords(of(15, 20), of(14, 18))).toBe('across the line')
    expect(verdictWords(of(-20, -15), of(-1, 1))).toBe('laid off where it stops, on the line at level')
    expect(verdictWords(of(-9, 9), of(-9, 9))).toBe('cannot be told from this')
    expect(verdictWords(of(-20, -15), of(-9, 9))).toBe('laid off where it stops, not to be told at level')
    expect(verdictWords(of(-20, -15), undefined)).toBe('laid off')
  })
})

describe('marks with a reading', () => {
  it('are read as before where there is none, and kept as they were', () => {
    const old = mark('m', 'c')
    expect(markSchema.parse(old)).toStrictEqual(old)
    expect(markSchema.parse(old).reading ?? null).toBeNull()
    const plan = mark('p', 'c', { shape: 'plan', reading: reading() })
    expect(markSchema.parse(plan)).toStrictEqual(plan)
    expect(markSchema.safeParse({ ...plan, reading: { ...reading(), azimuth: { value: 1, sigma: -1 } } }).success).toBe(false)
    expect(markSchema.safeParse(mark('f', 'c', { shape: 'fan' })).success).toBe(false)
  })

  it('can be taken hold of: a plate anywhere on it and by its corners, a fan along its shaft', () => {
    const plan = mark('p', 'c', { shape: 'plan', points: [imagePoint(300, 400), imagePoint(100, 100)] })
    const fan = mark('f', 'c', { shape: 'fan', points: [[500, 500], [700, 500], [700, 480], [700, 520]].map(([x, y]) => imagePoint(x!, y!)) })
    const at = (x: number, y: number) => markAt([plan, fan], imagePoint(x, y), { reach: 8, unit: 1, mirror: false })?.id
    expect([at(200, 250), at(95, 99), at(320, 250), at(600, 504), at(600, 520)]).toEqual(['p', 'p', undefined, 'f', undefined])
    expect(handlesOf(plan)).toHaveLength(4)
    expect(handlesOf(fan)).toHaveLength(0)
    expect(movedBy(fan, 10, 5).points[0]).toEqual([510, 505])
  })
})

describe('what follows from something else', () => {
  it('is brought up to date as no step of its own', () => {
    const history = new History<Mark>({})
    history.put({ a: mark('a', 'c') })
    history.put({ b: mark('b', 'c') })
    history.undo()
    history.amend({ a: mark('a', 'c', { text: 'new' }), gone: mark('gone', 'c') })
    expect(history.table).toEqual({ a: mark('a', 'c', { text: 'new' }) })
    expect(history.canRedo).toBe(true)
    history.redo()
    expect(Object.keys(history.table)).toEqual(['a', 'b'])
    history.undo()
    history.undo()
    expect(history.table).toEqual({})
    history.put({ c: mark('c', 'c') })
    history.open()
    history.amend({ c: mark('c', 'c', { text: 'within a step' }) })
    history.cancel()
    expect(history.table.c!.text).toBe('within a step')
  })
})

const scale = 0.5
/** What a coach with a steady hand would place on the demo's clips of one student; the program is told no camera. */
function demo(student: string, seed = 1, noisePx = 1, only: 'both' | 'down-the-line' = 'both') {
  const random = seededRandom(seed)
  const noise = (): number => noisePx * random.normal()
  const truths = demoShots({ seconds: 1.6 }).filter((shot) => shot.student === student && (only === 'both' || shot.setting.view === only)).map((shot) => clipTruth(shot, scale)).toSorted((a) => (a.view === 'face-on' ? -1 : 1))
  const clips = truths.map((truth): MeasuredClip => ({
    id: truth.view, view: truth.view, handedness: truth.handedness, width: truth.widthPx, height: truth.heightPx, captureRate: truth.captureRate, playRate: truth.playRate,
    frames: { timescale: truth.timescale, ticks: truth.frames.map(({ tick }) => tick), endTick: truth.frames.at(-1)!.tick + truth.frames[1]!.tick - truth.frames[0]!.tick },
  }))
  const records: Digitised[] = []
  const seen = ({ matrix }: ClipTruth, [x, y, z]: readonly number[]): [number, number] => {
    const [a, b, c] = matrix.map((row) => row[0]! * x! + row[1]! * y! + row[2]! * z! + row[3]!) as [number, number, number]
    return [a / c + noise(), b / c + noise()]
  }
  truths.forEach((truth, i) => {
    const clipId = clips[i]!.id
    const inside = ([x, y]: readonly number[]): boolean => x! >= 0 && y! >= 0 && x! <= truth.widthPx && y! <= truth.heightPx
    truth.frames.forEach((frame, k) => {
      if (k % 2 && Math.abs(k - truth.events.top!.frame) > 8) return
      for (const point of Object.keys(frame.world) as PointName[]) {
        const at = seen(truth, frame.world[point]!)
        if (inside(at)) records.push({ kind: 'landmark', id: landmarkId(clipId, frame.tick, point), clipId, tick: frame.tick, point, at: imagePoint(...at), sigmaPx: Math.max(noisePx, 0.3), placed: 1, by: 'coach' })
      }
    })
    for (const name of ['address', 'takeaway', 'top', 'lead-arm-level-down', 'shaft-level-down', 'impact'] as const) {
      const event = truth.events[name]
      if (event) records.push({ kind: 'position', id: positionId(clipId, name), clipId, name, tick: truth.frames[event.frame]!.tick, falls: 'on', sigmaS: null, by: 'coach' })
    }
    for (const [name, ends] of [['targetLine', truth.stick], ['plumb', [[0.1, 0.1, -0.3], [0.1, 1.7, -0.3]]]] as const) {
      const [a, b] = ends.map((end) => seen(truth, end)) as [[number, number], [number, number]]
      if (inside(a) && inside(b)) records.push({ kind: 'guide', id: guideId(clipId, name), clipId, name, ends: [imagePoint(...a), imagePoint(...b)], metres: null, by: 'coach' })
    }
  })
  const [one, two] = truths as [ClipTruth, ClipTruth | undefined]
  const tick = (truth: ClipTruth): number => truth.events.impact!.tick
  const assembled = assembleSwing({
    clips, oneSwing: student !== 'maren', tie: two ? { left: tick(one), right: tick(two) } : null, statureM: one.statureM, club: one.club,
    records: Object.fromEntries(records.map((record) => [record.id, record])), clickError: { squares: 0, freedom: 0 },
  })
  if (!assembled.ok) throw new Error(assembled.reasons.join(' '))
  const swing = prepareSwing(assembled.file)
  const tops = clips.map((clip, i): TopFrame => {
    const { tick } = truths[i]!.frames[truths[i]!.events.top!.frame]!
    return { clip, from: tick, to: tick }
  })
  return { truths, clips, swing, result: measurePrepared(swing), tops }
}

/** As the measure is defined, from butt to the head's centre: 1.2 to 1.5 degrees more than the shaft's own axis, which ends at the heel. */
function trueAzimuth(truth: ClipTruth): number {
  const { butt, clubhead } = truth.frames[truth.events.top!.frame]!.world
  return (Math.atan2(clubhead![2] - butt![2], clubhead![0] - butt![0]) * 180) / Math.PI
}

describe('the demo\u2019s swing across the line, cameras solved from the points', () => {
  const { truths, clips, swing, result, tops } = demo('rowan')
  it('shows numbers that hold the truth, with the camera\u2019s place', () => {
    const shown = topReading(result, 'right')!
    expect(Math.abs(shown.azimuth.value - trueAzimuth(truths[0]!))).toBeLessThan(3 * shown.azimuth.sigma)
    expect(shown.azimuth.sigma).toBeLessThan(4)
    expect(truths[0]!.swing.shaftAzimuthTopDeg).toBeCloseTo(18, 6)
    const bearing = measureOf(result, 'camera-look-bias', 'top')!
    expect(Math.abs(bearing.value + truths[1]!.camera.bearingToTopHandsDeg)).toBeLessThan(3 * bearing.sigma)
    expect(shown.verdict).toBe('across the line')
    const camera = cameraWords(result, 'down-the-line')
    const bias = measureOf(result, 'camera-look-bias', 'top')!
    expect(camera.bias).toContain(`a neutral top will look ${bias.value.toFixed(1)} \u00b1 ${bias.sigma.toFixed(1)}\u00b0 across`)
    expect(camera.rows.map(({ name }) => name)).toContain('Off the hand line')
    expect(camera.advice[0]).toContain('toward your heels')
    expect(lackingWords(swing, result)).toEqual({ why: [], guides: [] })
  })

  it('lays the shaft back where it was placed, and where the world says', () => {
    swing.views.forEach((view, i) => {
      const fan = fanIn(swing, view, 'top', 'right')
      const look = lookIn(swing, view, 'top', 'right')
      if (isMissing(fan) || isMissing(look)) throw new Error('missing')
      const frame = truths[i]!.frames[truths[i]!.events.top!.frame]!.pixel
      for (const [k, end] of [[0, frame.butt!], [1, frame.clubhead!]] as const) {
        expect(Math.hypot(fan[k][0] - end[0], fan[k][1] - end[1])).toBeLessThan(14)
        expect(Math.hypot(look.ends[k][0] - end[0], look.ends[k][1] - end[1])).toBeLessThan(14)
      }
      // The wedge lies evenly about the head.
      expect((fan[2][0] + fan[3][0]) / 2).toBeCloseTo(fan[1][0], 6)
      expect((fan[2][1] + fan[3][1]) / 2).toBeCloseTo(fan[1][1], 6)
    })
    // Down the line a right-hander's ball is on the right: more azimuth takes the head that way.
    const line = fanIn(swing, swing.views[1]!, 'top', 'right')
    if (isMissing(line)) throw new Error(line.why)
    expect(line[3][0]).toBeGreaterThan(line[2][0])
    // For a left-hander the same picture is the mirrored one.
    const left = fanIn(swing, swing.views[1]!, 'top', 'left')
    if (isMissing(left)) throw new Error(left.why)
    left.forEach(([x, y], k) => {
      expect(clips[1]!.width - x).toBeCloseTo(line[k]![0], 6)
      expect(y).toBe(line[k]![1])
    })
  })

  it.each(['rowan', 'maren'])('stands in the pictures of %s where the truth filmed it, through cameras that are given', (student) => {
    const given = demoShots().filter((shot) => shot.student === student).map((shot) => clipTruth(shot, scale))
    const parsed = parsePointsText(JSON.stringify(pointsFile(given, student === 'rowan')))
    if (!parsed.ok) throw new Error(parsed.error)
    const own = prepareSwing(parsed.file)
    const hand = parsed.file.handedness
    for (const view of own.views) {
      const truth = given.find((one) => one.view === view.name)!
      const fan = fanIn(own, view, 'top', hand)
      if (isMissing(fan)) throw new Error(fan.why)
      const frame = truth.frames[truth.events.top!.frame]!.pixel
      for (const [k, end] of [[0, frame.butt!], [1, frame.clubhead!]] as const) expect(Math.hypot(fan[k][0] - end[0], fan[k][1] - end[1])).toBeLessThan(student === 'rowan' ? 4 : 8)
      // Down the line the ball is on the right of a right-hander and on the left of a left-hander.
      if (view.name === 'down-the-line') expect(Math.sign(fan[3][0] - fan[2][0])).toBe(hand === 'left' ? -1 : 1)
    }
    const shown = topReading(measurePrepared(own), hand)!
    // Of two swings, what is read lies between them as far as they differ.
    const [low, high] = given.map(trueAzimuth).toSorted((a, b) => a - b) as [number, number]
    expect(shown.azimuth.value).toBeGreaterThan(low - 3 * shown.azimuth.sigma)
    expect(shown.azimuth.value).toBeLessThan(high + 3 * shown.azimuth.sigma)
    expect(planGeometry(shown, box, false).ballSide).toBe(hand === 'left' ? -1 : 1)
  })

  it('makes marks that are valid, that keep what the coach has changed, and that follow the points', () => {
    const marks = bearingMarks('is', swing, result, tops, 5)
    expect(marks.map(({ shape, clipId }) => `${shape} ${clipId}`)).toEqual(['fan face-on', 'fan down-the-line', 'plan down-the-line'])
    for (const one of marks) expect(markSchema.parse(JSON.parse(JSON.stringify(one)))).toEqual(one)
    expect(bearingMarks('looks', swing, result, tops, 5).map(({ shape, text }) => `${shape} ${text.replace(/\d+/g, 'N')}`)).toEqual(['line looks N \u00b1 N\u00b0 from level', 'line looks N \u00b1 N\u00b0 from level'])
    const table = Object.fromEntries(marks.map((one) => [one.id, one]))
    expect(shownBy(table, ['face-on', 'down-the-line'])).toBe('is')
    expect(refreshed(table, marks)).toEqual([])
    const plan = table[bearingId('down-the-line', 'plan')]!
    const moved = { ...plan, points: [imagePoint(5, 5), imagePoint(100, 120)], span: null }
    const again = demo('rowan', 2)
    const next = refreshed({ [moved.id]: moved }, bearingMarks('is', again.swing, again.result, again.tops, 0))
    expect(next).toHaveLength(1)
    expect(next[0]!.points).toEqual(moved.points)
    expect(next[0]!.span).toBeNull()
    expect(next[0]!.reading!.azimuth.value).not.toBe(plan.reading!.azimuth.value)
    expect(kept(plan, undefined)).toBe(plan)
    // Two frames, where the instant lies between them, are still its own; more are the coach's.
    const [from, beyond] = [plan.span!.from, plan.span!.from + 512]
    expect(kept(plan, { ...plan, span: { from: from - 512, to: from } }, () => 512).span).toEqual(plan.span)
    expect(kept(plan, { ...plan, span: { from, to: beyond + 1 } }, () => 512).span).toEqual({ from, to: beyond + 1 })
  })
})

describe('the plane of the shaft on the body, on the way down', () => {
  const { truths, clips, swing, result } = demo('rowan')
  const frames = traced.flatMap((at) => clips.map((clip, i): DownFrame => {
    const tick = truths[i]!.events[at]!.tick
    return { at, clip, from: tick, to: tick }
  }))
  const marks = planeMarks(swing, result, frames, 3)

  it('is drawn in both pictures at both positions, as marks that are valid and go with undo', () => {
    expect(marks.map(({ shape }) => shape).join(' ')).toBe('segment polyline segment '.repeat(4).trim())
    expect(new Set(marks.map(({ clipId }) => clipId))).toEqual(new Set(clips.map(({ id }) => id)))
    for (const one of marks) expect(markSchema.parse(JSON.parse(JSON.stringify(one)))).toEqual(one)
    expect(marks.map(({ id }) => id).every((id) => clips.some((clip) => planeIds(clip.id).includes(id)))).toBe(true)
    expect(marks.filter(({ text }) => /^plane -?\d+ \u00b1 \d+ %\nup the trunk$/.test(text))).toHaveLength(4)
    // A caption follows the points, an old one does not stay.
    const [first] = marks.filter(({ text }) => text !== '')
    expect(kept(first!, { ...first!, text: 'plane 1 \u00b1 1 %\nup the trunk' }).text).toBe(first!.text)
  })

  it('stands where it is: on the trunk that was filmed, and both pictures\u2019 lines meet in the plane of the shaft', () => {
    for (const at of traced) {
      const share = measureOf(result, 'shaft-plane-on-trunk', at)!
      const traces = swing.views.map((view) => traceIn(swing, view, at, share, 'right'))
      const [one, two] = traces.map((trace) => { if (isMissing(trace)) throw new Error(trace.why); return trace }) as [PlaneTrace, PlaneTrace]
      truths.forEach((truth, i) => {
        const { pixel } = truth.frames[truth.events[at]!.frame]!
        const trunk = [one, two][i]!.trunk
        for (const [k, side] of [[0, 'Shoulder'], [1, 'Hip']] as const) {
          const middle = [0, 1].map((c) => (pixel[`lead${side}`]![c]! + pixel[`trail${side}`]![c]!) / 2)
          expect(Math.hypot(trunk[k][0] - middle[0]!, trunk[k][1] - middle[1]!)).toBeLessThan(14)
        }
      })
      const [front, line] = swing.views.map((view) => view.camera!) as [Camera, Camera]
      const meet = (a: ImagePoint, b: ImagePoint) => meetSightlines(front, a, line, b)!
      const [low, high, left, right] = [meet(one.trunk[1], two.trunk[1]), meet(one.trunk[0], two.trunk[0]), meet(one.trace[0], two.trace[0]), meet(one.trace[1], two.trace[1])]
      for (const m of [low, high, left, right]) expect(Math.abs(m.gap)).toBeLessThan(0.002)
      expect(Math.hypot(...sub3(left.point, right.point))).toBeCloseTo(0.44, 2)
      const middle = [0, 1, 2].map((i) => (left.point[i]! + right.point[i]!) / 2)
      const trunk = sub3(high.point, low.point)
      middle.forEach((v, i) => expect(v).toBeCloseTo(low.point[i]! + share.value * trunk[i]!, 2))
      // The hands and the trace span the plane: the club's head, which moves in it, lies in it too, within some centimetres.
      const ends = shaftInSpace(swing, at)
      if (isMissing(ends)) throw new Error(ends.why)
      const [tail, tip] = [[0, 1, 2], [3, 4, 5]].map((list) => list.map((i) => ends[i]!.value)) as unknown as [Vec3, Vec3]
      const normal = unit3(cross3(sub3(left.point, tail), sub3(right.point, tail)))!
      expect(Math.abs(dot3(normal, sub3(tip, tail)))).toBeLessThan(0.08)
    }
  })
})

describe('one view down the line', () => {
  it('gives the plate with its larger error and no fan, and says what it rests on', () => {
    const alone = demo('rowan', 1, 1, 'down-the-line')
    const both = demo('rowan')
    const shown = topReading(alone.result, 'right')!
    expect(shown.azimuth.sigma).toBeGreaterThan(2 * topReading(both.result, 'right')!.azimuth.sigma)
    expect(Math.abs(shown.azimuth.value - trueAzimuth(alone.truths[0]!))).toBeLessThan(3 * shown.azimuth.sigma)
    expect(shown.basis).toContain('in the down the line view alone')
    expect(bearingMarks('is', alone.swing, alone.result, alone.tops, 0).map(({ shape }) => shape)).toEqual(['plan'])
    expect(bearingMarks('looks', alone.swing, alone.result, alone.tops, 0).map(({ shape }) => shape)).toEqual(['line'])
  })
})

describe('what the student gets', () => {
  let folder = ''
  beforeAll(async () => { folder = await mkdtemp(join(tmpdir(), 'two-bearings-')) })
  afterAll(() => rm(folder, { recursive: true, force: true }))

  it('has the plate and the fan in the picture', async () => {
    const path = join(folder, 'clip.mp4')
    await makeNumberedClip(path, { width: 540, height: 960, frames: 4, fps: 30, gop: 4 })
    const clip = await stageClip('c', path)
    const still = async (marks: Readonly<Record<string, Mark>>) => {
      const png = await renderStill({ log: lesson([clip], [], { layout: 'single', marks }), clips: { c: { path } }, at: 0, size: { width: 540, height: 960 }, format: 'png' })
      const canvas = createCanvas(540, 960)
      const ctx = canvas.getContext('2d')
      ctx.drawImage(await loadImage(png), 0, 0)
      return ctx.getImageData(0, 0, 540, 960).data
    }
    const plan = mark('p', 'c', { shape: 'plan', points: [imagePoint(260, 10), imagePoint(530, 350)], reading: reading({ azimuth: { value: 18, sigma: 3 } }) })
    const fan = mark('f', 'c', { shape: 'fan', ink: 'club', points: [[100, 600], [300, 620], [295, 650], [305, 590]].map(([x, y]) => imagePoint(x!, y!)) })
    const [without, drawn] = [await still({}), await still({ p: plan, f: fan })]
    const near = (data: Uint8ClampedArray, x: number, y: number, hex: string): boolean => [0, 1, 2].every((k) => Math.abs(data[(y * 540 + x) * 4 + k]! - Number.parseInt(hex.slice(1 + 2 * k, 3 + 2 * k), 16)) < 48)
    const count = (data: Uint8ClampedArray, hex: string, [x0, y0, x1, y1]: readonly [number, number, number, number]): number => {
      let found = 0
      for (let y = y0; y < y1; y++) for (let x = x0; x < x1; x++) if (near(data, x, y, hex)) found++
      return found
    }
    const plate = [260, 10, 530, 350] as const
    for (const hex of [inkColours.club, inkColours.reference, inkColours.plain]) expect(count(drawn, hex, plate) - count(without, hex, plate), hex).toBeGreaterThan(60)
    expect(count(drawn, inkColours.club, [100, 580, 310, 660]) - count(without, inkColours.club, [100, 580, 310, 660])).toBeGreaterThan(400)
  })
})
