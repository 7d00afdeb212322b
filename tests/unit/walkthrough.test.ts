import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { imagePoint } from '../../shared/geometry/vec.ts'
import { applyEvent, stageEventSchema, type StageEvent } from '../../shared/walkthrough/events.ts'
import { encodeHeader, encodeRows, LogError, parseLog, Replay, rowsUntil, stateAt, type Log, type LogRow } from '../../shared/walkthrough/log.ts'
import { frameAt, playheadAfter, realSeconds, throughTie, ticksPerRealSecond, type ClipTime } from '../../shared/walkthrough/motion.ts'
import { playheads, type Stage, type StageClip } from '../../shared/walkthrough/stage.ts'
import { lesson, mark } from '../fixtures/lesson.ts'

const clip = (id: string, timescale: number, steps: readonly number[], captureRate: number): StageClip => {
  const ticks = steps.reduce<number[]>((all, step) => [...all, all.at(-1)! + step], [steps[0]! % 7])
  return {
    id, view: 'face-on', handedness: 'right', width: 1080, height: 1920, captureRate, playRate: 30,
    frames: { timescale, ticks, endTick: ticks.at(-1)! + 100 },
  }
}
const left = clip('left', 600, Array.from({ length: 60 }, () => 20), 240)
const right = clip('right', 90_000, Array.from({ length: 50 }, (_, i) => 2000 + ((i * 7919) % 3000)), 60)
const clips = { left, right }

const pane = fc.constantFrom(0 as const, 1 as const)
const tick = fc.integer({ min: -500, max: 200_000 })
const point = fc.tuple(fc.integer({ min: 0, max: 1080 }), fc.integer({ min: 0, max: 1920 })).map(([x, y]) => imagePoint(x, y))
const someMark = fc.record({ id: fc.constantFrom('m', 'n', 'o'), clipId: fc.constantFrom('left', 'right'), a: point, b: point }).map(({ id, clipId, a, b }) => mark(id, clipId, { points: [a, b] }))
const event: fc.Arbitrary<StageEvent> = fc.oneof(
  fc.record({
    type: fc.constant('pane' as const), pane,
    patch: fc.record({
      clipId: fc.constantFrom('left', 'right', null), tick, zoom: fc.integer({ min: 1, max: 8 }), centre: fc.option(point), mirror: fc.boolean(),
    }, { requiredKeys: [] }),
  }),
  fc.record({ type: fc.constant('seek' as const), ticks: fc.tuple(tick, tick) }),
  fc.record({ type: fc.constant('layout' as const), layout: fc.constantFrom('twin' as const, 'single' as const), active: pane }),
  fc.constant({ type: 'swap' as const }),
  fc.record({ type: fc.constant('tie' as const), tie: fc.option(fc.record({ left: tick, right: tick })) }),
  fc.record({
    type: fc.constant('play' as const),
    motion: fc.record({
      rate: fc.constantFrom(-1, -0.25, 0.125, 0.25, 0.5, 1), moving: fc.constantFrom('both' as const, 0 as const, 1 as const),
      loop: fc.option(fc.tuple(fc.integer({ min: 0, max: 600 }), fc.integer({ min: 1, max: 600 })).map(([from, length]) => ({ from, to: from + length }))),
    }),
  }),
  fc.constant({ type: 'stop' as const }),
  someMark.map((m): StageEvent => ({ type: 'marks', diff: { added: { [m.id]: m }, updated: {}, removed: {} } })),
  fc.option(someMark).map((draft): StageEvent => ({ type: 'draft', draft })),
  fc.option(fc.record({ pane, at: point })).map((pointer): StageEvent => ({ type: 'pointer', pointer })),
  fc.constant({ type: 'chapter' as const, title: 'The top' }),
)
const rows: fc.Arbitrary<LogRow[]> = fc
  .array(fc.tuple(fc.integer({ min: 0, max: 700 }), event), { maxLength: 60 })
  .map((list) => {
    let at = 0
    return list.map(([wait, what]): LogRow => [(at += wait), what])
  })
const log = rows.map((list): Log => lesson([left, right], list))
const time = fc.double({ min: 0, max: 45_000, noNaN: true })

/** What a live stage shows: events applied as they come, playheads worked out at the moment of looking. */
function live(of: Log, at: number): Stage {
  let stage = of.header.initial
  for (const [when, what] of of.rows) if (when <= at) stage = applyEvent(stage, what, when, clips)
  const [l, r] = playheads(stage, clips, at)
  return { ...stage, panes: [{ ...stage.panes[0], tick: l }, { ...stage.panes[1], tick: r }] }
}

describe('the log', () => {
  it('folds to what the live stage showed', () => {
    fc.assert(fc.property(log, time, (of, at) => {
      expect(stateAt(of, at)).toEqual(live(of, at))
    }))
  })

  it('is read the same from any time in any order', () => {
    fc.assert(fc.property(log, fc.array(time, { minLength: 1, maxLength: 20 }), fc.integer({ min: 1, max: 9 }), (of, times, every) => {
      const replay = new Replay(of, every)
      for (const at of times) expect(replay.at(at)).toEqual(stateAt(of, at))
    }))
  })

  it('is read without being changed, and gives the same each time', () => {
    fc.assert(fc.property(log, time, (of, at) => {
      const before = JSON.stringify(of)
      const first = JSON.stringify(stateAt(of, at))
      expect(JSON.stringify(stateAt(of, at))).toBe(first)
      expect(JSON.stringify(of)).toBe(before)
      expect(JSON.stringify(stateAt(JSON.parse(before) as Log, at))).toBe(first)
    }))
  })

  it('takes effect at its own millisecond, not before', () => {
    const of = lesson([left, right], [[100, { type: 'chapter', title: 'x' }], [100, { type: 'seek', ticks: [40, 4000] }], [200, { type: 'stop' }]])
    expect(stateAt(of, 99.999).panes[0].tick).not.toBe(40)
    expect(stateAt(of, 100).panes.map((p) => p.tick)).toEqual([40, 4000])
    expect([99, 100, 199, 200].map((at) => rowsUntil(of, at))).toEqual([0, 2, 2, 3])
  })

  it('comes back from disk as it was written', () => {
    fc.assert(fc.property(log, (of) => {
      const back = parseLog(encodeHeader(of.header) + encodeRows(of.rows))
      expect(back).toEqual(JSON.parse(JSON.stringify(of)))
    }))
  })

  it('cut off anywhere in its rows loses the torn line only', () => {
    fc.assert(fc.property(log.filter((of) => of.rows.length > 0), fc.double({ min: 0, max: 1, noNaN: true }), (of, where) => {
      const head = encodeHeader(of.header)
      const body = encodeRows(of.rows)
      const cut = Math.floor(where * body.length)
      const whole = body.slice(0, cut).split('\n').length - 1
      const back = parseLog(head + body.slice(0, cut))
      expect(back.rows).toHaveLength(whole)
      expect(back.rows).toEqual(JSON.parse(JSON.stringify(of.rows.slice(0, whole))))
    }))
  })

  it('refuses, naming the line, what is no log', () => {
    const head = encodeHeader(lesson([left, right], []).header)
    const refusals: [string, number][] = [
      ['', 1], ['{"format":"another"}\n', 1], ['not json\n', 1], [`${head}[1,{"type":"stop"}]\nnot json\n`, 3], [`${head}[1,{"type":"leap"}]\n`, 2],
      [`${head}[-1,{"type":"stop"}]\n`, 2], [`${head}[5,{"type":"stop"}]\n[4,{"type":"stop"}]\n`, 3], [`${head}[1,{"type":"stop"}]\n[null,{"type":"stop"}]\n[2,{"type":"stop"}]\n`, 3],
    ]
    for (const [text, line] of refusals) {
      let thrown: unknown
      try {
        parseLog(text)
      } catch (error) {
        thrown = error
      }
      expect(thrown, text.slice(-60)).toBeInstanceOf(LogError)
      expect((thrown as LogError).line).toBe(line)
    }
  })

  it('knows every event by its schema', () => {
    fc.assert(fc.property(event, (what) => {
      expect(stageEventSchema.safeParse(what).success).toBe(true)
    }))
  })
})

describe('the maths of the playhead', () => {
  const time2: ClipTime = left
  it('finds the frame that has begun last', () => {
    fc.assert(fc.property(tick, (at) => {
      const { ticks } = right.frames
      const expected = Math.max(0, ticks.findLastIndex((t) => t <= at))
      expect(frameAt(right.frames, at)).toBe(expected)
    }))
  })

  it('goes through a tie and back to the same instant', () => {
    fc.assert(fc.property(tick, tick, tick, (tiedLeft, tiedRight, at) => {
      const there = throughTie(left, right, tiedLeft, tiedRight, at)
      expect(throughTie(right, left, tiedRight, tiedLeft, there)).toBeCloseTo(at, 6)
      expect(realSeconds(right, tiedRight, there)).toBeCloseTo(realSeconds(left, tiedLeft, at), 9)
    }))
  })

  it('plays at the speed of the world, and holds at the ends', () => {
    // 240 captured a second stored at 30: a second of the world is 8 seconds of file, 4800 ticks of 600 a second.
    expect(ticksPerRealSecond(time2)).toBe(4800)
    const last = left.frames.ticks.at(-1)!
    expect(playheadAfter(left, 100, 0.1, 0.25, null)).toBeCloseTo(220, 9)
    expect(playheadAfter(left, 100, 100, 1, null)).toBe(last)
    expect(playheadAfter(left, 100, 100, -1, null)).toBe(left.frames.ticks[0])
  })

  it('stays in its loop once it is in it', () => {
    fc.assert(fc.property(fc.double({ min: 0, max: 60, noNaN: true }), fc.constantFrom(0.125, 0.5, 1, -0.5), (seconds, rate) => {
      const at = playheadAfter(left, 200, seconds, rate, { from: 160, to: 400 })
      expect(at).toBeGreaterThanOrEqual(160)
      expect(at).toBeLessThan(400 + 1e-6)
    }))
  })
})
