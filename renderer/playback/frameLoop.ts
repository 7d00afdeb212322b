/** What the loop needs of a window; a test turns the crank itself. */
export interface FrameHost {
  requestAnimationFrame(callback: (now: number) => void): number
  cancelAnimationFrame(handle: number): void
}

/**
 * One animation-frame loop for all that moves in a window. It runs while a step says so and stands still otherwise.
 */
export class FrameLoop {
  #steps: readonly ((now: number) => boolean)[] = []
  readonly #host: FrameHost
  #handle: number | null = null
  #ended = false

  constructor(host: FrameHost = globalThis as unknown as FrameHost) {
    this.#host = host
  }

  /**
   * Adds a step, run in the order added. `now` is the animation frame's time in milliseconds; true asks for another frame.
   * Returns what takes the step off again.
   */
  add(step: (now: number) => boolean): () => void {
    this.#steps = [...this.#steps, step]
    return () => { this.#steps = this.#steps.filter((other) => other !== step) }
  }

  /** Has the steps run at the next animation frame. Bound, so that it can be handed on. */
  readonly wake = (): void => {
    if (!this.#ended) this.#handle ??= this.#host.requestAnimationFrame(this.#run)
  }

  /** Ends the loop for good: what still comes in late wakes nothing. */
  end(): void {
    this.#ended = true
    if (this.#handle !== null) this.#host.cancelAnimationFrame(this.#handle)
    this.#handle = null
  }

  readonly #run = (now: number): void => {
    this.#handle = null
    let again = false
    for (const step of this.#steps) again = step(now) || again
    if (again) this.wake()
  }
}
