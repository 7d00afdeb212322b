import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { eyeAxes } from '../../renderer/arms/figure/eye.ts'
import { drawLines } from '../../renderer/arms/figure/lines.ts'
import { dashed, widened } from '../../renderer/arms/figure/outline.ts'
import { forward } from '../../shared/arms/forward.ts'
import { createArms } from '../../shared/arms/model.ts'
import { standardArms } from '../../shared/arms/standard.ts'
import { isArmsRefusal, type ForwardResult } from '../../shared/arms/types.ts'
import type { Vec2 } from '../../shared/geometry/vec.ts'

const along = (points: readonly Vec2[]): number => points.slice(1).reduce((sum, [x, y], i) => sum + Math.hypot(x - points[i]![0], y - points[i]![1]), 0)
const places = fc.array(fc.tuple(fc.double({ min: -500, max: 500, noNaN: true }), fc.double({ min: -500, max: 500, noNaN: true })), { minLength: 2, maxLength: 12 })

describe('lines over the figure', () => {
  it('leaves of a line as much as its dash says', () => {
    fc.assert(fc.property(places, fc.integer({ min: 1, max: 20 }), fc.integer({ min: 1, max: 20 }), (points, on, off) => {
      const length = along(points)
      const rounds = Math.floor(length / (on + off))
      const wanted = rounds * on + Math.min(on, length - rounds * (on + off))
      const drawn = dashed(points, [on, off])
      expect(drawn.reduce((sum, piece) => sum + along(piece), 0)).toBeCloseTo(wanted, 4)
      for (const piece of drawn) expect(along(piece)).toBeLessThan(on + 1e-6)
    }))
  })

  it('is as wide as asked, weighed by how opaque it is', () => {
    fc.assert(fc.property(fc.double({ min: 0.2, max: 30, noNaN: true }), fc.double({ min: 5, max: 400, noNaN: true }), fc.double({ min: 0, max: 7, noNaN: true }), (width, length, angle) => {
      const corners: [number, number, number][] = []
      widened([[10, 20], [10 + length * Math.cos(angle), 20 + length * Math.sin(angle)]], width, 1, (...corner) => corners.push(corner))
      let area = 0
      for (let i = 0; i < corners.length; i += 3) {
        const [[ax, ay, a], [bx, by, b], [cx, cy, c]] = corners.slice(i, i + 3) as [[number, number, number], [number, number, number], [number, number, number]]
        area += (Math.abs((bx - ax) * (cy - ay) - (cx - ax) * (by - ay)) / 2) * ((a + b + c) / 3)
      }
      expect(area / length).toBeCloseTo(width < 1 ? (width * (width + 1)) / 2 : width, 6)
    }))
  })

  it('draws nothing for a point, and nothing that is no number for a line that goes back on itself', () => {
    const corners: number[] = []
    widened([[3, 3], [3, 3]], 2, 1, (...corner) => corners.push(...corner))
    expect(corners).toEqual([])
    widened([[0, 0], [10, 0], [0, 0], [5, 5], [0, 0]], 2, 1, (...corner) => corners.push(...corner))
    expect(corners.length).toBeGreaterThan(0)
    expect(corners.every(Number.isFinite)).toBe(true)
  })
})

describe('a left-hander\u2019s lines and words', () => {
  const model = createArms(standardArms())
  if (isArmsRefusal(model)) throw new Error(model.why)
  const poseAt = (swivel: number): ForwardResult => {
    const pose = forward(model, swivel)
    if (isArmsRefusal(pose)) throw new Error(pose.why)
    return pose
  }
  const [now, pose] = [poseAt(model.swivelDeg), poseAt(20)]
  const screen = { width: 900, height: 600 }
  /** Everything that is drawn: where each stroke and each word's plate is. */
  const drawn = (mirrored: boolean, turn: number, rise: number) => {
    const strokes: Vec2[] = []
    const words: { text: string; x: number; y: number; align: string }[] = []
    const pen = { stroke: (points: readonly Vec2[]) => void strokes.push(...points), fill: (points: readonly Vec2[]) => void strokes.push(...points) }
    const labels = { put: (text: string, [x, y]: Vec2, { align }: { readonly align: string }) => void words.push({ text, x, y, align }) }
    drawLines(pen, labels, eyeAxes({ turn, rise, distance: 5.4, middle: [-0.2, 1.4, 0.1] }), screen, { pose, now, arc: [], azimuth: { value: pose.readings.azimuthDeg, sigma: 3 }, ghost: null, held: 'shaft', mirrored })
    return { strokes, words }
  }

  it('are the right-hander\u2019s in a mirror, the words of limits too', () => {
    expect(pose.limits.length).toBeGreaterThan(0)
    for (const [turn, rise] of [[0, 0.06], [Math.PI / 2, 0.06], [Math.PI / 2, Math.PI / 2], [0.7, 0.3]] as const) {
      const [right, left] = [drawn(false, turn, rise), drawn(true, turn, rise)]
      expect(left.words.map(({ text }) => text)).toEqual(right.words.map(({ text }) => text))
      for (const [i, { x, y, align }] of right.words.entries()) {
        expect(left.words[i]!.x).toBeCloseTo(screen.width - x, 6)
        expect(left.words[i]!.y).toBeCloseTo(y, 6)
        expect(left.words[i]!.align).toBe({ left: 'right', center: 'center' }[align])
      }
      // Rings start at the same side of their middle, so that they are compared by where they reach.
      const reach = (points: readonly Vec2[]) => [Math.min(...points.map(([x]) => x)), Math.max(...points.map(([x]) => x))] as const
      const [low, high] = reach(right.strokes)
      expect(reach(left.strokes)[0]).toBeCloseTo(screen.width - high, 6)
      expect(reach(left.strokes)[1]).toBeCloseTo(screen.width - low, 6)
    }
  })
})
