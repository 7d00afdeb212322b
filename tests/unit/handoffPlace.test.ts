import fc from 'fast-check'
import type { Frame } from 'node-av'
import { describe, expect, it } from 'vitest'
import { fineStep, wholeStep } from '../../electron/handoff/axis.ts'
import { placePane } from '../../electron/handoff/placePane.ts'
import { fillRect, newPicture, planesOf } from '../../electron/handoff/planes.ts'
import { Scalers } from '../../electron/handoff/scalers.ts'
import { Scratch } from '../../electron/handoff/scratch.ts'
import { apply } from '../../shared/geometry/affine.ts'
import { paneTransform, type Rect, type Size } from '../../shared/picture/layout.ts'

/** The colour of the spotted picture's ground, so that bars do not weigh in. */
const background = { y: 60, u: 80, v: 180 }

/** Grey with one soft spot, in luma and in chroma, about a point given as an edge place of the picture. */
function spotted(size: Size, [cx, cy]: readonly [number, number], spread: number, turned = false): Frame {
  const frame = newPicture(size)
  const { data, stride } = planesOf(frame)
  const spot = (x: number, y: number): number => 100 * Math.exp(-((x - cx) ** 2 + (y - cy) ** 2) / (2 * spread ** 2))
  for (let y = 0; y < size.height; y++) for (let x = 0; x < size.width; x++) data[0][y * stride[0] + x] = 60 + spot(x + 0.5, y + 0.5)
  for (let y = 0; y < size.height / 2; y++) {
    for (let x = 0; x < size.width / 2; x++) {
      // Chroma stands over the middle of luma column 2x, or of 2x + 1 once the picture was turned left for right.
      const value = spot(2 * x + (turned ? 1.5 : 0.5), 2 * y + 1)
      data[1][y * stride[1] + x] = 80 + value
      data[2][y * stride[2] + x] = 180 - value
    }
  }
  return frame
}

/** Where a plane's spot is on the canvas, edge places. */
function centre(frame: Frame, plane: 0 | 1 | 2, ground: number, sign: 1 | -1): [number, number] {
  const { data, stride, size } = planesOf(frame)
  const half = plane === 0 ? 1 : 2
  let [sum, sx, sy] = [0, 0, 0]
  for (let y = 0; y < size.height / half; y++) {
    for (let x = 0; x < size.width / half; x++) {
      const value = (data[plane]![y * stride[plane]! + x]! - ground) * sign
      if (value < 25) continue
      sum += value
      sx += value * (plane === 0 ? x + 0.5 : 2 * x + 0.5)
      sy += value * (plane === 0 ? y + 0.5 : 2 * y + 1)
    }
  }
  return [sx / sum, sy / sum]
}

const rect: Rect = { x: 164, y: 0, width: 156, height: 180 }
const canvasSize = { width: 320, height: 180 }

function place(scalers: Scalers, scratch: Scratch, clip: Size, pane: { zoom: number; centre: readonly [number, number] | null; mirror: boolean }, point: readonly [number, number], spread: number): { canvas: Frame; wanted: readonly [number, number] } {
  const canvas = newPicture(canvasSize)
  fillRect(planesOf(canvas), { x: 0, y: 0, ...canvasSize }, background)
  const transform = paneTransform(rect, clip, pane)
  using picture = spotted(clip, pane.mirror ? [clip.width - point[0], point[1]] : point, spread, pane.mirror)
  placePane(planesOf(canvas), { picture, imageSize: clip, transform, rect, background }, scalers, scratch)
  return { canvas, wanted: apply(transform, point) }
}

describe('a clip in its pane', () => {
  it('stands where the marks think it does, within a third of a pixel, chroma too, at any zoom and mirrored', () => {
    using scalers = new Scalers()
    const scratch = new Scratch()
    const clip = { width: 270, height: 480 }
    fc.assert(fc.property(
      fc.double({ min: 1, max: 5, noNaN: true }), fc.double({ min: -20, max: 20, noNaN: true }), fc.double({ min: -20, max: 20, noNaN: true }), fc.boolean(),
      (zoom, dx, dy, mirror) => {
        const point = [135, 240] as const
        const scale = (180 / 480) * zoom
        const { canvas, wanted } = place(scalers, scratch, clip, { zoom, centre: [135 + dx / scale, 240 + dy / scale], mirror }, point, 9 / scale)
        using own = canvas
        for (const [plane, ground, sign] of [[0, 60, 1], [1, 80, 1], [2, 180, -1]] as const) {
          const [x, y] = centre(own, plane, ground, sign)
          expect(Math.hypot(x - wanted[0], y - wanted[1]), `plane ${plane} at ${x}, ${y}, wanted ${wanted}`).toBeLessThan(0.4)
        }
      }), { numRuns: 60 })
  })

  it('moves without steps while it is panned and zoomed slowly', () => {
    using scalers = new Scalers()
    const scratch = new Scratch()
    const clip = { width: 270, height: 480 }
    let worst = 0
    for (const [from, step, pan] of [[1, 0.002, 0], [1.7, 0.003, 0.05], [480 / 180, 0, 0.13], [3, 0, 0.07]] as const) {
      let before = 0
      for (let i = 0; i < 30; i++) {
        const zoom = from + i * step
        const { canvas, wanted } = place(scalers, scratch, clip, { zoom, centre: [130 + i * pan, 230 + i * pan], mirror: false }, [120, 220], 9 / ((180 / 480) * zoom))
        using own = canvas
        const off = centre(own, 0, 60, 1)[0] - wanted[0]
        if (i > 0) worst = Math.max(worst, Math.abs(off - before))
        before = off
      }
    }
    // Whole pixels on the chroma grid would jump by up to two.
    expect(worst).toBeLessThan(0.45)
  })

  it('leaves bars where it does not reach and touches nothing beside its pane', () => {
    using scalers = new Scalers()
    const { canvas } = place(scalers, new Scratch(), { width: 270, height: 480 }, { zoom: 1, centre: null, mirror: false }, [135, 240], 60)
    using own = canvas
    const { data, stride } = planesOf(own)
    for (let y = 0; y < 180; y++) {
      for (const x of [0, 100, 163, 164, 170, 185, 300, 319]) expect(data[0][y * stride[0] + x], `${x}, ${y}`).toBe(60)
    }
    expect(data[0][90 * stride[0] + 242]).toBeGreaterThan(150)
    expect(data[0][90 * stride[0] + 212]).toBeGreaterThan(65)
  })

  it('shows a stretched or smaller copy at the size of the original', () => {
    using scalers = new Scalers()
    using own = newPicture(canvasSize)
    fillRect(planesOf(own), { x: 0, y: 0, ...canvasSize }, background)
    const transform = paneTransform(rect, { width: 540, height: 480 }, { zoom: 1.3, centre: null, mirror: false })
    using picture = spotted({ width: 270, height: 480 }, [100, 200], 20)
    placePane(planesOf(own), { picture, imageSize: { width: 540, height: 480 }, transform, rect, background }, scalers, new Scratch())
    const [x, y] = centre(own, 0, 60, 1)
    const wanted = apply(transform, [200, 200])
    expect(Math.abs(x - wanted[0])).toBeLessThan(0.4)
    expect(Math.abs(y - wanted[1])).toBeLessThan(0.4)
  })
})

describe('steps in whole samples', () => {
  const map = fc.record({
    scale: fc.double({ min: 0.1, max: 8, noNaN: true }), offset: fc.double({ min: -3000, max: 900, noNaN: true }), length: fc.integer({ min: 16, max: 3840 }),
    from: fc.integer({ min: 0, max: 480 }).map((n) => 2 * n), span: fc.integer({ min: 2, max: 960 }).map((n) => 2 * n),
  }).map(({ from, span, ...rest }) => ({ ...rest, from, to: from + span }))

  it('stay within the picture and are as near as they say', () => {
    fc.assert(fc.property(map, (m) => {
      const step = wholeStep(m, 0.26)
      if (!step) return
      expect(step.start).toBeGreaterThanOrEqual(0)
      expect(step.start + step.taken).toBeLessThanOrEqual(m.length)
      expect(step.start % 2 + step.taken % 2 + Math.abs(step.at % 2) + step.made % 2).toBe(0)
      expect(step.taken).toBeGreaterThanOrEqual(2)
      expect(Math.abs(m.scale * step.start + m.offset - step.at)).toBeLessThanOrEqual(step.error + 1e-9)
    }))
  })

  it('with a fraction carry the middle to where it belongs', () => {
    fc.assert(fc.property(map, (m) => {
      const step = fineStep(m)
      if (!step || step.position <= -512 || step.position >= 1024) return
      expect(step.start).toBeGreaterThanOrEqual(0)
      expect(step.start + step.taken).toBeLessThanOrEqual(m.length)
      const middle = step.at + step.made / 2
      const source = (step.made / 2) * (step.taken / step.made) - step.position / 256 + step.start
      expect(Math.abs(m.scale * source + m.offset - middle)).toBeLessThan(0.02 * m.scale)
    }))
  })
})
