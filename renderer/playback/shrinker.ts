import { halvePlane, planesOf, type Plane } from './halving.ts'
import type { PictureSize } from './protocol.ts'

/** Drawn no larger than this part of itself, a frame is halved first; a little too coarse while it moves is sharp enough. */
const halvedBelow = 0.6

/**
 * Makes decoded frames as small as they are drawn, in the decoder's own thread: turning a frame's colours and scaling it cost
 * more than decoding it, and four of them one after another hold the page up. Halving the frame before its colours are turned
 * saves nearly half of that again (2.5 ms against 4.3 for 720 x 1280 drawn at 348 x 618, in software).
 */
export class Shrinker {
  readonly #canvas: OffscreenCanvas
  readonly #context: OffscreenCanvasRenderingContext2D | null
  #whole = new Uint8Array(0)
  #half = new Uint8Array(0)
  #last: Promise<unknown> = Promise.resolve()

  constructor({ width, height }: PictureSize) {
    this.#canvas = new OffscreenCanvas(width, height)
    this.#context = this.#canvas.getContext('2d', { alpha: false })
    if (this.#context) this.#context.imageSmoothingQuality = 'low'
  }

  /**
   * The frame made small, and closed; where it cannot be, the frame itself. Frames come out in the order they went in.
   * @param isNeeded asked when its turn has come; where not, the frame is closed and null comes out
   */
  shrink(frame: VideoFrame, isNeeded: () => boolean): Promise<VideoFrame | ImageBitmap | null> {
    const made = this.#last.then(() => {
      if (isNeeded()) return this.#shrink(frame).catch(() => frame)
      frame.close()
      return null
    })
    this.#last = made
    return made
  }

  /** Settles when nothing is being made small. */
  get idle(): Promise<unknown> { return this.#last }

  async #shrink(frame: VideoFrame): Promise<VideoFrame | ImageBitmap> {
    const context = this.#context
    if (!context) return frame
    const { width, height } = this.#canvas
    const half = frame.format === 'I420' && width <= halvedBelow * frame.displayWidth ? await this.#halved(frame).catch(() => null) : null
    if (half) {
      // Rounded up to even, the half may be a little larger than the frame: what is too much lies outside.
      context.drawImage(half, 0, 0, (width * 2 * half.displayWidth) / frame.displayWidth, (height * 2 * half.displayHeight) / frame.displayHeight)
      half.close()
    } else context.drawImage(frame, 0, 0, width, height)
    frame.close()
    return this.#canvas.transferToImageBitmap()
  }

  async #halved(frame: VideoFrame): Promise<VideoFrame | null> {
    const { displayWidth, displayHeight, visibleRect } = frame
    // Pixels that are not square are the canvas's affair.
    if (visibleRect?.width !== displayWidth || visibleRect.height !== displayHeight) return null
    const bytes = frame.allocationSize()
    if (this.#whole.length !== bytes) this.#whole = new Uint8Array(bytes)
    const layout = await frame.copyTo(this.#whole)
    const [width, height] = [2 * Math.ceil(displayWidth / 4), 2 * Math.ceil(displayHeight / 4)]
    const target = planesOf(width, height)
    if (this.#half.length !== target.bytes) this.#half = new Uint8Array(target.bytes)
    planesOf(displayWidth, displayHeight).planes.forEach((plane, i) => {
      const source: Plane = { ...plane, ...layout[i]! }
      halvePlane(this.#whole, source, this.#half, target.planes[i]!)
    })
    return new VideoFrame(this.#half, { format: 'I420', codedWidth: width, codedHeight: height, timestamp: frame.timestamp, colorSpace: frame.colorSpace.toJSON() })
  }
}
