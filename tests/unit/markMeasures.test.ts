import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { guideId, landmarkId, type Digitised, type LandmarkRecord, type MarkSet } from '../../shared/contract/digitising.ts'
import type { PointName } from '../../shared/contract/pointsFile.ts'
import { markSchema, type Mark } from '../../shared/markup/mark.ts'
import { laidMarks, layingOf, similarityFit } from '../../shared/markup/markSet.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { headBoxReport, inclinationLines, levelOfClip, lineAngle, linesOfAddress } from '../../shared/swing/markMeasures.ts'
import { levelUnmarked } from '../../shared/camera/level.ts'
import { measuresCsv } from '../../shared/swing/exportMeasures.ts'
import { digitsOf, inWords } from '../../shared/swing/measureWords.ts'
import { History, redoNext, undoNewest } from '../../shared/markup/history.ts'

const clip = { id: 'c', width: 1000, height: 1000, frames: { timescale: 600, ticks: [0, 10, 20, 30, 40, 50], endTick: 60 } }
const landmark = (tick: number, point: PointName, at: readonly [number, number]): LandmarkRecord =>
  ({ kind: 'landmark', id: landmarkId('c', tick, point), clipId: 'c', tick, point, at: at as never, sigmaPx: null, placed: 1, by: 'coach' })
const tableOf = (...records: Digitised[]) => Object.fromEntries(records.map((record) => [record.id, record]))

describe('the angle of a line', () => {
  test('is levelled: a line square to a plumb line is level, whichever way the phone was turned', () => {
    fc.assert(fc.property(fc.double({ min: -0.3, max: 0.3, noNaN: true }), fc.double({ min: 5, max: 85, noNaN: true }), (roll, slope) => {
      // Up leans right by the roll: the picture of a world turned clockwise by it.
      const turn = ([x, y]: readonly [number, number]): readonly [number, number] => [500 + x * Math.cos(roll) + y * Math.sin(roll), 500 + x * Math.sin(roll) - y * Math.cos(roll)]
      const plumb: Digitised = { kind: 'guide', id: guideId('c', 'plumb'), clipId: 'c', name: 'plumb', ends: [turn([0, 0]) as never, turn([0, 300]) as never], metres: null, by: 'coach' }
      const level = levelOfClip(tableOf(plumb), clip, 1)
      const radians = (slope * Math.PI) / 180
      const line = lineAngle([turn([0, 0]), turn([200 * Math.cos(radians), 200 * Math.sin(radians)])], level, 1)!
      expect(line.degrees).toBeCloseTo(slope, 6)
    }))
  })
  test('its error is that of its ends and of the level: counted', () => {
    const random = seededRandom(6)
    const said = lineAngle([[100, 100], [300, 220]], { ...levelUnmarked, sigma: 0 }, 2)!
    let sum = 0
    const n = 4000
    for (let i = 0; i < n; i++) {
      const noisy = lineAngle([[100 + 2 * random.normal(), 100 + 2 * random.normal()], [300 + 2 * random.normal(), 220 + 2 * random.normal()]], { ...levelUnmarked, sigma: 0 }, 2)!
      sum += (noisy.degrees - said.degrees) ** 2
    }
    expect(Math.sqrt(sum / n) / said.sigma).toBeGreaterThan(0.96)
    expect(Math.sqrt(sum / n) / said.sigma).toBeLessThan(1.04)
    // Unmarked, the level alone is 2 degrees (common practice, no source).
    expect(lineAngle([[0, 0], [1e6, 0]], levelUnmarked, 1)!.sigma).toBeCloseTo(2, 3)
    expect(lineAngle([[5, 5], [5, 5]], levelUnmarked, 1)).toBe(null)
  })
})

describe('marks from points', () => {
  test('a head box says when the head leaves it and how far it gets', () => {
    const heads = [landmark(0, 'head', [500, 200]), landmark(10, 'head', [545, 200]), landmark(20, 'head', [553, 204]), landmark(30, 'head', [570, 240]), landmark(40, 'head', [540, 210])]
    const box = [[550, 250], [450, 150]] as const
    expect(headBoxReport(box, heads, clip, () => 2)).toEqual({ frames: 5, left: 2, beyond: 20, sigma: 2, farthestFrame: 3 })
    // Three pixels out is within an error of five.
    expect(headBoxReport(box, heads.slice(0, 3), clip, () => 5)).toMatchObject({ left: null, beyond: 3 })
    expect(headBoxReport(box, [], clip, () => 2)).toBe(null)
  })

  test('lines of address by one command, and what is lacking for the others', () => {
    const table = tableOf(landmark(10, 'butt', [400, 500]), landmark(10, 'clubhead', [600, 900]), landmark(30, 'trailElbow', [1, 1]), landmark(10, 'trailElbow', [430, 480]))
    const { marks, lacking } = linesOfAddress(table, clip, 10, 7)
    expect(marks.map(({ meaning, points }) => [meaning, points])).toEqual([['shaft-line', [[400, 500], [600, 900]]], ['elbow-line', [[430, 480], [600, 900]]]])
    expect(lacking).toEqual(['the head box needs head and crown at address'])
    for (const mark of marks) expect(markSchema.safeParse(mark).success).toBe(true)
  })

  test('the inclination line follows the frames it is placed on and says how it has changed', () => {
    const frame = (tick: number, lean: number) => [landmark(tick, 'spineBase', [500, 600]), landmark(tick, 'spineTop', [500 + 300 * Math.sin(lean), 600 - 300 * Math.cos(lean)])]
    const marks = inclinationLines(tableOf(...frame(10, 0.6), ...frame(30, 0.5), landmark(40, 'spineBase', [1, 1])), clip, levelUnmarked, 1, 30, 3)
    expect(marks.map(({ span }) => span)).toEqual([{ from: 10, to: 20 }, { from: 30, to: 50 }])
    // .6 rad is 34.4 degrees; the change of -.1 rad is free of the level's 2 degrees: 2 px on 300 are .38 degrees.
    expect(marks[0]!.text).toBe('34.4 \u00b1 2.0\u00b0\n5.7 \u00b1 0.4\u00b0 since address')
    expect(marks[1]!.text).toBe('28.6 \u00b1 2.0\u00b0')
    for (const mark of marks) expect(markSchema.safeParse(mark).success).toBe(true)
  })
})

describe('sets of marks', () => {
  const mark: Mark = { id: 'm', clipId: 'c', shape: 'line', meaning: 'shaft-line', points: [[100, 200], [300, 500]], text: '', span: null, ink: 'club', weight: 4, dashed: false, hidden: false, order: 0 }
  const set: MarkSet = { id: 's', name: 'Set-up', width: 1000, height: 2000, handedness: 'right', points: { leadAnkle: [100, 200], head: [300, 500], ball: [250, 320] }, marks: [mark as never] }

  test('a similarity is found again from the points it has moved', () => {
    const coordinate = fc.double({ min: -500, max: 500, noNaN: true })
    fc.assert(fc.property(fc.array(fc.tuple(coordinate, coordinate), { minLength: 2, maxLength: 8 }), coordinate, coordinate, fc.double({ min: 0.2, max: 5, noNaN: true }), fc.double({ min: -3, max: 3, noNaN: true }), (points, dx, dy, scale, turn) => {
      fc.pre(points.some(([x, y]) => Math.hypot(x - points[0]![0], y - points[0]![1]) > 1))
      const moved = points.map(([x, y]): [number, number] => [dx + scale * (x * Math.cos(turn) - y * Math.sin(turn)), dy + scale * (x * Math.sin(turn) + y * Math.cos(turn))])
      const fit = similarityFit(points, moved)!
      points.forEach((point, i) => {
        expect(fit(point)[0]).toBeCloseTo(moved[i]![0], 4)
        expect(fit(point)[1]).toBeCloseTo(moved[i]![1], 4)
      })
    }))
    expect(similarityFit([[1, 1]], [[2, 2]])).toBe(null)
    expect(similarityFit([[1, 1], [1, 1]], [[2, 2], [3, 3]])).toBe(null)
  })

  test('are fitted to the points of the clip: a mark through two of them goes through the same two there', () => {
    const laying = layingOf(set, { width: 720, height: 1280, handedness: 'right', points: { leadAnkle: [400, 700], head: [500, 850] } })
    expect(laying.points).toBe(2)
    const [laid] = laidMarks(set, 'other', laying, 9, () => 'new')
    expect(laid).toMatchObject({ id: 'new', clipId: 'other', order: 9, points: [[400, 700], [500, 850]] })
  })

  test("the other hand's are mirrored; without points the picture's size tells", () => {
    const laying = layingOf(set, { width: 500, height: 1000, handedness: 'left', points: {} })
    expect(laying.points).toBe(0)
    expect(laidMarks(set, 'other', laying, 0, () => 'n')[0]!.points).toEqual([[450, 100], [350, 250]])
    const fitted = layingOf(set, { width: 1000, height: 2000, handedness: 'left', points: { leadAnkle: [900, 200], head: [700, 500], ball: [750, 320] } })
    expect(laidMarks(set, 'other', fitted, 0, () => 'n')[0]!.points).toEqual([[900, 200], [700, 500]])
  })
})

describe('words and files', () => {
  test('digits follow the error', () => {
    const digits = (value: number, sigma: number, lo = value - sigma, hi = value + sigma) => digitsOf({ value, sigma, lo, hi })
    expect(digits(34.234, 1.26)).toEqual({ value: '34.2', error: '\u00b1 1.3' })
    expect(digits(-128.4, 14.2)).toEqual({ value: '\u2212128', error: '\u00b1 14' })
    expect(digits(0.28333, 0.0068)).toEqual({ value: '0.2833', error: '\u00b1 0.0068' })
    expect(digits(12, 3, 10, 17)).toEqual({ value: '12.0', error: '+5.0 \u22122.0' })
    expect(inWords('lead-arm-level-down found; leadShoulder, midHips in the levelled down-the-line picture')).toBe('lead arm level, down found; lead shoulder, midway between the hips in the levelled down the line picture')
  })
  test('CSV holds every measure, had or missing, with its commas and quotes', () => {
    const csv = measuresCsv({
      format: 'crossbearing-measures', version: 1, positions: {},
      measures: [{ id: 'tempo-ratio', view: null, at: 'swing', value: 3.1, unit: 'ratio', sigma: 0.1, lo: 3, hi: 3.2, basis: 'top given, "by hand"' }],
      missing: [{ id: 'inclination', view: 'down-the-line', at: 'top', why: 'top is not known' }],
    })
    expect(csv).toBe('id,view,at,value,unit,sigma,lo,hi,basis,missing\r\ntempo-ratio,,swing,3.1,ratio,0.1,3,3.2,"top given, ""by hand""",\r\ninclination,down-the-line,top,,,,,,,top is not known\r\n')
  })
})

test('undo runs through two tables in the order of the work, and forgets what was undone once something new is done', () => {
  fc.assert(fc.property(fc.array(fc.constantFrom('a', 'b', 'undo', 'redo'), { maxLength: 40 }), (acts) => {
    const tables = { a: new History<{ n: number }>({}), b: new History<{ n: number }>({}) }
    const both = [tables.a, tables.b]
    // The same with one list of states.
    let states: [string, string][] = [['{}', '{}']]
    let at = 0
    const now = (): [string, string] => [JSON.stringify(tables.a.table), JSON.stringify(tables.b.table)]
    for (const [i, act] of acts.entries()) {
      if (act === 'a' || act === 'b') {
        tables[act].put({ [`r${i % 5}`]: { n: i } })
        states = [...states.slice(0, at + 1), now()]
        at++
      } else if (act === 'undo') {
        expect(undoNewest(both)).toBe(at > 0)
        at = Math.max(0, at - 1)
      } else {
        expect(redoNext(both)).toBe(at < states.length - 1)
        at = Math.min(states.length - 1, at + 1)
      }
      expect(now().map((text) => JSON.stringify(Object.entries(JSON.parse(text) as object).toSorted()))).toEqual(states[at]!.map((text) => JSON.stringify(Object.entries(JSON.parse(text) as object).toSorted())))
    }
  }))
})
