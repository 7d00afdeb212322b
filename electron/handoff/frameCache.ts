import type { Frame } from 'node-av'

const bytesOf = (frame: Frame): number => frame.linesize.reduce((sum, line, plane) => sum + line * (plane === 0 ? frame.height : (frame.height + 1) >> 1), 0)

/** A frame of a cache that stays whole until it is let go, even if the cache drops it meanwhile. */
export interface HeldFrame extends Disposable {
  readonly frame: Frame
}

/** One frame of the cache. References to it are counted here: a frame's own copies cost the garbage collector dear. */
class Entry {
  readonly frame: Frame
  readonly bytes: number
  #holds = 1

  constructor(frame: Frame) {
    this.frame = frame
    this.bytes = bytesOf(frame)
  }

  hold(): HeldFrame {
    this.#holds++
    let held = true
    return {
      frame: this.frame,
      [Symbol.dispose]: () => {
        if (held) this.letGo()
        held = false
      },
    }
  }

  letGo(): void {
    if (--this.#holds === 0) this.frame.free()
  }
}

/** As many passing frames are kept whatever their size: two panes, once and mirrored. */
const fewest = 12

/**
 * Decoded frames of all clips of a render, least recently used out first, within a number of bytes. Frames of a clip that
 * plays on are wanted for a moment only and get a part of the room: memory that is used again and again is quick, and a
 * heap that grows keeps the garbage collector busy.
 */
export class FrameCache implements Disposable {
  readonly #limit: number
  readonly #passingLimit: number
  #bytes = 0
  #passingBytes = 0
  #passingCount = 0
  readonly #entries = new Map<string, { readonly entry: Entry; readonly passing: boolean }>()

  constructor(limit = 128 << 20) {
    this.#limit = limit
    this.#passingLimit = limit / 4
  }

  get limit(): number {
    return this.#limit
  }

  hold(key: string): HeldFrame | null {
    const known = this.#entries.get(key)
    if (!known) return null
    this.#entries.delete(key)
    this.#entries.set(key, known)
    return known.entry.hold()
  }

  /** Takes the frame over. */
  put(key: string, frame: Frame, passing: boolean): void {
    this.#drop(key)
    const entry = new Entry(frame)
    this.#entries.set(key, { entry, passing })
    this.#bytes += entry.bytes
    if (passing) {
      this.#passingBytes += entry.bytes
      this.#passingCount++
    }
    for (const [oldest, { passing: goes }] of this.#entries) {
      if (oldest === key || (this.#bytes <= this.#limit && (this.#passingBytes <= this.#passingLimit || this.#passingCount <= fewest))) break
      if (goes || this.#bytes > this.#limit) this.#drop(oldest)
    }
  }

  #drop(key: string): void {
    const known = this.#entries.get(key)
    if (!known) return
    const { entry, passing } = known
    this.#entries.delete(key)
    this.#bytes -= entry.bytes
    if (passing) {
      this.#passingBytes -= entry.bytes
      this.#passingCount--
    }
    entry.letGo()
  }

  [Symbol.dispose](): void {
    for (const key of this.#entries.keys()) this.#drop(key)
  }
}
