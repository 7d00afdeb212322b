import fc from 'fast-check'
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest'
import { applyDiff, type RecordsDiff } from '../../shared/markup/diff.ts'
import type { Mark, Marks } from '../../shared/markup/mark.ts'
import type { StageClip } from '../../shared/walkthrough/stage.ts'
import { Bench } from '../../renderer/bench/bench.ts'
import { benchKeys } from '../../renderer/bench/benchKeys.ts'
import { Drawing } from '../../renderer/bench/drawing.ts'
import { MarksSaver, type Saving } from '../../renderer/bench/marksSaver.ts'
import { secondsWords, spanWords } from '../../renderer/bench/markWords.ts'
import { fitted, laneOf, panned, rowsFor, rulerStep, secondsAt, secondsOf, showing, tickAt, xOf, zoomed } from '../../renderer/bench/strip/axis.ts'
import { nearestSmall } from '../../renderer/bench/strip/filmstrip.ts'
import type { Bridge } from '../../renderer/bridge/index.ts'
import { clashes } from '../../renderer/ui/keys.ts'

const clip = (id: string, fps: number): StageClip => ({
  id, view: 'face-on', handedness: 'right', width: 1080, height: 1920, captureRate: fps, playRate: fps,
  frames: { timescale: 90_000, ticks: Array.from({ length: 60 }, (_, i) => 900 + Math.round((i * 90_000) / fps)), endTick: 900 + Math.round((60 * 90_000) / fps) },
})
const mark = (id: string, x: number): Mark => ({
  id, clipId: 'l', shape: 'dot', meaning: null, points: [[x, x]], text: '', span: null, ink: 'plain', weight: 4, dashed: false, hidden: false, order: x,
})

/** A desk that keeps marks, or refuses them. */
function deskOfMarks() {
  const desk = { kept: {} as Marks, refuses: false, calls: 0 }
  const apply = async (diff: RecordsDiff<Mark>): Promise<void> => {
    desk.calls++
    await Promise.resolve()
    if (desk.refuses) throw new Error('The disk is full.')
    desk.kept = applyDiff(desk.kept, diff)
  }
  return { desk, apply }
}

describe('saving marks', () => {
  beforeEach(() => void vi.useFakeTimers())
  afterEach(() => void vi.useRealTimers())

  test('the first change goes at once, those after it together within 300 ms', async () => {
    const { desk, apply } = deskOfMarks()
    const saver = new MarksSaver(apply, () => undefined)
    saver.add({ added: { a: mark('a', 1) }, updated: {}, removed: {} })
    await vi.advanceTimersByTimeAsync(1)
    expect(desk.kept).toEqual({ a: mark('a', 1) })
    for (let i = 0; i < 20; i++) saver.add({ added: {}, updated: { a: [mark('a', i + 1), mark('a', i + 2)] }, removed: {} })
    await vi.advanceTimersByTimeAsync(301)
    expect(desk.kept).toEqual({ a: mark('a', 21) })
    expect(desk.calls).toBe(2)
  })

  test('what was refused is kept, said, and comes through later with what came meanwhile', async () => {
    const { desk, apply } = deskOfMarks()
    const told: Saving[] = []
    const saver = new MarksSaver(apply, (saving) => told.push(saving))
    desk.refuses = true
    saver.add({ added: { a: mark('a', 1) }, updated: {}, removed: {} })
    await vi.advanceTimersByTimeAsync(1)
    expect(told.at(-1)).toMatchObject({ state: 'failed' })
    saver.add({ added: { b: mark('b', 2) }, updated: {}, removed: {} })
    desk.refuses = false
    await vi.advanceTimersByTimeAsync(5000)
    expect(desk.kept).toEqual({ a: mark('a', 1), b: mark('b', 2) })
    expect(told.at(-1)).toMatchObject({ state: 'saved' })
  })
})

describe('the Bench without a window', () => {
  const bridge = (apply: (diff: RecordsDiff<Mark>) => Promise<void>) =>
    ({ call: async (name: string, input: { diff: RecordsDiff<Mark> }) => (name === 'marks.apply' ? apply(input.diff) : {}), mediaUrl: (path: string) => path }) as unknown as Bridge

  test('undo and redo go through every state of the marks, on the stage and on disk', async () => {
    await fc.assert(fc.asyncProperty(fc.array(fc.tuple(fc.constantFrom('a', 'b', 'c'), fc.integer({ min: 0, max: 9 }), fc.constantFrom('put', 'remove', 'undo', 'redo')), { maxLength: 30 }), async (steps) => {
      const { desk, apply } = deskOfMarks()
      const bench = new Bench(bridge(apply))
      for (const [id, x, what] of steps) {
        if (what === 'put') bench.marks.put([mark(id, x)])
        else if (what === 'remove') bench.marks.remove([id])
        else bench.marks[what as 'undo' | 'redo']()
      }
      await bench.saver.flush()
      expect(desk.kept).toEqual(bench.store.stage.marks)
      while (bench.state.getState().canUndo) bench.marks.undo()
      expect(bench.store.stage.marks).toEqual({})
      await bench.saver.flush()
      expect(desk.kept).toEqual({})
    }), { numRuns: 60 })
  })

  test('no key does two things, and each says what it does', () => {
    const bench = new Bench(bridge(async () => undefined))
    const keys = benchKeys(bench, new Drawing(bench), () => ({ pointer: null, strip: null, setBeside: null, setBesideAgain: null }))
    expect(clashes(keys)).toEqual([])
    expect(new Set(keys.map((key) => key.id)).size).toBe(keys.length)
    for (const key of keys) expect(key.words.length).toBeGreaterThan(3)
  })
})

describe('the axis of the strips', () => {
  const lanes = [laneOf(clip('l', 60), 0, { left: 2400, right: 15_900 }), laneOf(clip('r', 30), 1, { left: 2400, right: 15_900 })] as const

  test('tied instants stand at 0 s, one over the other; ticks and pixels go there and back', () => {
    expect(secondsAt(lanes[0], 2400)).toBe(0)
    expect(secondsAt(lanes[1], 15_900)).toBe(0)
    const axis = fitted(lanes, 900)
    expect(xOf(axis, secondsAt(lanes[0], 2400))).toBe(xOf(axis, secondsAt(lanes[1], 15_900)))
    fc.assert(fc.property(fc.double({ min: 0, max: 90_000, noNaN: true }), (tick) => {
      expect(tickAt(lanes[0], secondsOf(axis, xOf(axis, secondsAt(lanes[0], tick))))).toBeCloseTo(tick, 4)
    }))
  })

  test('the whole is in sight at first; zooming keeps what is under the pointer and never leaves the clips', () => {
    const whole = fitted(lanes, 900)
    expect(xOf(whole, secondsAt(lanes[1], 900))).toBeGreaterThan(0)
    expect(xOf(whole, secondsAt(lanes[1], lanes[1].clip.frames.endTick))).toBeLessThan(900)
    fc.assert(fc.property(fc.array(fc.tuple(fc.double({ min: 0.2, max: 5, noNaN: true }), fc.integer({ min: 0, max: 900 }), fc.boolean()), { maxLength: 20 }), (moves) => {
      let axis = whole
      for (const [factor, x, pans] of moves) {
        axis = pans ? panned(axis, lanes, 900, x - 450) : zoomed(axis, lanes, 900, factor, x)
        expect(axis.start).toBeGreaterThanOrEqual(whole.start - 1e-9)
        expect(axis.start + 900 * axis.perPx).toBeLessThanOrEqual(whole.start + 900 * whole.perPx + 1e-9)
      }
    }))
    const close = zoomed(whole, lanes, 900, 4, 450)
    expect(secondsOf(close, 450)).toBeCloseTo(secondsOf(whole, 450), 9)
  })

  test('a playhead that leaves the sight is followed', () => {
    const close = zoomed(fitted(lanes, 900), lanes, 900, 8, 0)
    const moved = showing(close, 900, 1)
    expect(xOf(moved, 1)).toBeGreaterThan(0)
    expect(xOf(moved, 1)).toBeLessThan(900)
    expect(showing(moved, 900, 1)).toBe(moved)
  })

  test('the ruler is written at 1, 2 or 5 times a power of ten', () => {
    expect(rulerStep(0.01)).toBe(1)
    expect(rulerStep(0.003)).toBeCloseTo(0.2)
    expect(rulerStep(0.0005)).toBeCloseTo(0.05)
  })

  test('bars that overlap stand in rows of their own', () => {
    fc.assert(fc.property(fc.array(fc.tuple(fc.integer({ min: 0, max: 100 }), fc.integer({ min: 1, max: 30 })), { maxLength: 20 }), (raw) => {
      const spans = raw.map(([from, length]) => ({ from, to: from + length }))
      const rows = rowsFor(spans, 1)
      spans.forEach((one, i) => spans.forEach((two, j) => {
        if (i < j && rows[i] === rows[j]) expect(one.to + 1 <= two.from || two.to + 1 <= one.from).toBe(true)
      }))
    }))
  })

  test('the small frame nearest to a frame', () => {
    expect([0, 4, 5, 6, 14, 99].map((frame) => nearestSmall([0, 10, 20], frame))).toEqual([0, 0, 0, 1, 1, 2])
  })
})

test('words: seconds with their sign, spans in frames counted from one', () => {
  expect(secondsWords(0.1166)).toBe('+0.117')
  expect(secondsWords(-0.0001)).toBe('0.000')
  expect(secondsWords(-1.5)).toBe('\u22121.500')
  const { frames } = clip('l', 60)
  expect(spanWords({ span: { from: 900, to: 900 } }, frames)).toBe('frame 1')
  expect(spanWords({ span: { from: 2400, to: 5400 } }, frames)).toBe('frames 2 to 4')
  expect(spanWords({ span: null }, frames)).toBe('whole clip')
})
