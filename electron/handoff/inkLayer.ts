import { createCanvas, type Canvas, type SKRSContext2D } from '@napi-rs/canvas'
import { drawOverlay, OverlayWatch, type Overlay } from '../../shared/picture/drawInstant.ts'
import type { Marks } from '../../shared/markup/mark.ts'
import type { Size } from '../../shared/picture/layout.ts'
import type { Covered, CoveredPlane } from './covered.ts'
import { registerFonts } from './fonts.ts'
import type { Planes } from './planes.ts'
import { tileSide, TouchedTiles } from './touchedTiles.ts'

/** Sparse samples of one plane: what to keep of the picture below (0 to 1) and what to add. */
class Samples {
  #capacity = 1 << 14
  count = 0
  #column = new Uint16Array(this.#capacity)
  #row = new Uint16Array(this.#capacity)
  #keep = new Float32Array(this.#capacity)
  #add = new Float32Array(this.#capacity)

  push(column: number, row: number, keep: number, add: number): void {
    if (this.count === this.#capacity) this.#grow()
    this.#column[this.count] = column
    this.#row[this.count] = row
    this.#keep[this.count] = keep
    this.#add[this.count++] = add
  }

  lay(data: Buffer, stride: number, covered: CoveredPlane | undefined): void {
    const [column, row, keep, add, count] = [this.#column, this.#row, this.#keep, this.#add, this.count]
    covered?.reserve(count)
    for (let i = 0; i < count; i++) {
      const at = row[i]! * stride + column[i]!
      const was = data[at]!
      covered?.note(at, was)
      data[at] = was * keep[i]! + add[i]! + 0.5
    }
  }

  #grow(): void {
    this.#capacity *= 2
    const wider = <T extends Uint16Array | Float32Array>(old: T, next: T): T => {
      next.set(old)
      return next
    }
    this.#column = wider(this.#column, new Uint16Array(this.#capacity))
    this.#row = wider(this.#row, new Uint16Array(this.#capacity))
    this.#keep = wider(this.#keep, new Float32Array(this.#capacity))
    this.#add = wider(this.#add, new Float32Array(this.#capacity))
  }
}

/** One sheet of ink: drawn and read back only when it changes, kept as the few samples it touches, in YUV. */
class Sheet {
  readonly #size: Size
  readonly #canvas: Canvas
  readonly #ctx: SKRSContext2D
  readonly #tiles: TouchedTiles
  readonly #watch = new OverlayWatch()
  readonly #y = new Samples()
  readonly #u = new Samples()
  readonly #v = new Samples()

  constructor(size: Size) {
    this.#size = size
    this.#canvas = createCanvas(size.width, size.height)
    this.#ctx = this.#canvas.getContext('2d')
    this.#tiles = new TouchedTiles(this.#ctx, size)
  }

  get empty(): boolean {
    return this.#y.count === 0
  }

  update(overlay: Overlay): boolean {
    if (!this.#watch.changed(overlay)) return false
    this.#tiles.clear()
    drawOverlay(this.#tiles, overlay)
    this.#y.count = this.#u.count = this.#v.count = 0
    for (const [x, y] of this.#tiles.corners) this.#readTile(x, y)
    return true
  }

  lay(to: Planes, covered: Covered | undefined): void {
    ;[this.#y, this.#u, this.#v].forEach((samples, i) => samples.lay(to.data[i]!, to.stride[i]!, covered?.planes[i]))
  }

  /**
   * BT.709 in limited range, weighted by alpha. Chroma samples stand over every second luma column (left-sited, as H.264
   * takes them to be when it is told nothing), so they are averaged over the columns to both sides.
   */
  #readTile(left: number, top: number): void {
    const width = Math.min(tileSide, this.#size.width - left)
    const height = Math.min(tileSide, this.#size.height - top)
    const before = left > 0 ? 1 : 0
    const { data } = this.#ctx.getImageData(left - before, top, width + before, height)
    // Most of a tile is empty: whole pixels are looked at first.
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

/**
 * What is drawn over the video, on two sheets: the marks that stand, and above them the one in the making and the
 * pointer, which change with nearly every picture while the coach draws or points.
 */
export class InkLayer {
  readonly #standing: Sheet
  readonly #moving: Sheet
  #marks: Marks = {}
  #draftId: string | undefined
  #others: Marks = {}

  constructor(size: Size) {
    registerFonts()
    this.#standing = new Sheet(size)
    this.#moving = new Sheet(size)
  }

  get empty(): boolean {
    return this.#standing.empty && this.#moving.empty
  }

  /** Draws anew where anything drawn has changed; says whether. */
  update(overlay: Overlay): boolean {
    const { stage } = overlay
    const standing = this.#standing.update({ ...overlay, stage: { ...stage, marks: this.#without(stage.marks, stage.draft?.id), draft: null, pointer: null } })
    const moving = this.#moving.update({ ...overlay, stage: { ...stage, marks: noMarks } })
    return standing || moving
  }

  /** Lays the ink over a picture of the layer's size, noting what it covers, if wanted. */
  lay(to: Planes, covered?: Covered): void {
    this.#standing.lay(to, covered)
    this.#moving.lay(to, covered)
  }

  /** The marks but the one that is being changed: the same object for the same arguments, for the watch goes by identity. */
  #without(marks: Marks, id: string | undefined): Marks {
    if (marks === this.#marks && id === this.#draftId) return this.#others
    this.#marks = marks
    this.#draftId = id
    if (id === undefined || !marks[id]) return (this.#others = marks)
    const { [id]: _, ...others } = marks
    return (this.#others = others)
  }
}

const noMarks: Marks = {}
