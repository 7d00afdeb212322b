import type { Frame } from 'node-av'
import type { Rect, Size } from '../../shared/picture/layout.ts'
import { pictureChain } from '../media/filterChain.ts'

const kept = 6

/**
 * Parts of a picture as frames of their own over the same memory, so that FFmpeg can copy into them and out of them in one
 * go: row by row from here costs several times as much. Only what is asked for again and again is made.
 */
export class Windows implements Disposable {
  readonly #frame: Frame
  readonly #size: Size
  readonly #made = new Map<string, Frame>()
  #wanted = new Map<string, Rect>()
  #wantedBefore = new Map<string, Rect>()

  /** @param size of the frame's memory: the frame itself may be set to a smaller one at times */
  constructor(frame: Frame, size: Size) {
    this.#frame = frame
    this.#size = size
  }

  /** The frame over this part, whose sides are even, or null where there is none (yet). */
  get(part: Rect): Frame | null {
    const key = `${part.width}:${part.height}:${part.x}:${part.y}`
    const known = this.#made.get(key)
    if (known) {
      this.#made.delete(key)
      this.#made.set(key, known)
      return known
    }
    this.#wanted.set(key, part)
    return null
  }

  /** Makes what was asked for since the last call and before it. */
  async prepare(): Promise<void> {
    for (const key of this.#wanted.keys()) if (this.#wantedBefore.has(key)) await this.#make(key)
    this.#wantedBefore = this.#wanted
    this.#wanted = new Map()
  }

  async #make(key: string): Promise<void> {
    const frame = this.#frame
    const { width, height } = frame
    frame.width = this.#size.width
    frame.height = this.#size.height
    try {
      using chain = await pictureChain(`crop=${key}:exact=1`, {
        ...this.#size, format: frame.format, timeBase: { num: 1, den: 1 }, colorSpace: frame.colorSpace, colorRange: frame.colorRange,
      })
      await chain.push(frame, (window) => void this.#made.set(key, window))
    } finally {
      frame.width = width
      frame.height = height
    }
    for (const [oldest, window] of this.#made) {
      if (this.#made.size <= kept) break
      this.#made.delete(oldest)
      window.free()
    }
  }

  [Symbol.dispose](): void {
    for (const window of this.#made.values()) window.free()
    this.#made.clear()
  }
}
