import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Take } from '../../renderer/lesson/recorder.ts'
import { GapFiller, levelOf, onWindowClock, toPcm } from '../../renderer/lesson/pieces.ts'
import { Saver } from '../../renderer/lesson/saver.ts'
import { StageStore } from '../../renderer/playback/stageStore.ts'
import type { StageEvent } from '../../shared/walkthrough/events.ts'
import { encodeHeader, encodeRows, parseLog, stateAt, type LogHeader, type LogRow } from '../../shared/walkthrough/log.ts'
import { emptyStage, type Stage, type StageClip } from '../../shared/walkthrough/stage.ts'

const clip = (id: string, fps: number, captureRate: number): StageClip => ({
  id, view: 'face-on', handedness: 'right', width: 1080, height: 1920, captureRate, playRate: fps,
  frames: { timescale: 600, ticks: Array.from({ length: 90 }, (_, i) => Math.round((i * 600) / fps)), endTick: Math.round((90 * 600) / fps) },
})
const clips = [clip('a', 30, 240), clip('b', 60, 60)]
const rate = 1000

/** A desk that keeps what it is given, refusing now and then. */
function memoryDesk(refusals: () => boolean = () => false) {
  const kept = { header: null as LogHeader | null, rows: [] as LogRow[], samples: 0, refused: 0 }
  return {
    kept,
    begin: (header: LogHeader) => {
      kept.header = header
      return Promise.resolve((piece: { at: number; sound: Uint8Array; rows: readonly LogRow[] }) => {
        if (refusals()) {
          kept.refused++
          return Promise.reject(new Error('the disk is busy'))
        }
        expect(piece.at).toBe(kept.samples)
        kept.samples += piece.sound.length / 2
        kept.rows.push(...piece.rows)
        return Promise.resolve()
      })
    },
  }
}

const eventArb: fc.Arbitrary<StageEvent> = fc.oneof(
  fc.record({ type: fc.constant('seek' as const), ticks: fc.tuple(fc.integer({ min: 0, max: 1700 }), fc.integer({ min: 0, max: 800 })) }),
  fc.record({
    type: fc.constant('play' as const),
    motion: fc.record({
      rate: fc.constantFrom(0.125, 0.25, 0.5, 1),
      moving: fc.constantFrom<'both' | 0 | 1>('both', 0, 1),
      loop: fc.constantFrom(null, { from: 100, to: 400 }),
    }),
  }),
  fc.constant<StageEvent>({ type: 'stop' }),
  fc.constant<StageEvent>({ type: 'swap' }),
  fc.record({ type: fc.constant('pointer' as const), pointer: fc.constantFrom(null, { pane: 0 as const, at: [10, 20] as const }) }),
  fc.record({ type: fc.constant('layout' as const), layout: fc.constantFrom('twin' as const, 'single' as const), active: fc.constantFrom(0 as const, 1 as const) }),
)
type Act = { readonly wait: number; readonly act: StageEvent | 'pause' | 'resume' }
const actArb: fc.Arbitrary<Act> = fc.record({
  wait: fc.integer({ min: 0, max: 700 }),
  act: fc.oneof({ weight: 6, arbitrary: eventArb }, { weight: 1, arbitrary: fc.constant<'pause'>('pause') }, { weight: 2, arbitrary: fc.constant<'resume'>('resume') }),
})

const close = (a: Stage, b: Stage) => {
  for (const pane of [0, 1] as const) {
    expect(a.panes[pane].clipId).toBe(b.panes[pane].clipId)
    expect(a.panes[pane].tick).toBeCloseTo(b.panes[pane].tick, 6)
  }
  expect({ ...a, panes: 0, motion: 0 }).toEqual({ ...b, panes: 0, motion: 0 })
  expect(a.motion === null).toBe(b.motion === null)
}

describe('a take', () => {
  it('folds to the live stage at every event and in between, whatever happens and however often it is paused', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(actArb, { minLength: 1, maxLength: 40 }), async (acts) => {
        let now = 5_000
        const initial: Stage = { ...emptyStage, panes: [{ ...emptyStage.panes[0], clipId: 'a' }, { ...emptyStage.panes[1], clipId: 'b' }] }
        const store = new StageStore(initial, Object.fromEntries(clips.map((each) => [each.id, each])), () => now)
        const desk = memoryDesk()
        const take = new Take({ store, sampleRate: rate, begin: desk.begin, onFault: (fault) => { throw fault } })
        const seen: { readonly at: number; readonly stage: Stage }[] = []
        // Sound comes in whole milliseconds, each piece when it has been sounded.
        const sound = (ms: number) => {
          for (let left = ms; left > 0; left -= 10) {
            const length = Math.min(10, left)
            take.sound({ samples: new Int16Array(length), at: now })
            now += length
          }
        }
        sound(10)
        for (const { wait, act } of acts) {
          sound(wait)
          if (!take.isPaused) seen.push({ at: take.durationMs, stage: store.settled() })
          if (act === 'pause') take.pause()
          else if (act === 'resume') {
            take.resume()
            seen.push({ at: take.durationMs, stage: store.settled() })
            sound(1)
          } else store.dispatch(act)
          if (!take.isPaused) seen.push({ at: take.durationMs, stage: store.settled() })
        }
        await take.finish()
        const log = { header: desk.kept.header!, rows: desk.kept.rows }
        // Of several states at one instant, the last is the one that lasts.
        const last = new Map(seen.map((each) => [each.at, each.stage]))
        for (const [at, stage] of last) close(stateAt(log, at), stage)
        expect(last.size).toBeGreaterThan(0)
      }),
      { numRuns: 150 },
    )
  })

  it('makes a clip known before it is shown, and none that never was', async () => {
    let now = 0
    const store = new StageStore({ ...emptyStage, panes: [{ ...emptyStage.panes[0], clipId: 'a' }, emptyStage.panes[1]] }, {}, () => now)
    store.know([...clips, clip('other', 30, 30)])
    const desk = memoryDesk()
    const take = new Take({ store, sampleRate: rate, begin: desk.begin, onFault: () => {} })
    const sound = () => {
      take.sound({ samples: new Int16Array(100), at: now })
      now += 100
    }
    sound()
    expect(Object.keys(desk.kept.header!.clips)).toEqual(['a'])
    store.dispatch({ type: 'pane', pane: 1, patch: { clipId: 'b', tick: 0 } })
    store.dispatch({ type: 'pane', pane: 1, patch: { tick: 40 } })
    sound()
    await take.finish()
    const text = encodeHeader(desk.kept.header!) + encodeRows(desk.kept.rows)
    const log = parseLog(text)
    expect(log.rows.map(([, event]) => event.type)).toEqual(['clips', 'pane', 'pane'])
    expect(Object.keys(log.header.clips).toSorted()).toEqual(['a', 'b'])
    expect(stateAt(log, 200).panes[1]).toMatchObject({ clipId: 'b', tick: 40 })
  })

  it('keeps everything through refusals, in order and once', async () => {
    let turn = 0
    let now = 0
    const store = new StageStore(emptyStage, {}, () => now)
    const desk = memoryDesk(() => turn++ % 3 !== 2)
    const take = new Take({ store, sampleRate: rate, begin: desk.begin, onFault: () => {}, wait: () => Promise.resolve() })
    for (let i = 0; i < 30; i++) {
      take.sound({ samples: new Int16Array(100), at: now })
      now += 100
      store.dispatch({ type: 'chapter', title: `${i}` })
      if (i % 4 === 0) await take.flush()
    }
    expect(await take.finish()).toBe(true)
    expect(desk.kept.samples).toBe(3000)
    expect(desk.kept.refused).toBeGreaterThan(5)
    expect(desk.kept.rows.map(([, event]) => (event.type === 'chapter' ? event.title : ''))).toEqual(Array.from({ length: 30 }, (_, i) => `${i}`))
    expect(take.savedMs).toBe(3000)
  })

  it('says that nothing was kept where no sound came', async () => {
    const desk = memoryDesk()
    const take = new Take({ store: new StageStore(), sampleRate: rate, begin: desk.begin, onFault: () => {} })
    expect(await take.finish()).toBe(false)
    expect(desk.kept.header).toBeNull()
  })
})

describe('a saver', () => {
  it('writes little-endian samples whatever the machine', async () => {
    const got: number[] = []
    const saver = new Saver(({ sound }) => {
      got.push(...sound)
      return Promise.resolve()
    })
    saver.addSound(Int16Array.from([1, -2, 256]))
    await saver.flush()
    expect(got).toEqual([1, 0, 0xfe, 0xff, 0, 1])
  })
})

describe('pieces of sound', () => {
  it('fills a hole with as many samples as were lost, and no jitter', () => {
    const filler = new GapFiller(48_000)
    expect(filler.missingBefore(1000, 480)).toBe(0)
    expect(filler.missingBefore(1010.4, 480)).toBe(0)
    expect(filler.missingBefore(1050.4, 480)).toBe(1440)
  })

  it('keeps sample n at n / rate seconds, for any losses', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 12 }), { minLength: 1, maxLength: 60 }), (losses) => {
        const filler = new GapFiller(48_000)
        let at = 0
        let samples = 0
        for (const lost of losses) {
          at += lost * 10
          samples += filler.missingBefore(at, 480)
          // Each kept piece lies where its time says; before the first there is nothing to fill.
          if (samples === 0) samples = (at / 1000) * 48_000
          // A single lost piece of 10 ms lies under the tolerance.
          expect(Math.abs(samples - (at / 1000) * 48_000)).toBeLessThanOrEqual(480 * losses.filter((each) => each === 1).length + 1)
          samples += 480
          at += 10
        }
      }),
    )
  })

  it('puts either of the two clocks Chromium stamps with onto the window\'s', () => {
    expect(onWindowClock(2118.7, 2121.4, 2114.6)).toBe(2118.7)
    expect(onWindowClock(14.1, 2128.9, 2114.6)).toBeCloseTo(2128.7)
    expect(onWindowClock(500, 503, 0)).toBe(500)
  })

  it('averages channels, holds at full scale and measures the level', () => {
    expect([...toPcm([Float32Array.from([1, 0.5, 2]), Float32Array.from([0, 0.5, 2])])]).toEqual([16384, 16384, 32767])
    const square = levelOf(Int16Array.from([16384, -16384]))
    expect(square.rmsDb).toBeCloseTo(-6.02, 2)
    expect(square.peakDb).toBeCloseTo(-6.02, 2)
    expect(levelOf(Int16Array.from([32767])).clipped).toBe(true)
    expect(levelOf(new Int16Array(4)).rmsDb).toBe(-Infinity)
  })
})
