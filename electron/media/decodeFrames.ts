import type { Frame } from 'node-av'
import { frameOfTimestamp, indexFrames, seekPointFor, type MediaIndex } from './frameIndex.ts'
import { MediaError } from './mediaError.ts'
import { openPictures, type Pictures } from './pictures.ts'

export interface FrameReaderOptions {
  /** Bytes of decoded pictures to keep; 96 MB by default. At least the frame last asked for is kept. */
  cacheBytes?: number
  threads?: number
}

/**
 * Hands out a clip's frames by number, for originals and review copies alike. Frames come as they are stored: YUV, not
 * turned, not scaled, with their own colour tags; displayFilter() gives the chain that makes them upright and BT.709.
 * A frame's `pts` is its tick. Forward access decodes each frame once; going backward decodes a group and keeps
 * what fits of it, the nearest first. One request at a time: callers of frameAt() queue behind each other.
 */
export class FrameReader implements AsyncDisposable {
  readonly index: MediaIndex
  readonly #path: string
  readonly #pictures: Pictures
  readonly #cacheBytes: number
  /** Oldest first. */
  readonly #cache = new Map<number, Frame>()
  #cachedBytes = 0
  /** The number of the next frame that the decoder will give out, or null where that is not known. */
  #next: number | null = 0
  #last: Promise<unknown> = Promise.resolve()
  #closed = false

  private constructor(path: string, index: MediaIndex, pictures: Pictures, cacheBytes: number) {
    this.#path = path
    this.index = index
    this.#pictures = pictures
    this.#cacheBytes = cacheBytes
  }

  /** @param index of this very file; made here when left out, which reads the file once through */
  static async open(path: string, index?: MediaIndex, options: FrameReaderOptions = {}): Promise<FrameReader> {
    const known = index ?? await indexFrames(path)
    const pictures = await openPictures(path, options.threads === undefined ? {} : { threads: options.threads })
    return new FrameReader(path, known, pictures, options.cacheBytes ?? 96 * 2 ** 20)
  }

  get frameCount(): number {
    return this.index.ticks.length
  }

  /** The file's track time base and colour live here. */
  get pictures(): Pictures {
    return this.#pictures
  }

  /**
   * Frame `number`, which the caller must free (`using`); it shares its pixels with the cache and must not be written to.
   * Throws RangeError for a number outside the clip, MediaError `damaged` when the frame cannot be decoded,
   * `cancelled` when `signal` was given before it was found or the reader was closed.
   */
  frameAt(number: number, signal?: AbortSignal): Promise<Frame> {
    if (!Number.isInteger(number) || number < 0 || number >= this.frameCount) return Promise.reject(new RangeError(`no frame ${number} in a clip of ${this.frameCount}`))
    const mine = this.#last.then(() => this.#find(number, signal))
    this.#last = mine.catch(() => {})
    return mine
  }

  async #find(wanted: number, signal?: AbortSignal): Promise<Frame> {
    const stopped = () => {
      if (signal?.aborted || this.#closed) throw new MediaError('cancelled', this.#path)
    }
    stopped()
    const kept = this.#cache.get(wanted)
    if (kept) {
      // To the young end, so that neighbours in use outlive those that are not.
      this.#cache.delete(wanted)
      this.#cache.set(wanted, kept)
      return copyOf(kept)
    }
    const start = seekPointFor(this.index, wanted)
    if (this.#next === null || wanted < this.#next || start.frame > this.#next) await this.#seek(start.timestamp)
    for (;;) {
      stopped()
      const frame = await this.#pictures.next()
      const number = frame ? frameOfTimestamp(this.index, frame.pts) : this.frameCount
      if (!frame || number > wanted) {
        frame?.[Symbol.dispose]()
        this.#next = null
        throw new MediaError('damaged', this.#path, `(frame ${wanted + 1} of ${this.frameCount} cannot be decoded)`)
      }
      if (number >= 0) this.#next = number + 1
      if (number < 0 || this.#cache.has(number)) {
        frame[Symbol.dispose]()
        continue
      }
      frame.pts = BigInt(this.index.ticks[number]!)
      this.#keep(number, frame)
      if (number === wanted) return copyOf(frame)
    }
  }

  async #seek(timestamp: number): Promise<void> {
    await this.#pictures.seek(timestamp)
    this.#next = null
  }

  #keep(number: number, frame: Frame): void {
    this.#cache.set(number, frame)
    this.#cachedBytes += bytesOf(frame)
    for (const [old, picture] of this.#cache) {
      if (this.#cachedBytes <= this.#cacheBytes || old === number) break
      this.#cachedBytes -= bytesOf(picture)
      this.#cache.delete(old)
      picture[Symbol.dispose]()
    }
  }

  async close(): Promise<void> {
    if (this.#closed) return
    this.#closed = true
    await this.#last
    for (const frame of this.#cache.values()) frame[Symbol.dispose]()
    this.#cache.clear()
    await this.#pictures.close()
  }

  [Symbol.asyncDispose](): Promise<void> {
    return this.close()
  }
}

function copyOf(frame: Frame): Frame {
  const copy = frame.clone()
  if (!copy) throw new Error('out of memory for a picture')
  return copy
}

/** Bytes of a frame's planes as they lie in memory. */
function bytesOf(frame: Frame): number {
  return (frame.data ?? []).reduce((sum, plane) => sum + plane.byteLength, 0)
}
