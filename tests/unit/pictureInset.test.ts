import { expect, test } from 'vitest'
import { noInset, pictureInset } from '../../renderer/bench/pictureInset.ts'

const place = { x: 600, y: 10, width: 500, height: 600 }
const image = { width: 1080, height: 1920 }
/** Fits the picture in the middle: 337.5 wide. */
const scale = 600 / 1920
const middle = 600 + (500 - 1080 * scale) / 2

test('words stand as far in as the picture does, mirrored or not', () => {
  expect(pictureInset(place, { a: scale, b: 0, c: 0, d: scale, e: middle, f: 10 }, image)).toEqual({ left: 81.25, right: 81.25, top: 0 })
  expect(pictureInset(place, { a: -scale, b: 0, c: 0, d: scale, e: middle + 1080 * scale, f: 10 }, image)).toEqual({ left: 81.25, right: 81.25, top: 0 })
})

test('a picture that fills its place, or lies out of sight, leaves the words where the place is', () => {
  expect(pictureInset(place, { a: 2, b: 0, c: 0, d: 2, e: 0, f: -500 }, image)).toEqual(noInset)
  expect(pictureInset(place, { a: scale, b: 0, c: 0, d: scale, e: 1080, f: 10 }, image)).toEqual(noInset)
  expect(pictureInset(place, { a: scale, b: 0, c: 0, d: scale, e: 700, f: 700 }, image)).toEqual(noInset)
})

test('a picture that hangs over one edge is written on where it is seen', () => {
  expect(pictureInset(place, { a: scale, b: 0, c: 0, d: scale, e: 700, f: 60 }, image)).toEqual({ left: 100, right: 62.5, top: 50 })
})
