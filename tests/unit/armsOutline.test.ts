import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { dashed, widened } from '../../renderer/arms/figure/outline.ts'
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
