import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { clockWords } from '../../renderer/lesson/clockWords.ts'
import { happenings } from '../../renderer/lesson/happenings.ts'
import { PeakGatherer } from '../../renderer/lesson/peaks.ts'
import { ReplayClock, type Sounding } from '../../renderer/lesson/replayClock.ts'
import type { LogRow } from '../../shared/walkthrough/log.ts'

describe('the clock of a replay', () => {
  it('runs on smoothly between the steps in which a browser renews the sound\'s time, and never backwards', () => {
    fc.assert(
      fc.property(fc.integer({ min: 20, max: 200 }), fc.constantFrom(0.75, 1, 1.5), (step, playbackRate) => {
        let at = 0
        const sound = { currentTime: 0, paused: false, ended: false, playbackRate }
        const clock = new ReplayClock(sound, () => at)
        let last = -1
        for (; at < 3000; at += 16) {
          sound.currentTime = (Math.floor(at / step) * step * playbackRate) / 1000
          const now = clock.now()
          expect(now).toBeGreaterThanOrEqual(last)
          // Off by what the browser's step leaves open and not more: the reading lies up to one frame after the renewal.
          expect(Math.abs(now - at * playbackRate)).toBeLessThanOrEqual((step + 16) * playbackRate)
          last = now
        }
      }),
    )
  })

  it('stands where the sound stands when paused, and follows a seek at once either way', () => {
    let at = 0
    const sound: Sounding & { currentTime: number; paused: boolean } = { currentTime: 2, paused: true, ended: false, playbackRate: 1 }
    const clock = new ReplayClock(sound, () => at)
    expect(clock.now()).toBe(2000)
    sound.paused = false
    clock.now()
    at = 100
    expect(clock.now()).toBe(2100)
    sound.currentTime = 0.5
    expect(clock.now()).toBe(500)
    at = 5000
    expect(clock.now()).toBe(750)
    sound.currentTime = 60
    expect(clock.now()).toBe(60_000)
  })
})

describe('peaks of a sound', () => {
  const bytesOf = (samples: Int16Array) => new Uint8Array(samples.buffer)
  it('are the largest absolute sample of each part, wherever the stream is cut', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -32768, max: 32767 }), { minLength: 1, maxLength: 400 }), fc.array(fc.integer({ min: 1, max: 37 }), { minLength: 1 }), (values, cuts) => {
        const samples = Int16Array.from(values)
        const gatherer = new PeakGatherer(1000, 100)
        const bytes = bytesOf(samples)
        for (let from = 0, i = 0; from < bytes.length; i++) {
          const to = from + cuts[i % cuts.length]!
          gatherer.add(bytes.subarray(from, to))
          from = to
        }
        const wanted = Array.from({ length: Math.ceil(values.length / 10) }, (_, i) => Math.max(...values.slice(i * 10, i * 10 + 10).map(Math.abs)) / 32768)
        expect([...gatherer.finish()]).toEqual(wanted.map(Math.fround))
      }),
    )
  })
})

describe('what happens when', () => {
  const rows: readonly LogRow[] = [
    [0, { type: 'chapter', title: 'The set-up' }],
    [100, { type: 'seek', ticks: [1, 1] }],
    [105, { type: 'seek', ticks: [2, 2] }],
    [106, { type: 'marks', diff: { added: {}, updated: {}, removed: {} } }],
    [300, { type: 'seek', ticks: [3, 3] }],
    [401, { type: 'pointer', pointer: null }],
  ]
  it('thins out each kind by itself', () => {
    expect(happenings(rows, 50)).toEqual([{ atMs: 100, kind: 'move' }, { atMs: 106, kind: 'mark' }, { atMs: 300, kind: 'move' }])
  })
})

describe('time in words', () => {
  it('is cut, not rounded', () => {
    expect([0, 7_999, 750_000, 3_723_000].map(clockWords)).toEqual(['0:00', '0:07', '12:30', '1:02:03'])
  })
})
