/** What the demo places on its own clips, against what is true of them. */
import { describe, expect, test } from 'vitest'
import { demoPoints, demoSigmaPx } from '../../electron/desk/demoPoints.ts'
import { demoShots, type Shot } from '../../electron/desk/demo/plan.ts'
import { clipTruth, timescale, type ClipTruth } from '../../electron/desk/demo/truth.ts'
import { fitArms } from '../../shared/arms/fit.ts'
import { isArmsRefusal } from '../../shared/arms/types.ts'
import type { Digitised } from '../../shared/contract/digitising.ts'
import { assembleSwing, type MeasuredClip } from '../../shared/swing/assemble.ts'
import { digitisedFault } from '../../shared/swing/digitised.ts'
import { measurePrepared, prepareSwing } from '../../shared/swing/measureSwing.ts'

interface Part {
  readonly truth: ClipTruth
  readonly clip: MeasuredClip
  readonly records: readonly Digitised[]
}

function partOf(shot: Shot): Part {
  const truth = clipTruth(shot, 1)
  const ticks = truth.frames.map(({ tick }) => tick)
  const clip: MeasuredClip = {
    id: shot.id, view: truth.view, handedness: truth.handedness, width: truth.widthPx, height: truth.heightPx, captureRate: shot.captureRate, playRate: shot.playRate,
    frames: { timescale, ticks, endTick: ticks.at(-1)! + Math.round(timescale / shot.playRate) },
  }
  return { truth, clip, records: demoPoints(truth, clip) }
}

function swingOf(who: string) {
  const shots = demoShots().filter(({ student }) => student === who)
  const parts = (['face-on', 'down-the-line'] as const).map((view) => partOf(shots.find(({ setting }) => setting.view === view)!))
  const [front, line] = parts as [Part, Part]
  const assembled = assembleSwing({
    clips: [front.clip, line.clip], oneSwing: shots.every(({ swing }) => swing === shots[0]!.swing), tie: { left: front.truth.events.impact!.tick, right: line.truth.events.impact!.tick },
    statureM: front.truth.statureM, club: front.truth.club, records: Object.fromEntries([...front.records, ...line.records].map((record) => [record.id, record])), clickError: { squares: 0, freedom: 0 },
  })
  if (!assembled.ok) throw new Error(assembled.reasons.join(' '))
  return { front, line, read: prepareSwing(assembled.file), notes: assembled.notes }
}

describe.each(['rowan', 'maren', 'linden'])('the points of %s', (who) => {
  const { front, line, read, notes } = swingOf(who)
  const own = front.truth.swing

  test('hold together, are the program’s, and are off by as much as they say', () => {
    expect(notes).toEqual([])
    for (const { clip, records, truth } of [front, line]) {
      expect(digitisedFault(records, clip)).toBeNull()
      expect(records.every(({ by }) => by === 'program')).toBe(true)
      expect(new Set(records.map(({ kind }) => kind))).toEqual(new Set(['landmark', 'position', 'guide', 'mat', 'heard']))
      const byTick = new Map(truth.frames.map((frame) => [frame.tick, frame.pixel]))
      const off = records.flatMap((record) => {
        if (record.kind !== 'landmark') return []
        expect(record.sigmaPx).toBe(demoSigmaPx)
        const [x, y] = byTick.get(record.tick)![record.point]!
        return [(record.at[0] - x) / demoSigmaPx, (record.at[1] - y) / demoSigmaPx]
      })
      expect(off.length).toBeGreaterThan(2000)
      expect(Math.sqrt(off.reduce((sum, each) => sum + each * each, 0) / off.length)).toBeCloseTo(1, 1)
      expect(demoPoints(truth, clip)).toEqual(records)
    }
  })

  test('measure what is true, within their errors', () => {
    const { measures } = measurePrepared(read)
    const of = (id: string, at: string, view: string | null) => {
      const found = measures.find((each) => each.id === id && each.at === at && each.view === view)
      if (!found) throw new Error(`${id} at ${at} is missing`)
      return found
    }
    const near = (id: string, at: string, view: string | null, truth: number, spare = 0): void => {
      const { value, sigma } = of(id, at, view)
      expect(Math.abs(value - truth), `${id} ${value} ± ${sigma}, true ${truth}`).toBeLessThan(3 * sigma + spare)
    }
    // Two swings filmed one after the other have a tempo each.
    const view = who === 'maren' ? 'face-on' : null
    near('backswing-time', 'swing', view, own.backswingS)
    near('downswing-time', 'swing', view, own.downswingS)
    near('tempo-ratio', 'swing', view, own.tempoRatio)
    near('camera-yaw', 'swing', 'face-on', front.truth.camera.yawDeg)
    near('camera-yaw', 'swing', 'down-the-line', line.truth.camera.yawDeg)
    near('camera-offset-hand-line', 'swing', 'down-the-line', 1000 * line.truth.camera.offsetFromHandLineM)
    near('camera-height', 'swing', 'down-the-line', 1000 * line.truth.camera.heightM)
    // The measure goes to the clubhead's middle, which stands some degrees off the shaft's own end; two swings stand for one.
    near('shaft-azimuth', 'top', null, own.shaftAzimuthTopDeg, 3)
  })

  test('fit arms that stand as they stood', () => {
    const fit = fitArms(read, 'top')
    if (isArmsRefusal(fit)) throw new Error(fit.why)
    const spare = who === 'maren' ? 2 : 0.5
    expect(Math.abs(fit.pose.readings.azimuthDeg - own.shaftAzimuthTopDeg)).toBeLessThan(3 * fit.sigma.azimuthDeg + spare)
    expect(Math.abs(fit.pose.readings.swivelDeg - own.trailElbowSwivelTopDeg)).toBeLessThan(3 * fit.sigma.swivelDeg + spare)
  })
})

test('a short clip keeps what it has', () => {
  const shot = demoShots({ seconds: 0.8 }).find(({ id }) => id === 'rowan-face-on')!
  const { clip, records } = partOf(shot)
  expect(digitisedFault(records, clip)).toBeNull()
  expect(records.some(({ kind }) => kind === 'landmark')).toBe(true)
})
