/**
 * Where time comes from: seconds that only rise while something plays. Without an outside clock it is the animation
 * frame's own time, which is steadier than asking for the time in the middle of a frame; with sound, it is the sound.
 */
export class Clock {
  #outside: (() => number) | null = null
  #now = 0
  readonly #precise: () => number

  /** @param precise seconds now on the time base of animation frames; a test brings its own */
  constructor(precise: () => number = () => performance.now() / 1000) {
    this.#precise = precise
  }

  /** Seconds from the outside, such as the sound's; null gives the clock back to the window. */
  use(outside: (() => number) | null): void {
    this.#outside = outside
  }

  get isOutside(): boolean { return this.#outside !== null }

  /** To be called once at the head of each animation frame, with its time in milliseconds. */
  tick(frameMs: number): void {
    this.#now = frameMs / 1000
  }

  /** Seconds at this very instant: what an event that comes between two animation frames is stamped with. */
  instant(): number {
    return this.#outside ? this.#outside() : this.#precise()
  }

  /** Seconds, the same throughout one animation frame unless the clock is outside. */
  get seconds(): number {
    return this.#outside ? this.#outside() : this.#now
  }
}
