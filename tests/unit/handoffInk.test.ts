import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { inflateSync } from 'node:zlib'
import { createCanvas } from '@napi-rs/canvas'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { registerFonts } from '../../electron/handoff/fonts.ts'
import { InkLayer } from '../../electron/handoff/inkLayer.ts'
import { fillRect, newPicture, planesOf, toYuv, yuvOfHex } from '../../electron/handoff/planes.ts'
import { toRgba } from '../../electron/handoff/stills.ts'
import { tileSide, TouchedTiles } from '../../electron/handoff/touchedTiles.ts'
import { imagePoint } from '../../shared/geometry/vec.ts'
import { inks, shapes, shapeSchema, type Mark } from '../../shared/markup/mark.ts'
import { drawOverlay } from '../../shared/picture/drawInstant.ts'
import { inkColours } from '../../shared/picture/palette.ts'
import type { Stage } from '../../shared/walkthrough/stage.ts'
import { lesson, mark, rgbAt } from '../fixtures/lesson.ts'

const clip = {
  id: 'c', view: 'face-on' as const, handedness: 'right' as const, width: 1080, height: 1920, captureRate: 30, playRate: 30,
  frames: { timescale: 30, ticks: [0, 1, 2], endTick: 3 },
}
const stageOf = (marks: Record<string, Mark>, more: Partial<Stage> = {}): Stage => lesson([clip, clip], [], { marks, ...more }).header.initial

const someMark: fc.Arbitrary<Mark> = fc
  .record({ shape: shapeSchema.options.length ? fc.constantFrom(...shapeSchema.options) : fc.constant('line' as const), ink: fc.constantFrom(...inks), weight: fc.integer({ min: 1, max: 30 }), dashed: fc.boolean(), text: fc.constantFrom('', 'Trail elbow\nturned out'), extra: fc.integer({ min: 0, max: 6 }) })
  .chain(({ extra, ...rest }) => {
    const { least, most } = shapes[rest.shape]
    const count = Math.min(most, least + extra)
    return fc.array(fc.tuple(fc.integer({ min: -600, max: 1700 }), fc.integer({ min: -600, max: 2500 })), { minLength: count, maxLength: count })
      .map((points) => mark('m', 'c', { ...rest, points: points.map(([x, y]) => imagePoint(x, y)) }))
  })

describe('the tiles that are read back', () => {
  it('hold all the ink there is', () => {
    registerFonts()
    const size = { width: 640, height: 360 }
    const canvas = createCanvas(size.width, size.height)
    const ctx = canvas.getContext('2d')
    const tiles = new TouchedTiles(ctx, size)
    fc.assert(fc.property(someMark, fc.integer({ min: 1, max: 6 }), (one, zoom) => {
      tiles.clear()
      const before = ctx.getImageData(0, 0, size.width, size.height).data
      expect(before.every((value) => value === 0)).toBe(true)
      const stage = stageOf({ m: one }, { pointer: { pane: 1, at: imagePoint(500, 900) } })
      drawOverlay(tiles, { size, stage: { ...stage, panes: [{ ...stage.panes[0], zoom }, stage.panes[1]] }, clips: { c: clip } })
      const touched = new Set(tiles.corners.map(([x, y]) => `${x} ${y}`))
      const { data } = ctx.getImageData(0, 0, size.width, size.height)
      for (let y = 0; y < size.height; y++) {
        for (let x = 0; x < size.width; x++) {
          if (data[(y * size.width + x) * 4 + 3] !== 0 && !touched.has(`${x - (x % tileSide)} ${y - (y % tileSide)}`)) throw new Error(`ink at ${x}, ${y} outside the tiles`)
        }
      }
    }), { numRuns: 60 })
  })

  it('are few for a line', () => {
    const size = { width: 1920, height: 1080 }
    const tiles = new TouchedTiles(createCanvas(size.width, size.height).getContext('2d'), size)
    drawOverlay(tiles, { size, stage: stageOf({ m: mark('m', 'c', { shape: 'line', points: [imagePoint(100, 100), imagePoint(900, 1800)] }) }), clips: { c: clip } })
    expect(tiles.corners.length).toBeGreaterThan(8)
    expect(tiles.corners.length * tileSide ** 2).toBeLessThan((size.width * size.height) / 6)
  })
})

describe('ink over a picture', () => {
  it('has its own colour, leaves the rest alone, and fades into what lies under it as canvas does', () => {
    const size = { width: 640, height: 360 }
    using ground = newPicture(size)
    for (const under of [[200, 60, 40], [30, 120, 60], [128, 128, 128]] as const) {
      const yuv = toYuv(under[0], under[1], under[2])
      fillRect(planesOf(ground), { x: 0, y: 0, ...size }, { y: Math.round(yuv.y), u: Math.round(yuv.u), v: Math.round(yuv.v) })
      const bare = rgbAt(ground, 5, 5)
      const layer = new InkLayer(size)
      const overlay = { size, stage: stageOf({ m: mark('m', 'c', { shape: 'circle', points: [imagePoint(540, 900), imagePoint(900, 900)], ink: 'head', weight: 30 }), w: mark('w', 'c', { shape: 'text', text: 'Turned out', points: [imagePoint(100, 300)] }) }), clips: { c: clip } }
      expect(layer.update(overlay)).toBe(true)
      expect(layer.update({ ...overlay })).toBe(false)
      layer.lay(planesOf(ground))
      // The same drawn by the canvas itself.
      const canvas = createCanvas(size.width, size.height)
      const ctx = canvas.getContext('2d')
      ctx.fillStyle = `rgb(${bare.map(Math.round).join(',')})`
      ctx.fillRect(0, 0, size.width, size.height)
      drawOverlay(ctx, overlay)
      const wanted = ctx.getImageData(0, 0, size.width, size.height).data
      const got = new Uint8ClampedArray(size.width * size.height * 4)
      toRgba(ground, got)
      const luma = (data: Uint8ClampedArray, at: number): number => 0.2126 * data[at]! + 0.7152 * data[at + 1]! + 0.0722 * data[at + 2]!
      let worstLuma = 0
      let inked = 0
      for (let at = 0; at < wanted.length; at += 4) {
        worstLuma = Math.max(worstLuma, Math.abs(luma(wanted, at) - luma(got, at)))
        if (Math.abs(wanted[at]! - inkRgb[0]!) + Math.abs(wanted[at + 1]! - inkRgb[1]!) + Math.abs(wanted[at + 2]! - inkRgb[2]!) < 6) inked++
      }
      // Chroma is at half resolution; where it cannot be shown (rgb out of range) luma is clipped a little too.
      expect(worstLuma).toBeLessThan(8)
      expect(inked).toBeGreaterThan(300)
      expect(rgbAt(ground, 5, 5)).toEqual(bare)
    }
  })

  it('is redrawn only when something drawn has changed', () => {
    const size = { width: 640, height: 360 }
    const layer = new InkLayer(size)
    const span = mark('s', 'c', { span: { from: 1, to: 1 } })
    const at = (tick: number): { size: typeof size; stage: Stage; clips: { c: typeof clip } } => {
      const stage = stageOf(marks)
      return { size, stage: { ...stage, panes: [{ ...stage.panes[0], tick }, { ...stage.panes[1], tick }] }, clips: { c: clip } }
    }
    const marks = { span }
    expect(layer.update(at(0))).toBe(true)
    expect(layer.empty).toBe(true)
    expect(layer.update(at(0.5))).toBe(false)
    expect(layer.update(at(1))).toBe(true)
    expect(layer.empty).toBe(false)
    expect(layer.update(at(1.9))).toBe(false)
    expect(layer.update(at(2))).toBe(true)
    expect(layer.empty).toBe(true)
  })
})
const inkRgb = [1, 3, 5].map((at) => Number.parseInt(inkColours.head.slice(at, at + 2), 16))

describe('BT.709', () => {
  it('is as published: white, black, red', () => {
    // ITU-R BT.709-6, 8 bits: white (235, 128, 128), black (16, 128, 128), red (63, 102, 240).
    expect(yuvOfHex('#FFFFFF')).toEqual({ y: 235, u: 128, v: 128 })
    expect(yuvOfHex('#000000')).toEqual({ y: 16, u: 128, v: 128 })
    expect(yuvOfHex('#FF0000')).toEqual({ y: 63, u: 102, v: 240 })
  })
})

describe('the typeface', () => {
  it('is the shipped one: letters are as wide as its own file says', () => {
    registerFonts()
    const ctx = createCanvas(10, 10).getContext('2d')
    for (const weight of ['400', '600']) {
      const advance = advancesOf(createRequire(import.meta.url).resolve(`@fontsource/inter/files/inter-latin-${weight}-normal.woff`))
      const different: string[] = []
      for (const letter of 'HamburgefonsÄé0179±°%') {
        ctx.font = `${weight} 100px Inter`
        const { width } = ctx.measureText(letter)
        expect(Math.abs(width - advance(letter) * 100), `${weight} ${letter}`).toBeLessThan(0.6)
        ctx.font = `${weight} 100px sans-serif`
        if (Math.abs(ctx.measureText(letter).width - width) > 0.6) different.push(letter)
      }
      expect(different.length).toBeGreaterThan(8)
    }
  })

  it('has letters beyond the Latin ones', () => {
    registerFonts()
    const ctx = createCanvas(10, 10).getContext('2d')
    const advance = advancesOf(createRequire(import.meta.url).resolve('@fontsource/inter/files/inter-latin-ext-600-normal.woff'))
    ctx.font = '600 100px Inter'
    for (const letter of 'łšğő') expect(Math.abs(ctx.measureText(letter).width - advance(letter) * 100), letter).toBeLessThan(0.6)
  })
})

/** Reads a WOFF file (W3C WOFF 1.0; OpenType tables head, hhea, hmtx, cmap format 4): a letter's advance in ems. */
function advancesOf(path: string): (letter: string) => number {
  const file = readFileSync(path)
  const table = (name: string): Buffer => {
    for (let i = 0; i < file.readUInt16BE(12); i++) {
      const at = 44 + i * 20
      if (file.toString('latin1', at, at + 4) !== name) continue
      const [offset, packed, length] = [file.readUInt32BE(at + 4), file.readUInt32BE(at + 8), file.readUInt32BE(at + 12)]
      const bytes = file.subarray(offset, offset + packed)
      return packed < length ? inflateSync(bytes) : bytes
    }
    throw new Error(`no table ${name}`)
  }
  const em = table('head').readUInt16BE(18)
  const metrics = table('hhea').readUInt16BE(34)
  const hmtx = table('hmtx')
  const cmap = table('cmap')
  let four = -1
  for (let i = 0; i < cmap.readUInt16BE(2); i++) {
    const offset = cmap.readUInt32BE(8 + i * 8)
    if (cmap.readUInt16BE(offset) === 4) four = offset
  }
  const segments = cmap.readUInt16BE(four + 6) / 2
  return (letter) => {
    const code = letter.charCodeAt(0)
    for (let i = 0; i < segments; i++) {
      const [end, start, delta, range] = [0, 1, 2, 3].map((row) => cmap.readUInt16BE(four + 14 + row * segments * 2 + (row > 0 ? 2 : 0) + i * 2)) as [number, number, number, number]
      if (code > end || code < start) continue
      const glyph = range === 0 ? (code + delta) & 0xffff : cmap.readUInt16BE(four + 16 + 6 * segments + i * 2 + range + (code - start) * 2)
      return hmtx.readUInt16BE(Math.min(glyph, metrics - 1) * 4) / em
    }
    throw new Error(`no glyph for ${letter}`)
  }
}
