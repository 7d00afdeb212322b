import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { guessCaptureRate } from '../../electron/media/captureRate.ts'
import { Envelope } from '../../electron/media/envelope.ts'
import { buildIndex, frameOfTimestamp, seekPointFor } from '../../electron/media/frameIndex.ts'
import { h264Level } from '../../electron/media/h264Level.ts'
import { displaySize, evenSizeWithin, orientationFilters, orientationOf } from '../../electron/media/orientation.ts'
import { evenlySpaced } from '../../electron/media/stills.ts'
import { displayMatrix } from '../fixtures/numberedClip.ts'
import { drawNumberedFrame, numberedFrames, readFrameNumber, turnPicture } from '../fixtures/numberedFrame.ts'

const matrix = (a: number, b: number, c: number, d: number) =>
  Buffer.from(new Int32Array([a * 65_536, b * 65_536, 0, c * 65_536, d * 65_536, 0, 0, 0, 1 << 30]).buffer)

describe('orientation', () => {
  it('reads turns and mirrors from display matrices', () => {
    // ISO/IEC 14496-12: 90 degrees clockwise is a 0, b 1, c -1, d 0.
    expect(orientationOf(matrix(0, 1, -1, 0))).toEqual({ rotation: 90, mirrored: false })
    expect(orientationOf(matrix(1, 0, 0, 1))).toEqual({ rotation: 0, mirrored: false })
    expect(orientationOf(matrix(-1, 0, 0, -1))).toEqual({ rotation: 180, mirrored: false })
    expect(orientationOf(matrix(0, -1, 1, 0))).toEqual({ rotation: 270, mirrored: false })
    expect(orientationOf(matrix(-1, 0, 0, 1))).toEqual({ rotation: 0, mirrored: true })
    expect(orientationOf(matrix(1, 0, 0, -1))).toEqual({ rotation: 180, mirrored: true })
    expect(orientationOf(matrix(0, 0, 0, 0))).toEqual({ rotation: 0, mirrored: false })
    expect(orientationOf(null)).toEqual({ rotation: 0, mirrored: false })
    for (const turn of [90, 180, 270] as const) expect(orientationOf(displayMatrix(turn)).rotation).toBe(turn)
  })

  it('maps a corner as the matrix does, for each of the eight orientations', () => {
    for (const [a, b, c, d] of [[1, 0, 0, 1], [0, 1, -1, 0], [-1, 0, 0, -1], [0, -1, 1, 0], [-1, 0, 0, 1], [1, 0, 0, -1], [0, 1, 1, 0], [0, -1, -1, 0]] as const) {
      let [x, y] = [1, 2]
      for (const filter of orientationFilters(orientationOf(matrix(a, b, c, d)))) {
        if (filter === 'hflip') x = -x
        else if (filter === 'vflip') y = -y
        else [x, y] = filter === 'transpose=clock' ? [-y, x] : [y, -x]
      }
      expect([x, y]).toEqual([a * 1 + c * 2, b * 1 + d * 2])
    }
  })

  it('stretches the short side of oblong pixels and swaps the sides of a quarter turn', () => {
    const upright = { rotation: 0, mirrored: false } as const
    expect(displaySize({ width: 640, height: 360 }, { num: 2, den: 1 }, upright)).toEqual({ width: 1280, height: 360 })
    expect(displaySize({ width: 640, height: 360 }, { num: 1, den: 2 }, upright)).toEqual({ width: 640, height: 720 })
    expect(displaySize({ width: 640, height: 360 }, { num: 0, den: 1 }, { rotation: 270, mirrored: true })).toEqual({ width: 360, height: 640 })
  })

  it('fits sizes into the long side with even sides', () => {
    fc.assert(fc.property(fc.integer({ min: 1, max: 8000 }), fc.integer({ min: 1, max: 8000 }), (width, height) => {
      const fitted = evenSizeWithin({ width, height }, 1280)
      expect(fitted.width % 2 + fitted.height % 2).toBe(0)
      expect(Math.max(fitted.width, fitted.height)).toBeLessThanOrEqual(1280)
      expect(Math.min(fitted.width, fitted.height)).toBeGreaterThanOrEqual(2)
    }))
    expect(evenSizeWithin({ width: 1080, height: 1920 }, 1280)).toEqual({ width: 720, height: 1280 })
  })
})

describe('the frame index', () => {
  it('orders any shuffle of frames, leaves hidden ones out and finds each again', () => {
    fc.assert(fc.property(
      fc.uniqueArray(fc.integer({ min: 0, max: 100_000 }), { minLength: 2, maxLength: 60 }), fc.integer({ min: 0, max: 5 }), fc.integer({ min: 1, max: 3 }),
      (times, hidden, step) => {
        const sorted = times.toSorted((a, b) => a - b)
        // Decode order: the key frame first, then whatever order chance gave.
        const order = [sorted[0]!, ...times.filter((time) => time !== sorted[0])]
        const packets = order.map((pts, i) => ({ pts, dts: i, duration: 1, key: i === 0, hidden: sorted.indexOf(pts) < Math.min(hidden, sorted.length - 1) }))
        const index = buildIndex('clip.mp4', packets, { num: step, den: 90_000 }, null, true)
        const shown = sorted.slice(Math.min(hidden, sorted.length - 1))
        expect(index.ticks).toEqual(shown.map((pts) => pts * step))
        expect(index.endTick).toBeGreaterThan(index.ticks.at(-1)!)
        shown.forEach((pts, frame) => expect(frameOfTimestamp(index, BigInt(pts))).toBe(frame))
        for (const pts of sorted.slice(0, Math.min(hidden, sorted.length - 1))) expect(frameOfTimestamp(index, BigInt(pts))).toBe(-1)
        expect(seekPointFor(index, shown.length - 1).timestamp).toBe(0)
      }))
  })

  it('keeps one of two frames with the same time, and moves a first time below zero to zero', () => {
    const packet = (pts: number, dts: number, key = false) => ({ pts, dts, duration: 10, key, hidden: false })
    const index = buildIndex('clip.avi', [packet(-20, -20, true), packet(-10, -10), packet(-10, -5), packet(0, 0)], { num: 1, den: 100 }, null, true)
    expect(index.ticks).toEqual([0, 10, 20])
    expect(index.tickOffset).toBe(20)
    expect(index.endTick).toBe(30)
    expect(index.playRate).toBe(10)
  })

  it('leaves out what leans on pictures before the first key frame', () => {
    const packet = (pts: number, dts: number, key = false) => ({ pts, dts, duration: 10, key, hidden: false })
    const index = buildIndex('clip.mp4', [packet(0, 0), packet(30, 10, true), packet(10, 20), packet(20, 30), packet(40, 40)], { num: 1, den: 100 }, 50, true)
    expect(index.ticks).toEqual([30, 40])
    expect(index.keyFrames).toEqual([0])
  })

  it('starts decoding at the latest key frame that is shown no later', () => {
    const packets = [0, 10, 20, 30, 40, 50].map((pts) => ({ pts, dts: pts, duration: 10, key: pts % 20 === 0, hidden: false }))
    const index = buildIndex('clip.mp4', packets, { num: 1, den: 100 }, 60, true)
    expect([0, 1, 2, 3, 4, 5].map((frame) => seekPointFor(index, frame).frame)).toEqual([0, 0, 2, 2, 4, 4])
  })
})

describe('levels, rates, stills and sound peaks', () => {
  it('gives the lowest H.264 level that allows size and rate', () => {
    // ITU-T H.264 table A-1: 1280 x 720 is 3600 macroblocks, 108,000 a second at 30.
    expect(h264Level(1280, 720, 30)).toBe(31)
    expect(h264Level(1280, 720, 60)).toBe(32)
    expect(h264Level(1920, 1080, 30)).toBe(40)
    expect(h264Level(1920, 1080, 60)).toBe(42)
    expect(h264Level(160, 120, 30)).toBe(30)
    expect(h264Level(720, 1280, 240)).toBe(51)
  })

  it('takes the rate of capture from the tag, else from the file', () => {
    expect(guessCaptureRate({ 'com.android.capture.fps': '240.000000' }, 30)).toMatchObject({ rate: 240, basis: 'tag' })
    expect(guessCaptureRate({ 'com.android.capture.fps': 'fast' }, 30)).toMatchObject({ rate: 30, basis: 'file' })
    expect(guessCaptureRate({ 'com.apple.quicktime.full-frame-rate-playback-intent': '0' }, 240)).toMatchObject({ rate: 240, basis: 'tag' })
    expect(guessCaptureRate({}, 59.94)).toMatchObject({ rate: 59.94, basis: 'file' })
  })

  it('spreads frames evenly without repeats', () => {
    fc.assert(fc.property(fc.integer({ min: 1, max: 5000 }), fc.integer({ min: 1, max: 60 }), (total, count) => {
      const frames = evenlySpaced(total, count)
      expect(new Set(frames).size).toBe(Math.min(total, count))
      expect(frames.every((frame, k) => frame >= 0 && frame < total && (k === 0 || frame > frames[k - 1]!))).toBe(true)
    }))
  })

  it('keeps the highest peak of each 10 ms, however the samples are cut up', () => {
    const samples = Float32Array.from({ length: 4800 }, (_, i) => Math.sin(i) * i / 4800)
    const wanted = Array.from({ length: 10 }, (_, k) => Math.max(...samples.subarray(k * 480, (k + 1) * 480).map(Math.abs)))
    fc.assert(fc.property(fc.integer({ min: 1, max: 1500 }), (size) => {
      const envelope = new Envelope(48_000)
      for (let at = 0; at < samples.length; at += size) envelope.add(samples.subarray(at, at + size), at)
      expect([...envelope.peaks()]).toEqual(wanted)
    }), { numRuns: 20 })
  })
})

describe('numbered frames', () => {
  it('are read back upright, mirrored only when asked, and never from a wrong turn', () => {
    fc.assert(fc.property(fc.integer({ min: 0, max: numberedFrames - 1 }), (n) => {
      const picture = drawNumberedFrame(n, 160, 90)
      expect(readFrameNumber(picture.data, 160, 90)).toBe(n)
      const upsideDown = turnPicture(picture, 180)
      expect(readFrameNumber(upsideDown.data, 160, 90)).toBeNull()
      expect(readFrameNumber(upsideDown.data, 160, 90, { mirrored: true })).toBe(n)
    }), { numRuns: 40 })
  })
})
