import { createCanvas, type Canvas } from '@napi-rs/canvas'
import { AV_PIX_FMT_YUV420P, AVCOL_RANGE_MPEG, AVCOL_SPC_BT709, type Frame } from 'node-av'
import { pictureChain, type FilterChain } from './filterChain.ts'
import type { PictureSize } from './orientation.ts'

/** Small frames side by side in one JPEG: frame `frames[k]` begins at x = k * frameWidth. */
export interface Filmstrip {
  jpeg: Buffer
  frameWidth: number
  frameHeight: number
  /** Numbers of the frames it holds, evenly spaced, rising. */
  frames: number[]
}

export interface Stills {
  /** JPEG, long side 640 at most. */
  poster: Buffer
  posterFrame: number
  filmstrip: Filmstrip
}

const posterSide = 640
const stripHeight = 96
const stripWidth = 1400
const quality = 82

/** Numbers of `count` frames spread evenly over `total`, each in the middle of its share, without repeats. */
export function evenlySpaced(total: number, count: number): number[] {
  const wanted = Math.min(total, Math.max(1, count))
  return Array.from({ length: wanted }, (_, k) => Math.floor((k + 0.5) * total / wanted))
}

/** Takes stills in passing from review frames (4:2:0, BT.709, limited). Dispose it in the end. */
export class StillTaker implements Disposable {
  readonly #posterFrame: number
  readonly #frames: number[]
  readonly #stripSize: PictureSize
  readonly #posterSize: PictureSize
  readonly #size: PictureSize
  readonly #strip: Canvas
  #poster: Buffer | null = null
  #stripChain: FilterChain | null = null
  #posterChain: FilterChain | null = null

  /** @param size of the review frames; @param total how many there will be */
  constructor(size: PictureSize, total: number) {
    const scale = Math.min(1, posterSide / Math.max(size.width, size.height))
    this.#size = size
    this.#posterSize = { width: Math.max(1, Math.round(size.width * scale)), height: Math.max(1, Math.round(size.height * scale)) }
    this.#stripSize = { width: Math.max(8, Math.round(stripHeight * size.width / size.height)), height: stripHeight }
    this.#frames = evenlySpaced(total, Math.ceil(stripWidth / this.#stripSize.width))
    // A quarter in, the player stands at address in most clips.
    this.#posterFrame = Math.floor(total / 4)
    this.#strip = createCanvas(this.#stripSize.width * this.#frames.length, stripHeight)
  }

  /** Looks at frame `number` and keeps of it what is wanted. The frame stays the caller's. */
  async take(frame: Frame, number: number): Promise<void> {
    const slot = this.#frames.indexOf(number)
    if (slot >= 0) {
      this.#stripChain ??= await this.#chainTo(this.#stripSize)
      await this.#stripChain.push(frame, (small) => {
        using done = small
        draw(this.#strip, done, slot * this.#stripSize.width, this.#stripSize)
      })
    }
    if (number === this.#posterFrame) {
      this.#posterChain ??= await this.#chainTo(this.#posterSize)
      const { width, height } = this.#posterSize
      await this.#posterChain.push(frame, (small) => {
        using done = small
        const canvas = createCanvas(width, height)
        draw(canvas, done, 0, this.#posterSize)
        this.#poster = canvas.toBuffer('image/jpeg', quality)
      })
    }
  }

  /** The stills; call it after the last frame. */
  finish(): Stills {
    if (!this.#poster) throw new Error('no frame was taken for the poster')
    return {
      poster: this.#poster,
      posterFrame: this.#posterFrame,
      filmstrip: { jpeg: this.#strip.toBuffer('image/jpeg', quality), frameWidth: this.#stripSize.width, frameHeight: stripHeight, frames: this.#frames },
    }
  }

  #chainTo(size: PictureSize): Promise<FilterChain> {
    return pictureChain(`scale=${size.width}:${size.height}:flags=area:in_color_matrix=bt709:in_range=tv:out_range=pc,format=rgba`, {
      ...this.#size, format: AV_PIX_FMT_YUV420P, timeBase: { num: 1, den: 1000 }, colorSpace: AVCOL_SPC_BT709, colorRange: AVCOL_RANGE_MPEG,
    })
  }

  [Symbol.dispose](): void {
    this.#stripChain?.close()
    this.#posterChain?.close()
  }
}

function draw(canvas: Canvas, frame: Frame, x: number, { width, height }: PictureSize): void {
  const context = canvas.getContext('2d')
  const image = context.createImageData(width, height)
  const rows = frame.data![0]!
  const stride = frame.linesize[0]!
  for (let y = 0; y < height; y++) image.data.set(rows.subarray(y * stride, y * stride + width * 4), y * width * 4)
  context.putImageData(image, x, 0)
}
