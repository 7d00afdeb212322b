import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { loupePlace, type LoupeRoom } from '../../renderer/bench/loupePlace.ts'

const size = 168
const host = { width: 1150, height: 650 }
const picture = { x: 100, y: 0, width: 366, height: 650 }
const room = (more: Partial<LoupeRoom>): LoupeRoom => ({ at: [280, 300], size, host, picture, beside: null, keep: [], before: null, ...more })
const away = (a: readonly [number, number], b: readonly [number, number]): number => Math.hypot(a[0] - b[0], a[1] - b[1])

describe('the magnifier', () => {
  it('stays inside the stage and leaves the point and what lies next to it in sight', () => {
    const place = fc.tuple(fc.double({ min: 0, max: host.width, noNaN: true }), fc.double({ min: 0, max: host.height, noNaN: true }))
    fc.assert(fc.property(place, fc.array(place, { maxLength: 4 }), fc.option(place), (at, keep, before) => {
      const [x, y] = loupePlace(room({ at, keep, before }))
      expect(x >= size / 2 && x <= host.width - size / 2 && y >= size / 2 && y <= host.height - size / 2).toBe(true)
      expect(away([x, y], at)).toBeGreaterThanOrEqual(size / 2 + 40)
    }))
  })
  it('stands on the bare ground beside the picture where there is enough', () => {
    const [x] = loupePlace(room({}))
    expect(x - size / 2).toBeGreaterThanOrEqual(picture.x + picture.width)
  })
  it('covers neither golfer where the two pictures leave no ground between them', () => {
    const beside = { x: 480, y: 0, width: 366, height: 650 }
    const middle = loupePlace(room({ at: [285, 520], picture: { x: 15, y: 0, width: 354, height: 650 }, beside }))
    // Nothing of it lies over the middle third of the other picture, where that player stands.
    expect(middle[0] + size / 2).toBeLessThan(beside.x + beside.width / 3)
  })
  it('covers no other end of the mark in hand, if it can', () => {
    const full = { x: 0, y: 0, width: host.width, height: host.height }
    fc.assert(fc.property(fc.double({ min: 0, max: 2 * Math.PI, noNaN: true }), (turn) => {
      const end = [575 + 128 * Math.cos(turn), 325 + 128 * Math.sin(turn)] as const
      const middle = loupePlace(room({ at: [575, 325], picture: full, keep: [end] }))
      expect(away(middle, end)).toBeGreaterThan(size / 2)
    }))
  })
  it('does not hop while the point is moved a little', () => {
    let before = loupePlace(room({}))
    for (let x = 280; x < 300; x++) {
      const now = loupePlace(room({ at: [x, 300], before }))
      expect(away(now, before)).toBeLessThan(8)
      before = now
    }
  })
  it('has a place on a stage too small for it', () => {
    expect(loupePlace(room({ host: { width: 180, height: 180 }, picture: { x: 0, y: 0, width: 180, height: 180 }, at: [90, 90] })).every(Number.isFinite)).toBe(true)
  })
})
