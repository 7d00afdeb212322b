import type { Affine } from '../../shared/geometry/affine.ts'
import type { PictureSize } from './protocol.ts'
import type { Picture, SharedPicture } from './sharedPicture.ts'

/** Fetches the original's own pixels of a frame, in display orientation. The layer closes what it is given. */
export type OriginalFetcher = (index: number, signal: AbortSignal) => Promise<Picture>

export interface VideoLayerOptions {
  readonly canvas: HTMLCanvasElement
  /** Asks for `paint` to be called at the next animation frame. */
  readonly wake: () => void
  /** What stands around the picture; a CSS colour, or `transparent` for a picture that lies over another. */
  readonly ground?: string
  /** Milliseconds at rest before the original is fetched. */
  readonly restMs?: number
}

/** What is on the canvas after a paint. */
export interface Shown {
  /** The frame whose pixels are on the canvas, or null where there are none. */
  readonly frame: number | null
  /** Whether they are the original's own. */
  readonly settled: boolean
}

/** A still that will not come is not asked for again while the same frame rests. */
interface Settling { readonly frame: number, readonly abort: AbortController }

const defaultRest = 120
const mostTimings = 500

/**
 * Paints one clip on one canvas: the frame of the review copy while it moves, the original's pixels at rest. Draws only
 * when something changed, at most once an animation frame, and always knows which frame is really on the canvas.
 */
export class VideoLayer {
  readonly #canvas: HTMLCanvasElement
  readonly #context: CanvasRenderingContext2D
  readonly #wake: () => void
  readonly #listeners = new Set<(shown: Shown) => void>()
  readonly #rest: number
  #ground: string
  #image: { width: number, height: number } | null = null
  #transform: Affine | null = null
  #size = { width: 0, height: 0, ratio: 1 }
  #review: { index: number, shared: SharedPicture } | null = null
  #still: { index: number, picture: Picture } | null = null
  #dirty = false
  #shown: Shown = { frame: null, settled: false }
  #original: OriginalFetcher | null = null
  /** The frame the playhead rests on, or null while it moves. */
  #resting: number | null = null
  #restTimer: ReturnType<typeof setTimeout> | null = null
  #settling: Settling | null = null
  #refused: number | null = null
  #paints = 0
  #settleTimes: number[] = []

  constructor(options: VideoLayerOptions) {
    this.#canvas = options.canvas
    this.#wake = options.wake
    this.#ground = options.ground ?? '#000'
    this.#rest = options.restMs ?? defaultRest
    const context = options.canvas.getContext('2d', { alpha: this.#ground === 'transparent' })
    if (!context) throw new Error('This window cannot draw pictures (no 2D canvas). Restart the program.')
    this.#context = context
  }

  /** The frame whose pixels are on the canvas now. */
  get shown(): number | null { return this.#shown.frame }
  get settled(): boolean { return this.#shown.settled }
  /** Times the canvas was drawn. */
  get paints(): number { return this.#paints }
  /** Milliseconds from coming to rest to the original's pixels on the canvas, newest last. */
  get settleTimes(): readonly number[] { return this.#settleTimes }

  /** Begins with another clip, or none: the canvas is cleared at the next paint. Image size is in pixels of the original. */
  setClip(image: { width: number, height: number } | null, original: OriginalFetcher | null): void {
    this.#stopSettling()
    this.#resting = null
    this.#dropStill()
    this.#review?.shared.close()
    this.#review = null
    this.#image = image
    this.#original = original
    this.#refused = null
    this.#touch()
  }

  /** From image space (pixels of the original) to CSS pixels of the canvas. Null fits the whole picture in. */
  setTransform(transform: Affine | null): void {
    this.#transform = transform
    this.#touch()
  }

  /** The canvas's size in CSS pixels and how many device pixels make one. */
  setSize(width: number, height: number, ratio: number): void {
    this.#size = { width, height, ratio }
    this.#touch()
  }

  setGround(colour: string): void {
    this.#ground = colour
    this.#touch()
  }

  /** The map in use, from image space to CSS pixels of the canvas. */
  get transform(): Affine {
    return this.#transform ?? fitted(this.#image ?? { width: 1, height: 1 }, this.#size)
  }

  /** How many pixels wide the picture of the review copy is that the layer holds; null where it holds none. */
  get heldWidth(): number | null {
    const picture = this.#review?.shared.picture
    return picture ? ('displayWidth' in picture ? picture.displayWidth : picture.width) : null
  }

  /** How large the whole picture is drawn, in device pixels; null without a clip. */
  get drawnSize(): PictureSize | null {
    if (!this.#image) return null
    const { a, b, c, d } = this.transform
    const { ratio } = this.#size
    return { width: this.#image.width * Math.hypot(a, b) * ratio, height: this.#image.height * Math.hypot(c, d) * ratio }
  }

  /** Takes a frame of the review copy over, to be painted at the next animation frame. */
  offer(index: number, shared: SharedPicture): void {
    this.#review?.shared.close()
    this.#review = { index, shared }
    this.#touch()
  }

  /** Tells where the playhead rests (null: it moves). Each new place puts the settling off. */
  rest(index: number | null): void {
    if (index === this.#resting) return
    this.#resting = index
    this.#refused = null
    this.#stopSettling()
    if (index === null || !this.#original || this.#still?.index === index) return
    this.#restTimer = setTimeout(() => this.#settle(index), this.#rest)
  }

  /** Called after each paint, in the same animation frame. Returns what takes the listener off again. */
  onShown(listener: (shown: Shown) => void): () => void {
    this.#listeners.add(listener)
    return () => this.#listeners.delete(listener)
  }

  /** Draws if anything changed; true if it did. To be called inside an animation frame. */
  paint(): boolean {
    if (!this.#dirty) return false
    this.#dirty = false
    const { width, height, ratio } = this.#size
    const deviceWidth = Math.max(1, Math.round(width * ratio))
    const deviceHeight = Math.max(1, Math.round(height * ratio))
    if (this.#canvas.width !== deviceWidth) this.#canvas.width = deviceWidth
    if (this.#canvas.height !== deviceHeight) this.#canvas.height = deviceHeight
    const context = this.#context
    // A still that belongs to neither the resting playhead nor the frame under it has had its day.
    const still = this.#still && (this.#still.index === this.#resting || this.#still.index === this.#review?.index) ? this.#still : null
    if (!still) this.#dropStill()
    const source = still ?? this.#review
    context.setTransform(1, 0, 0, 1, 0, 0)
    const m = this.transform
    if (this.#ground === 'transparent') context.clearRect(0, 0, deviceWidth, deviceHeight)
    else if (!source || !covers(m, this.#image, width, height)) {
      context.fillStyle = this.#ground
      context.fillRect(0, 0, deviceWidth, deviceHeight)
    }
    if (source && this.#image) {
      context.setTransform(m.a * ratio, m.b * ratio, m.c * ratio, m.d * ratio, m.e * ratio, m.f * ratio)
      context.imageSmoothingQuality = still ? 'medium' : 'low'
      context.drawImage('shared' in source ? source.shared.picture : source.picture, 0, 0, this.#image.width, this.#image.height)
    }
    this.#paints++
    this.#shown = { frame: source && this.#image ? source.index : null, settled: still !== null }
    for (const listener of this.#listeners) listener(this.#shown)
    return true
  }

  dispose(): void {
    this.setClip(null, null)
    this.#listeners.clear()
  }

  #touch(): void {
    this.#dirty = true
    this.#wake()
  }

  #settle(index: number): void {
    this.#restTimer = null
    const original = this.#original
    if (!original || this.#refused === index) return
    const settling: Settling = { frame: index, abort: new AbortController() }
    this.#settling = settling
    const began = performance.now() - this.#rest
    original(index, settling.abort.signal).then((picture) => {
      if (this.#settling !== settling) {
        picture.close()
        return
      }
      this.#settling = null
      this.#dropStill()
      this.#still = { index, picture }
      this.#touch()
      const off = this.onShown((shown) => {
        off()
        if (!shown.settled || shown.frame !== index) return
        this.#settleTimes.push(performance.now() - began)
        if (this.#settleTimes.length > mostTimings) this.#settleTimes.shift()
      })
    }).catch(() => {
      // The review copy stays on screen: the same frame, a little softer.
      if (this.#settling !== settling) return
      this.#settling = null
      this.#refused = index
    })
  }

  #stopSettling(): void {
    if (this.#restTimer !== null) clearTimeout(this.#restTimer)
    this.#restTimer = null
    this.#settling?.abort.abort()
    this.#settling = null
  }

  #dropStill(): void {
    this.#still?.picture.close()
    this.#still = null
  }
}

/** The whole picture as large as it fits, in the middle. */
export function fitted(image: { width: number, height: number }, size: { width: number, height: number }): Affine {
  const scale = Math.min(size.width / image.width, size.height / image.height)
  return { a: scale, b: 0, c: 0, d: scale, e: (size.width - image.width * scale) / 2, f: (size.height - image.height * scale) / 2 }
}

/** Whether the picture leaves nothing of the canvas bare, so that the ground need not be drawn first. Upright pictures only. */
function covers(m: Affine, image: { width: number, height: number } | null, width: number, height: number): boolean {
  if (!image || m.b !== 0 || m.c !== 0) return false
  const [x0, x1] = [m.e, m.e + m.a * image.width]
  const [y0, y1] = [m.f, m.f + m.d * image.height]
  return Math.min(x0, x1) <= 0 && Math.max(x0, x1) >= width && Math.min(y0, y1) <= 0 && Math.max(y0, y1) >= height
}
