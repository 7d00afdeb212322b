/** Anything decoded that must be given back by hand: a VideoFrame, or its stand-in in a test. */
export interface Closable {
  close(): void
}

/**
 * Decoded pictures by frame number, bounded in bytes. What goes first is decided by whoever owns the cache, since only
 * it knows where the playhead is going. Whatever leaves the cache is closed.
 */
export class FrameCache<T extends Closable> {
  readonly #held = new Map<number, { picture: T, bytes: number }>()
  #budget: number
  #bytes = 0
  #peak = 0

  /** @param budget bytes of pictures that may be held between calls */
  constructor(budget: number) {
    this.#budget = budget
  }

  get bytes(): number { return this.#bytes }
  /** The most bytes held at once so far, measured after each call. */
  get peak(): number { return this.#peak }
  get size(): number { return this.#held.size }
  get budget(): number { return this.#budget }

  has(index: number): boolean { return this.#held.has(index) }

  /** Borrowed: the cache still owns it. */
  get(index: number): T | undefined { return this.#held.get(index)?.picture }

  /**
   * Takes the picture over, then lets go of the costliest ones until the budget holds.
   * @param cost how little a frame is worth keeping; the highest goes first
   */
  put(index: number, picture: T, bytes: number, cost: (index: number) => number): void {
    this.delete(index)
    this.#held.set(index, { picture, bytes })
    this.#bytes += bytes
    this.#trim(cost)
    this.#peak = Math.max(this.#peak, this.#bytes)
  }

  /** Holds so many bytes from now on: fewer where a decoder that lends out a fixed pool of pictures stalls. */
  resize(budget: number, cost: (index: number) => number): void {
    this.#budget = budget
    this.#trim(cost)
  }

  delete(index: number): void {
    const found = this.#held.get(index)
    if (!found) return
    this.#held.delete(index)
    this.#bytes -= found.bytes
    found.picture.close()
  }

  clear(): void {
    for (const index of this.#held.keys()) this.delete(index)
  }

  #trim(cost: (index: number) => number): void {
    while (this.#bytes > this.#budget && this.#held.size > 0) {
      let worst = -1
      let most = -Infinity
      for (const index of this.#held.keys()) {
        const price = cost(index)
        if (price > most) [worst, most] = [index, price]
      }
      this.delete(worst)
    }
  }
}
