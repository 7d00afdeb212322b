import fc from 'fast-check'
import { expect, test } from 'vitest'
import type { Mark } from '../../shared/markup/mark.ts'
import { imagePoint } from '../../shared/geometry/vec.ts'
import { platesAt, tagCorner } from '../../renderer/bench/tagCorner.ts'

const room = { x: 10, y: 20, width: 300, height: 500 }
const tag = { width: 120, height: 22 }

test('a tag keeps to the upper left, and goes to the first corner that no plate lies in', () => {
  expect(tagCorner(tag, room, [])).toBe('top-left')
  const upperLeft = { x: 5, y: 15, width: 150, height: 200 }
  expect(tagCorner(tag, room, [upperLeft])).toBe('top-right')
  expect(tagCorner(tag, room, [{ ...upperLeft, width: 200 }])).toBe('bottom-left')
  expect(tagCorner(tag, room, [{ ...upperLeft, width: 200 }, { x: 5, y: 400, width: 100, height: 120 }])).toBe('bottom-right')
  expect(tagCorner(tag, room, [room])).toBe('top-left')
})

test('where any corner is free the tag lies over no plate', () => {
  const rect = fc.record({ x: fc.integer({ min: 0, max: 300 }), y: fc.integer({ min: 0, max: 500 }), width: fc.integer({ min: 5, max: 200 }), height: fc.integer({ min: 5, max: 300 }) })
  fc.assert(fc.property(fc.array(rect, { maxLength: 3 }), (plates) => {
    const over = (corner: string): boolean => {
      const x = corner.endsWith('left') ? room.x : room.x + room.width - tag.width
      const y = corner.startsWith('top') ? room.y : room.y + room.height - tag.height
      return plates.some((p) => p.x < x + tag.width && p.x + p.width > x && p.y < y + tag.height && p.y + p.height > y)
    }
    const all = ['top-left', 'top-right', 'bottom-left', 'bottom-right']
    expect(over(tagCorner(tag, room, plates))).toBe(all.every(over))
  }))
})

test('plates are those of the clip that show at the tick, turned with the picture', () => {
  const plate = (id: string, more: Partial<Mark> = {}): Mark =>
    ({ id, clipId: 'c', shape: 'plan', meaning: null, points: [imagePoint(10, 10), imagePoint(30, 50)], text: '', span: { from: 5, to: 9 }, ink: 'club', weight: 5, dashed: false, hidden: false, order: 0, ...more })
  const marks = Object.fromEntries([plate('a'), plate('b', { clipId: 'd' }), plate('c', { hidden: true }), plate('d', { span: { from: 0, to: 4 } }), plate('e', { shape: 'box' }), plate('f', { span: null, shape: 'misses' })].map((mark) => [mark.id, mark]))
  const mirrored = { a: -2, b: 0, c: 0, d: 2, e: 100, f: 0 }
  expect(platesAt(marks, 'c', 7, mirrored)).toEqual([{ x: 40, y: 20, width: 40, height: 80 }, { x: 40, y: 20, width: 40, height: 80 }])
  expect(platesAt(marks, 'c', 20, mirrored)).toHaveLength(1)
})
