import { createCanvas, type SKRSContext2D } from '@napi-rs/canvas'
import { drawOverlay, OverlayWatch, type Overlay } from '../../shared/picture/drawInstant.ts'
import type { Size } from '../../shared/picture/layout.ts'
import type { Covered } from './covered.ts'
import type { Planes } from './planes.ts'
import { Samples } from './samples.ts'
import { tileSide, TouchedTiles } from './touchedTiles.ts'

interface Run {
  readonly x: number
  readonly y: number
  readonly width: number
}

/** Tiles side by side, so that they are read in one go. `corners` come row by row. */
function runsOf(corners: readonly (readonly [number, number])[]): Run[] {
  const runs: Run[] = []
  for (const [x, y] of corners) {
    const last = runs[runs.length - 1]
    if (last && last.y === y && last.x + last.width === x) runs[runs.length - 1] = { ...last, width: last.width + tileSide }
    else runs.push({ x, y, width: tileSide })
  }
  return runs
}

/** One sheet of ink: drawn and read back only when it changes, kept as the few samples it touches, in YUV. */
export class InkSheet {
  readonly #size: Size
  /** Of one pixel: takes the drawing whose tiles are wanted, before it is known where to draw it. */
  readonly #dry: SKRSContext2D
  readonly #tiles: TouchedTiles
  /** By size. A canvas that was read is copied whole when it is next drawn on, so it is no larger than it needs to be. */
  readonly #canvases = new Map<string, SKRSContext2D>()
  readonly #watch = new OverlayWatch()
  readonly #y = new Samples()
  readonly #u = new Samples()
  readonly #v = new Samples()

  constructor(size: Size) {
    this.#size = size
    this.#dry = createCanvas(1, 1).getContext('2d')
    this.#tiles = new TouchedTiles(this.#dry, size)
  }

  get empty(): boolean {
    return this.#y.count === 0
  }

  update(overlay: Overlay): boolean {
    if (!this.#watch.changed(overlay)) return false
    this.#tiles.clear()
    drawOverlay(this.#tiles, overlay)
    // Reading carries out what was put down; nothing shall pile up.
    this.#dry.getImageData(0, 0, 1, 1)
    for (const samples of [this.#y, this.#u, this.#v]) samples.clear()
    const runs = runsOf(this.#tiles.corners)
    if (runs.length === 0) return true
    const [left, top] = [Math.min(...runs.map((run) => run.x)), runs[0]!.y]
    const ctx = this.#canvasFor({ width: Math.max(...runs.map(({ x, width }) => x + width)) - left, height: runs[runs.length - 1]!.y + tileSide - top })
    ctx.clearRect(0, 0, ctx.canvas.width, ctx.canvas.height)
    ctx.save()
    ctx.translate(-left, -top)
    drawOverlay(ctx, overlay)
    ctx.restore()
    for (const run of runs) this.#readRun(ctx, left, top, run)
    return true
  }

  lay(to: Planes, covered: Covered | undefined): void {
    ;[this.#y, this.#u, this.#v].forEach((samples, i) => samples.lay(to.data[i]!, to.stride[i]!, covered?.planes[i]))
  }

  #canvasFor(area: Size): SKRSContext2D {
    const step = 4 * tileSide
    const [width, height] = [Math.ceil(area.width / step) * step, Math.ceil(area.height / step) * step]
    const key = `${width} ${height}`
    const known = this.#canvases.get(key)
    if (known) return known
    if (this.#canvases.size > 3) this.#canvases.delete(this.#canvases.keys().next().value!)
    const made = createCanvas(width, height).getContext('2d')
    this.#canvases.set(key, made)
    return made
  }

  /**
   * BT.709 in limited range, weighted by alpha. Chroma samples stand over every second luma column (left-sited, as H.264
   * takes them to be when it is told nothing), so they are averaged over the columns to both sides.
   */
  #readRun(ctx: SKRSContext2D, originX: number, originY: number, { x: left, y: top, width: whole }: Run): void {
    const width = Math.min(whole, this.#size.width - left)
    const height = Math.min(tileSide, this.#size.height - top)
    const before = left > originX ? 1 : 0
    const { data } = ctx.getImageData(left - before - originX, top - originY, width + before, height)
    // Most of a run is empty: whole pixels are looked at first.
    const pixels = new Uint32Array(data.buffer, data.byteOffset, data.byteLength >> 2)
    const stride = width + before
    for (let y = 0; y < height; y++) {
      for (let x = 0, pixel = y * stride + before; x < width; x++, pixel++) {
        if (pixels[pixel] === 0) continue
        const at = pixel * 4
        const alpha = data[at + 3]! / 255
        const luma = 0.2126 * data[at]! + 0.7152 * data[at + 1]! + 0.0722 * data[at + 2]!
        this.#y.push(left + x, top + y, 1 - alpha, alpha * (16 + (luma * 219) / 255))
      }
    }
    for (let y = 0; y + 1 < height; y += 2) {
      for (let x = 0; x < width; x += 2) {
        const middle = y * stride + x + before
        const west = x + before > 0 ? -1 : 0
        const east = x + 1 < width ? 1 : 0
        if ((pixels[middle + west]! | pixels[middle]! | pixels[middle + east]! | pixels[middle + stride + west]! | pixels[middle + stride]! | pixels[middle + stride + east]!) === 0) continue
        let [alpha, blue, red] = [0, 0, 0]
        for (let row = middle; row <= middle + stride; row += stride) {
          for (let side = -1; side <= 1; side++) {
            const at = (row + (side < 0 ? west : side > 0 ? east : 0)) * 4
            const weight = (side === 0 ? 0.25 : 0.125) * (data[at + 3]! / 255)
            const luma = 0.2126 * data[at]! + 0.7152 * data[at + 1]! + 0.0722 * data[at + 2]!
            alpha += weight
            blue += weight * (data[at + 2]! - luma)
            red += weight * (data[at]! - luma)
          }
        }
        const [column, row] = [(left + x) >> 1, (top + y) >> 1]
        this.#u.push(column, row, 1 - alpha, 128 * alpha + (blue / 1.8556) * (224 / 255))
        this.#v.push(column, row, 1 - alpha, 128 * alpha + (red / 1.5748) * (224 / 255))
      }
    }
  }
}
