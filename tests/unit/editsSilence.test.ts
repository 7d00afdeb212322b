import { describe, expect, it } from 'vitest'
import { cutSpans, withPieces } from '../../shared/walkthrough/editPieces.ts'
import { toSamples, untouched, type Take } from '../../shared/walkthrough/edits.ts'
import type { LogRow } from '../../shared/walkthrough/log.ts'
import { editedReplay } from '../../shared/walkthrough/programme.ts'
import { findSilences, programmePeaks, silenceLevel, usualSilence, type PeakTrack } from '../../shared/walkthrough/silences.ts'
import type { StageClip } from '../../shared/walkthrough/stage.ts'
import { lesson } from '../fixtures/lesson.ts'

const clip: StageClip = { id: 'clip', view: 'face-on', handedness: 'right', width: 1080, height: 1920, captureRate: 240, playRate: 30, frames: { timescale: 600, ticks: [0, 20, 40], endTick: 60 } }
const takeOf = (rows: readonly LogRow[], durationMs: number): Take => ({ id: 'a', log: lesson([clip], rows), durationMs })

/** Words from and to these seconds, over a little noise; `clicks` are single loud parts. */
function track(seconds: number, words: readonly (readonly [number, number])[], clicks: readonly number[] = []): PeakTrack {
  const values = Float32Array.from({ length: seconds * 100 }, (_, i) => (words.some(([from, to]) => i >= from * 100 && i < to * 100) ? 0.2 + 0.1 * Math.sin(i) : 0.004 + 0.001 * Math.sin(i * 7)))
  for (const at of clicks) values.fill(0.5, Math.round(at * 100), Math.round(at * 100) + 3)
  return { perSecond: 100, values }
}
const words = [[0.5, 3], [3.6, 6], [8, 10], [15, 18]] as const

describe('silences', () => {
  const take = takeOf([], 20_000)
  const programme = editedReplay([take], untouched(take))
  const found = (peaks: PeakTrack) => findSilences(programme, programmePeaks(programme, new Map([['a', peaks]])))

  it('are found between words, not between sentences, and leave a breath on either side', () => {
    const list = found(track(20, words))
    expect(list.map(({ span }) => [span.from / 48_000, span.to / 48_000].map((seconds) => Math.round(seconds * 100) / 100))).toEqual([[6.2, 7.8], [10.2, 14.8], [18.2, 19.8]])
  })

  it('do not end at a click of the mouse', () => {
    expect(found(track(20, words, [7, 12.5]))).toHaveLength(3)
  })

  it('are cut without a word being lost', () => {
    const peaks = track(20, words)
    const cut = withPieces(untouched(take), cutSpans(programme.edits.pieces, found(peaks).map(({ span }) => span), () => crypto.randomUUID()))
    const after = editedReplay([take], cut)
    const left = programmePeaks(after, new Map([['a', peaks]]))
    const spoken = ({ values }: PeakTrack): number => values.filter((value) => value > 0.05).length
    expect(spoken(left)).toBe(spoken(peaks))
    expect(after.lengthMs).toBeCloseTo(20_000 - 1600 - 4600 - 1600, 0)
    expect(findSilences(after, left, { ...usualSilence, leastMs: 700 }).every(({ span }) => span.to - span.from < 48_000)).toBe(true)
  })

  it('in which the picture plays or is drawn on are told apart', () => {
    const seek = (at: number): LogRow => [at, { type: 'seek', ticks: [20, 20] }]
    const showing = (rows: LogRow[]) => {
      const other = takeOf(rows, 20_000)
      const edited = editedReplay([other], untouched(other))
      return findSilences(edited, programmePeaks(edited, new Map([['a', track(20, words)]]))).map((one) => one.isShowing)
    }
    expect(showing([])).toEqual([false, false, false])
    expect(showing([seek(12_000)])).toEqual([false, true, false])
    expect(showing([[9000, { type: 'play', motion: { rate: 1, moving: 0, loop: null } }], [15_500, { type: 'stop' }]])).toEqual([false, true, false])
    expect(showing([[7000, { type: 'chapter', title: 'x' }]])).toEqual([false, false, false])
  })

  it('are not guessed at where speech and noise cannot be told apart', () => {
    expect(silenceLevel(track(20, []))).toBeNull()
    expect(silenceLevel({ perSecond: 100, values: new Float32Array(2000) })).toBeNull()
    expect(found(track(20, [[0, 20]]))).toEqual([])
  })
})

describe('peaks of an edited lesson', () => {
  it('are those of the takes where they are heard, and nothing on a held picture', () => {
    const take = takeOf([], 4000)
    const values = Float32Array.from({ length: 400 }, (_, i) => i / 400)
    const edits = { ...untouched(take), pieces: [{ id: 'p', kind: 'take', takeId: 'a', from: toSamples(1000), to: toSamples(2000) }, { id: 'h', kind: 'hold', takeId: 'a', at: 0, lasts: toSamples(500) }, { id: 'q', kind: 'take', takeId: 'a', from: toSamples(3000), to: toSamples(3500) }] as const }
    const peaks = programmePeaks(editedReplay([take], edits), new Map([['a', { perSecond: 100, values }]])).values
    expect(peaks).toHaveLength(200)
    expect(peaks[0]).toBeCloseTo(0.25)
    expect(peaks[99]).toBeCloseTo(199 / 400)
    expect(Array.from(peaks.slice(100, 150))).toEqual(Array(50).fill(0))
    expect(peaks[150]).toBeCloseTo(0.75)
  })
})
