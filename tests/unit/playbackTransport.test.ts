import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { Clock } from '../../renderer/playback/clock.ts'
import { nearestTick } from '../../renderer/playback/head.ts'
import { Transport } from '../../renderer/playback/transport.ts'
import { frameAt, type ClipTime } from '../../shared/walkthrough/motion.ts'
import { emptyStage, playheads } from '../../shared/walkthrough/stage.ts'

const constant = (frames: number, timescale: number, playRate: number, captureRate = playRate, first = 0): ClipTime => {
  const ticks = Array.from({ length: frames }, (_, n) => first + Math.round(n * timescale / playRate))
  return { frames: { timescale, ticks, endTick: first + Math.round(frames * timescale / playRate) }, captureRate, playRate }
}

function rig(left: ClipTime | null, right: ClipTime | null = null) {
  let now = 1000
  const clock = new Clock(() => now / 1000)
  const transport = new Transport(clock, () => undefined)
  if (left) transport.setClip('left', left)
  if (right) transport.setClip('right', right)
  clock.tick(now)
  /** Runs animation frames for so many seconds of the clock, and a hair more than rounding could take away. */
  const run = (seconds: number) => {
    const end = now + seconds * 1000 + 0.01
    clock.tick(now)
    transport.advance()
    while (now < end) {
      now = Math.min(now + 1000 / 60, end)
      clock.tick(now)
      transport.advance()
    }
  }
  const frames = () => [transport.heads.left?.frame ?? null, transport.heads.right?.frame ?? null]
  return { transport, clock, run, frames }
}

describe('one pane', () => {
  test('steps and jogs by frames and stays inside the clip', () => {
    const { transport, frames } = rig(constant(10, 600, 30))
    transport.step('left', 3)
    transport.step('left', -1)
    expect(frames()).toEqual([2, null])
    expect(transport.heads.left!.tick).toBe(40)
    transport.step('left', 99)
    expect(frames()[0]).toBe(9)
    transport.step('left', -1)
    expect(frames()[0]).toBe(8)
    const drag = transport.jog('left')
    drag.by(-2.4)
    expect(frames()[0]).toBe(6)
    drag.by(-99)
    drag.by(1)
    expect(frames()[0]).toBe(9)
  })

  test('plays by the time of the world: a clip filmed at 240 that plays at 30 runs through eight times the file time', () => {
    const { transport, run, frames } = rig(constant(400, 600, 30, 240))
    transport.setRate(1)
    transport.play('left')
    run(1)
    expect(frames()[0]).toBe(240)
    transport.pause()
    transport.setRate(1 / 8)
    transport.play('left')
    run(1)
    expect(frames()[0]).toBe(270)
  })

  test('comes to rest at its end, and play begins anew from there', () => {
    const { transport, run, frames } = rig(constant(30, 600, 30))
    transport.setRate(1)
    transport.play('left')
    run(0.99)
    expect(transport.isPlaying).toBe(true)
    run(0.2)
    expect([transport.isPlaying, frames()[0]]).toEqual([false, 29])
    transport.play('left')
    run(0.1)
    expect(frames()[0]).toBe(3)
  })

  test('goes round a span and never shows a frame outside it', () => {
    const { transport, run } = rig(constant(100, 600, 30))
    transport.seekFrame('left', 50)
    transport.setRate(1)
    transport.setLoop('left', { from: 200, to: 300 })
    const seen = new Set<number>()
    transport.onMoved((heads) => seen.add(heads.left!.frame))
    transport.play('left')
    run(3)
    expect([...seen].toSorted((a, b) => a - b)).toEqual([10, 11, 12, 13, 14])
    expect(transport.isPlaying).toBe(true)
  })

  test('an outside clock drives play, and what is foreseen comes true', () => {
    const { transport, clock, frames } = rig(constant(100, 600, 30))
    let sound = 12
    clock.use(() => sound)
    transport.setRate(1)
    transport.play('left')
    transport.advance()
    const foreseen = transport.foresee('left', 0.5)
    sound += 0.5001
    transport.advance()
    expect(frames()[0]).toBe(15)
    expect(foreseen).toBe(15)
  })

  test('follows a course from outside by the outside clock\'s own seconds', () => {
    const { transport, clock, frames } = rig(constant(100, 600, 30), constant(100, 600, 30))
    let sound = 2
    clock.use(() => sound)
    transport.follow((seconds) => ({ left: seconds * 600, right: 1000 }), 5)
    transport.advance()
    expect(frames()).toEqual([60, 50])
    sound = 1
    transport.advance()
    expect(frames()).toEqual([30, 50])
    sound = 5
    expect(transport.advance()).toBe(false)
  })

  test('moving the playhead does not touch the state that rooms show', () => {
    const { transport, run } = rig(constant(100, 600, 30), constant(100, 600, 30))
    transport.tie()
    let told = 0
    transport.state.subscribe(() => { told++ })
    for (let i = 0; i < 50; i++) transport.step('left', 1)
    const drag = transport.jog('left')
    for (let i = 0; i < 50; i++) drag.by(-i)
    expect(told).toBe(0)
    transport.play('left')
    run(1)
    expect(told).toBe(1)
  })
})

describe('two panes', () => {
  test('untied, a pane moves alone', () => {
    const { transport, run, frames } = rig(constant(100, 600, 30), constant(100, 600, 30))
    transport.step('right', 7)
    expect(frames()).toEqual([0, 7])
    transport.setRate(1)
    transport.play('left')
    run(0.5)
    expect(frames()).toEqual([15, 7])
    transport.play('both')
    run(0.5)
    expect(frames()).toEqual([30, 22])
  })

  test('tied, both show the same instant of the world, whatever their rates', () => {
    // 60 a second against 240 filmed and played at 30, from ticks that do not begin at zero.
    const { transport, run, frames } = rig(constant(300, 90_000, 60), constant(1200, 600, 30, 240, 77))
    transport.seekFrame('left', 40)
    transport.seekFrame('right', 300)
    transport.tie()
    transport.step('left', 1)
    expect(frames()).toEqual([41, 304])
    transport.step('left', -5)
    expect(frames()).toEqual([36, 284])
    transport.step('right', 8)
    expect(frames()).toEqual([38, 292])
    transport.nudgeTie('right', 2)
    expect(frames()).toEqual([38, 294])
    transport.nudgeTie('left', -1)
    expect(frames()).toEqual([37, 294])
    transport.setRate(1)
    transport.play()
    run(0.5)
    expect(frames()).toEqual([67, 414])
    transport.untie()
    transport.step('left', 1)
    expect(frames()).toEqual([68, 414])
  })

  test('a pane past its clip\'s end holds its last frame while the other plays on, and comes back in step', () => {
    const { transport, run, frames } = rig(constant(30, 600, 30), constant(90, 600, 30))
    transport.tie()
    transport.setRate(1)
    transport.play('left')
    run(2)
    expect(frames()).toEqual([29, 60])
    transport.pause()
    expect(frames()).toEqual([29, 60])
    transport.step('left', -1)
    expect(frames()).toEqual([29, 59])
    transport.step('right', -29)
    expect(frames()).toEqual([29, 30])
    transport.step('left', -1)
    expect(frames()).toEqual([28, 28])
    transport.step('left', 5)
    expect(frames()).toEqual([29, 33])
    transport.play('right')
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
        transport.seekFrame('left', atLeft % leftGaps.length)
        transport.seekFrame('right', atRight % rightGaps.length)
        transport.tie()
        const { tie } = transport.state.getState()
        for (const step of steps) {
          transport.seekFrame('left', Math.min(Math.max(frames()[0]! + step, 0), leftGaps.length - 1))
          const wanted = tie!.right + (transport.heads.left!.tick - tie!.left)
          const best = Math.min(...right.frames.ticks.map((tick) => Math.abs(tick - wanted)))
          expect(Math.abs(transport.heads.right!.tick - wanted)).toBe(best)
        }
        const there = frames()
        if (there[0]! > 0) {
          transport.step('left', -1)
          transport.step('left', 1)
          expect(frames()).toEqual(there)
        }
      },
    ))
  })

  test('what plays live is what a walkthrough replays from the motion it recorded', () => {
    fc.assert(fc.property(
      fc.nat(80), fc.nat(80), fc.constantFrom('left' as const, 'right' as const, 'both' as const), fc.boolean(), fc.boolean(),
      fc.constantFrom(1 / 8, 1 / 4, 1 / 2, 1), fc.double({ min: 0, max: 8, noNaN: true }),
      (atLeft, atRight, which, tied, looped, rate, seconds) => {
        const clips = { left: constant(100, 600, 30, 60), right: constant(300, 90_000, 60, 240, 123) }
        const { transport, clock } = rig(clips.left, clips.right)
        let sound = 5
        clock.use(() => sound)
        transport.seekFrame('left', atLeft)
        transport.seekFrame('right', atRight)
        if (tied) transport.tie()
        if (looped) transport.setLoop('right', { from: 30_123, to: 90_123 })
        transport.setRate(rate)
        transport.play(which)
        const { motion } = transport.state.getState()
        const ticks = [transport.heads.left!.tick, transport.heads.right!.tick] as const
        const pane = (clipId: string, tick: number) => ({ ...emptyStage.panes[0], clipId, tick })
        const stage = { ...emptyStage, panes: [pane('left', ticks[0]), pane('right', ticks[1])] as const, motion: { ...motion!, from: ticks, since: 5000 } }
        sound += seconds
        transport.advance()
        const replayed = playheads(stage, clips, sound * 1000)
        const shown = [frameAt(clips.left.frames, replayed[0]), frameAt(clips.right.frames, replayed[1])]
        expect([transport.heads.left!.frame, transport.heads.right!.frame]).toEqual(shown)
      },
    ))
  })

  test('a new pace or loop goes on from where the run has got to', () => {
    const { transport, run, frames } = rig(constant(100, 600, 30), constant(100, 600, 30))
    transport.setRate(1)
    transport.tie()
    transport.play('left')
    run(1)
    transport.setRate(1 / 2)
    run(1)
    expect(frames()).toEqual([45, 45])
    transport.setLoop('left', { from: 0, to: 200 })
    run(0.1)
    expect(frames()).toEqual([1, 1])
    expect(transport.isPlaying).toBe(true)
  })

  test('swapped panes stay in step, and swapping twice changes nothing', () => {
    const { transport, frames } = rig(constant(100, 600, 30), constant(200, 90_000, 60))
    transport.seekFrame('left', 10)
    transport.seekFrame('right', 30)
    transport.tie()
    transport.setLoop('right', { from: 0, to: 90_000 })
    const before = transport.state.getState()
    transport.swap()
    expect(frames()).toEqual([30, 10])
    transport.step('left', 2)
    expect(frames()).toEqual([32, 11])
    transport.step('left', -2)
    transport.swap()
    expect(transport.state.getState()).toMatchObject({ tie: before.tie, loops: before.loops })
    expect(frames()).toEqual([10, 30])
  })

  test('another clip in a pane ends the tie and its loop', () => {
    const { transport } = rig(constant(30, 600, 30), constant(90, 600, 30))
    transport.tie()
    transport.setLoop('right', { from: 0, to: 100 })
    transport.setClip('right', constant(10, 600, 30))
    expect(transport.state.getState()).toMatchObject({ tie: null, loops: { left: null, right: null }, playing: [] })
  })
})

test('the nearest frame is by its beginning', () => {
  const frames = { timescale: 1000, ticks: [0, 10, 40], endTick: 50 }
  expect([-5, 4, 6, 24, 26, 99].map((tick) => nearestTick(frames, tick))).toEqual([0, 0, 10, 10, 40, 40])
})
