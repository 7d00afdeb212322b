import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { nearestTick } from '../../renderer/playback/head.ts'
import { StageStore } from '../../renderer/playback/stageStore.ts'
import { Transport } from '../../renderer/playback/transport.ts'
import { nudgeTied } from '../../shared/walkthrough/commands.ts'
import { stateAt, type LogRow } from '../../shared/walkthrough/log.ts'
import { frameAt, type ClipTime } from '../../shared/walkthrough/motion.ts'
import { emptyStage, type PaneId, type StageClip } from '../../shared/walkthrough/stage.ts'

const constant = (frames: number, timescale: number, playRate: number, captureRate = playRate, first = 0): ClipTime => {
  const ticks = Array.from({ length: frames }, (_, n) => first + Math.round(n * timescale / playRate))
  return { frames: { timescale, ticks, endTick: first + Math.round(frames * timescale / playRate) }, captureRate, playRate }
}

const asClip = (id: string, time: ClipTime): StageClip => ({ id, view: 'other', handedness: 'right', width: 1080, height: 1920, ...time })

function rig(left: ClipTime, right: ClipTime | null = null) {
  let now = 1000
  const store = new StageStore(emptyStage, {}, () => now)
  const transport = new Transport(store)
  const put = (pane: PaneId, id: string, time: ClipTime) => {
    store.know([asClip(id, time)])
    store.dispatch({ type: 'pane', pane, patch: { clipId: id, tick: time.frames.ticks[0]! } })
  }
  put(0, 'a', left)
  if (right) put(1, 'b', right)
  /** Runs animation frames for so many seconds of the clock, and a hair more than rounding could take away. */
  const run = (seconds: number, each: () => void = () => undefined) => {
    const end = now + seconds * 1000 + 0.01
    transport.advance()
    while (now < end) {
      now = Math.min(now + 1000 / 60, end)
      transport.advance()
      each()
    }
  }
  /** As the Bench nudges: the events come from the walkthrough's commands, the transport only goes on from there. */
  const nudge = (pane: PaneId, by: number) => {
    transport.pause()
    for (const event of nudgeTied(store.stage, pane === 0 ? left : right!, pane, by)) store.dispatch(event)
  }
  const frames = () => [transport.head(0)?.frame ?? null, transport.head(1)?.frame ?? null]
  return { transport, store, run, frames, nudge, now: () => now, wait: (ms: number) => { now += ms } }
}

describe('one pane', () => {
  test('steps and jogs by frames and stays inside the clip', () => {
    const { transport, frames } = rig(constant(10, 600, 30))
    transport.step(0, 3)
    transport.step(0, -1)
    expect(frames()).toEqual([2, null])
    expect(transport.head(0)!.tick).toBe(40)
    transport.step(0, 99)
    expect(frames()[0]).toBe(9)
    transport.step(0, -1)
    expect(frames()[0]).toBe(8)
    const drag = transport.jog(0)
    drag.by(-2.4)
    expect(frames()[0]).toBe(6)
    drag.by(-99)
    drag.by(1)
    expect(frames()[0]).toBe(9)
  })

  test('plays by the time of the world: a clip filmed at 240 that plays at 30 runs through eight times the file time', () => {
    const { transport, run, frames } = rig(constant(400, 600, 30, 240))
    transport.setRate(1)
    transport.play(0)
    run(1)
    expect(frames()[0]).toBe(240)
    transport.pause()
    transport.setRate(1 / 8)
    transport.play(0)
    run(1)
    expect(frames()[0]).toBe(270)
  })

  test('comes to rest at its end, and play begins anew from there', () => {
    const { transport, run, frames } = rig(constant(30, 600, 30))
    transport.setRate(1)
    transport.play(0)
    run(0.99)
    expect(transport.isPlaying).toBe(true)
    run(0.2)
    expect([transport.isPlaying, frames()[0]]).toEqual([false, 29])
    transport.play(0)
    run(0.1)
    expect(frames()[0]).toBe(3)
  })

  test('goes round a span and never shows a frame outside it', () => {
    const { transport, run } = rig(constant(100, 600, 30))
    transport.seekFrame(0, 50)
    transport.setRate(1)
    transport.setLoop(0, { from: 200, to: 300 })
    const seen = new Set<number>()
    transport.play(0)
    run(3, () => seen.add(transport.head(0)!.frame))
    expect([...seen].toSorted((a, b) => a - b)).toEqual([10, 11, 12, 13, 14])
    expect(transport.isPlaying).toBe(true)
  })

  test('moving the playhead does not touch the state that rooms show', () => {
    const { transport, run } = rig(constant(100, 600, 30), constant(100, 600, 30))
    transport.tie()
    let told = 0
    transport.state.subscribe(() => { told++ })
    for (let i = 0; i < 50; i++) transport.step(0, 1)
    const drag = transport.jog(0)
    for (let i = 0; i < 50; i++) drag.by(-i)
    expect(told).toBe(0)
    transport.play(0)
    run(1)
    expect(told).toBe(0)
  })
})

describe('two panes', () => {
  test('untied, a pane moves alone', () => {
    const { transport, run, frames } = rig(constant(100, 600, 30), constant(100, 600, 30))
    transport.step(1, 7)
    expect(frames()).toEqual([0, 7])
    transport.setRate(1)
    transport.play(0)
    run(0.5)
    expect(frames()).toEqual([15, 7])
    transport.play('both')
    run(0.5)
    expect(frames()).toEqual([30, 22])
  })

  test('tied, both show the same instant of the world, whatever their rates', () => {
    // 60 a second against 240 filmed and played at 30, from ticks that do not begin at zero.
    const { transport, run, frames, nudge } = rig(constant(300, 90_000, 60), constant(1200, 600, 30, 240, 77))
    transport.seekFrame(0, 40)
    transport.seekFrame(1, 300)
    transport.tie()
    transport.step(0, 1)
    expect(frames()).toEqual([41, 304])
    transport.step(0, -5)
    expect(frames()).toEqual([36, 284])
    transport.step(1, 8)
    expect(frames()).toEqual([38, 292])
    nudge(1, 2)
    expect(frames()).toEqual([38, 294])
    nudge(0, -1)
    expect(frames()).toEqual([37, 294])
    transport.setRate(1)
    transport.play()
    run(0.5)
    expect(frames()).toEqual([67, 414])
    transport.untie()
    transport.step(0, 1)
    expect(frames()).toEqual([68, 414])
  })

  test('a pane past its clip\'s end holds its last frame while the other plays on, and comes back in step', () => {
    const { transport, run, frames } = rig(constant(30, 600, 30), constant(90, 600, 30))
    transport.tie()
    transport.setRate(1)
    transport.play(0)
    run(2)
    expect(frames()).toEqual([29, 60])
    transport.pause()
    expect(frames()).toEqual([29, 60])
    transport.step(0, -1)
    expect(frames()).toEqual([29, 59])
    transport.step(1, -29)
    expect(frames()).toEqual([29, 30])
    transport.step(0, -1)
    expect(frames()).toEqual([28, 28])
    transport.step(0, 5)
    expect(frames()).toEqual([29, 33])
    transport.play(1)
    run(5)
    expect([transport.isPlaying, ...frames()]).toEqual([false, 29, 89])
  })

  test('tied at rest, the follower shows the frame nearest to the instant, and steps there and back return', () => {
    fc.assert(fc.property(
      fc.array(fc.integer({ min: 5, max: 60 }), { minLength: 5, maxLength: 40 }), fc.array(fc.integer({ min: 5, max: 60 }), { minLength: 5, maxLength: 40 }),
      fc.nat(39), fc.nat(39), fc.array(fc.integer({ min: -3, max: 3 }), { maxLength: 10 }),
      (leftGaps, rightGaps, atLeft, atRight, steps) => {
        const uneven = (gaps: number[]): ClipTime => {
          let tick = 0
          const ticks = gaps.map((gap) => (tick += gap))
          return { frames: { timescale: 1000, ticks, endTick: tick + 20 }, captureRate: 30, playRate: 30 }
        }
        const [left, right] = [uneven(leftGaps), uneven(rightGaps)]
        const { transport, frames } = rig(left, right)
        transport.seekFrame(0, atLeft % leftGaps.length)
        transport.seekFrame(1, atRight % rightGaps.length)
        transport.tie()
        const tie = transport.tied
        for (const step of steps) {
          transport.seekFrame(0, Math.min(Math.max(frames()[0]! + step, 0), leftGaps.length - 1))
          const wanted = tie!.right + (transport.head(0)!.tick - tie!.left)
          const best = Math.min(...right.frames.ticks.map((tick) => Math.abs(tick - wanted)))
          expect(Math.abs(transport.head(1)!.tick - wanted)).toBe(best)
        }
        const there = frames()
        if (there[0]! > 0) {
          transport.step(0, -1)
          transport.step(0, 1)
          expect(frames()).toEqual(there)
        }
      },
    ))
  })

  test('the events heard replay to the very frames that were live, whatever the coach did', () => {
    const act = fc.oneof(
      fc.record({ do: fc.constantFrom('step', 'seek', 'nudge'), pane: fc.constantFrom<PaneId>(0, 1), by: fc.integer({ min: -40, max: 40 }) }),
      fc.record({ do: fc.constantFrom('tie', 'untie', 'swap', 'pause', 'loop', 'noLoop'), pane: fc.constantFrom<PaneId>(0, 1), by: fc.constant(0) }),
      fc.record({ do: fc.constantFrom('play', 'both', 'rate'), pane: fc.constantFrom<PaneId>(0, 1), by: fc.nat(3) }),
    )
    fc.assert(fc.property(fc.array(fc.tuple(act, fc.integer({ min: 0, max: 1500 })), { maxLength: 25 }), (acts) => {
      const { transport, store, run, frames, nudge, now, wait } = rig(constant(100, 600, 30, 60), constant(300, 90_000, 60, 240, 123))
      const initial = store.stage
      const rows: LogRow[] = []
      const seen: { at: number, frames: (number | null)[] }[] = []
      store.listen((at, event) => rows.push([at, event]))
      for (const [{ do: what, pane, by }, pause] of acts) {
        wait(1)
        if (what === 'step') transport.step(pane, by)
        else if (what === 'seek') transport.seekFrame(pane, by * 3)
        else if (what === 'nudge') nudge(pane, by)
        else if (what === 'tie') transport.tie()
        else if (what === 'untie') transport.untie()
        else if (what === 'swap') transport.swap()
        else if (what === 'pause') transport.pause()
        else if (what === 'loop') transport.setLoop(pane, { from: transport.head(pane)!.tick, to: transport.head(pane)!.tick + 3000 })
        else if (what === 'noLoop') transport.setLoop(pane, null)
        else if (what === 'play') transport.play(pane)
        else if (what === 'both') transport.play('both')
        else transport.setRate(1 / 2 ** by)
        run(pause / 1000, () => seen.push({ at: now(), frames: frames() }))
      }
      const log = { header: { format: 'crossbearing-walkthrough' as const, version: 1 as const, clips: store.clips, initial }, rows }
      for (const { at, frames: live } of seen) {
        const { panes } = stateAt(log, at)
        expect(panes.map(({ clipId, tick }) => frameAt(store.clips[clipId!]!.frames, tick))).toEqual(live)
      }
    }), { numRuns: 60 })
  })

  test('a new pace or loop goes on from where the run has got to', () => {
    const { transport, run, frames } = rig(constant(100, 600, 30), constant(100, 600, 30))
    transport.setRate(1)
    transport.tie()
    transport.play(0)
    run(1)
    transport.setRate(1 / 2)
    run(1)
    expect(frames()).toEqual([45, 45])
    transport.setLoop(0, { from: 0, to: 200 })
    run(0.1)
    expect(frames()).toEqual([1, 1])
    expect(transport.isPlaying).toBe(true)
  })

  test('swapped panes stay in step, and swapping twice changes nothing', () => {
    const { transport, frames } = rig(constant(100, 600, 30), constant(200, 90_000, 60))
    transport.seekFrame(0, 10)
    transport.seekFrame(1, 30)
    transport.tie()
    transport.setLoop(1, { from: 0, to: 90_000 })
    const before = [transport.tied, transport.state.getState().loops]
    transport.swap()
    expect(frames()).toEqual([30, 10])
    transport.step(0, 2)
    expect(frames()).toEqual([32, 11])
    transport.step(0, -2)
    transport.swap()
    expect([transport.tied, transport.state.getState().loops]).toEqual(before)
    expect(frames()).toEqual([10, 30])
  })
})

test('the nearest frame is by its beginning', () => {
  const frames = { timescale: 1000, ticks: [0, 10, 40], endTick: 50 }
  expect([-5, 4, 6, 24, 26, 99].map((tick) => nearestTick(frames, tick))).toEqual([0, 0, 10, 10, 40, 40])
})
