import { createCanvas } from '@napi-rs/canvas'
import type { Frame } from 'node-av'
import { drawCard } from '../../shared/picture/drawCard.ts'
import type { Size } from '../../shared/picture/layout.ts'
import type { CardPiece } from '../../shared/walkthrough/edits.ts'
import { registerFonts } from './fonts.ts'
import { toYuv, type Planes } from './planes.ts'
import { freePicture, scratchPicture, type ScratchPicture } from './scratch.ts'

/** The picture that cards are shown on. A card stands still, so it is drawn once. */
export class CardPage implements Disposable {
  readonly #size: Size
  readonly #picture: ScratchPicture
  #shown = ''

  constructor(size: Size) {
    registerFonts()
    this.#size = size
    this.#picture = scratchPicture(size)
  }

  get frame(): Frame {
    return this.#picture.frame
  }

  /** Has this card on the picture; says whether it was drawn for that. */
  show({ title, lines }: Pick<CardPiece, 'title' | 'lines'>): boolean {
    const wanted = JSON.stringify([title, lines])
    if (wanted === this.#shown) return false
    const { width, height } = this.#size
    const ctx = createCanvas(width, height).getContext('2d')
    drawCard(ctx, this.#size, { title, lines })
    fromRgba(this.#picture.planes, ctx.getImageData(0, 0, width, height).data)
    this.#shown = wanted
    return true
  }

  [Symbol.dispose](): void {
    freePicture(this.#picture)
  }
}

/** Opaque RGBA as BT.709, limited; a chroma sample is the mean of its four pixels (words on a ground have no colour to place). */
function fromRgba({ size: { width, height }, data, stride }: Planes, rgba: Uint8ClampedArray): void {
  for (let y = 0; y < height; y += 2) {
    for (let x = 0; x < width; x += 2) {
      let [u, v] = [0, 0]
      for (let down = 0; down < 2; down++) {
        for (let across = 0; across < 2; across++) {
          const at = ((y + down) * width + x + across) * 4
          const colour = toYuv(rgba[at]!, rgba[at + 1]!, rgba[at + 2]!)
          data[0][(y + down) * stride[0] + x + across] = Math.round(colour.y)
          u += colour.u
          v += colour.v
        }
      }
      data[1][(y >> 1) * stride[1] + (x >> 1)] = Math.round(u / 4)
      data[2][(y >> 1) * stride[2] + (x >> 1)] = Math.round(v / 4)
    }
  }
}
