/**
 * How long work has still to go, from how much of it is done: the pace of the last stretch weighs as much as that of the whole,
 * and nothing is said in the first second or below two hundredths, where it would be a guess.
 */
export class TimeLeft {
  readonly #began: number
  #mark: { at: number; share: number }
  #pace = 0

  /** Times are milliseconds of any steady clock. */
  constructor(now: number) {
    this.#began = now
    this.#mark = { at: now, share: 0 }
  }

  /** Seconds to go at a time with a share (0 to 1) done, or null. */
  seconds(now: number, share: number): number | null {
    const elapsed = (now - this.#began) / 1000
    if (share >= 1) return 0
    if (elapsed < 1 || share < 0.02) return null
    if (now - this.#mark.at >= 500 && share > this.#mark.share) {
      const recent = ((share - this.#mark.share) * 1000) / (now - this.#mark.at)
      this.#pace = this.#pace === 0 ? recent : this.#pace * 0.7 + recent * 0.3
      this.#mark = { at: now, share }
    }
    const overall = share / elapsed
    const pace = this.#pace === 0 ? overall : (overall + this.#pace) / 2
    return Math.max(0, (1 - share) / pace)
  }
}
