/** How play went, in frames. */
export interface PlayedCounts {
  /** Drawn while due. */
  readonly shown: number
  /** Not drawn before the next one was due: passed over, or drawn after its deadline. */
  readonly dropped: number
  /** Of the dropped, those drawn all the same, too late. */
  readonly late: number
}

/**
 * Counts frames while a clip plays. A frame's deadline is the instant its successor is due; a frame that had no refresh
 * of the screen between the two counts as dropped as well.
 */
export class PlayedFrames {
  #due: number | null = null
  #met = false
  #shown = 0
  #dropped = 0
  #late = 0
  /** What was on the canvas at the refresh before, or null where that is of another run. */
  #drawn: number | null = null

  get counts(): PlayedCounts { return { shown: this.#shown, dropped: this.#dropped, late: this.#late } }

  /** A run begins or ends: what was due no longer is. */
  rest(): void {
    this.#due = null
    this.#drawn = null
  }

  reset(): void {
    this.rest()
    this.#shown = this.#dropped = this.#late = 0
  }

  /**
   * To be called once an animation frame after the paint.
   * @param due the frame the clock calls for
   * @param drawn the frame on the canvas, or null
   * @param stride frames from one that is shown to the next
   */
  record(due: number, drawn: number | null, stride: number): void {
    if (this.#due !== null && due !== this.#due) {
      if (!this.#met) this.#dropped++
      // Going round a loop is a step back; what lay between is not known and not counted.
      if (due > this.#due) this.#dropped += Math.max(0, Math.round((due - this.#due) / stride) - 1)
    }
    if (due !== this.#due) {
      this.#due = due
      this.#met = false
    }
    if (drawn === due && !this.#met) {
      this.#met = true
      this.#shown++
    } else if (drawn !== due && drawn !== this.#drawn && this.#drawn !== null) this.#late++
    this.#drawn = drawn
  }
}
