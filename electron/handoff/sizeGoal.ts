import { DeskError } from '../../shared/contract/errors.ts'
import { handoffCrf } from './handoffVideo.ts'

/** Coarser than this is no use to anyone. */
const lastCrf = 38

/** x264 halves its bits with every six steps of crf (its own rule of thumb; measured here between 5.4 and 6.8 on filmed swings). */
const stepsToHalf = 6

/** The container's own share: per picture its size, time and order, per packet of sound its size, and the boxes around. */
const overheadBytes = (frames: number, fps: number): number => 24_000 + frames * 20 + Math.ceil((frames / fps) * (48_000 / 1024)) * 8

/**
 * Finds the quality that brings a file under a number of bytes. The first try is the usual quality; each try that is too large
 * says how much coarser the next must be, and one that is plainly going to be too large is broken off early.
 */
export class SizeGoal {
  readonly #goalBytes: number
  readonly #budget: number
  readonly #frames: number
  #crf: number = handoffCrf
  #tries = 0
  #madeBytes = 0
  #madeFrames = 0
  #broken = false

  /** Throws a DeskError where the sound alone is too large. */
  constructor(goalBytes: number, soundBytes: number, frames: number, fps: number) {
    this.#goalBytes = goalBytes
    this.#frames = frames
    this.#budget = goalBytes - soundBytes - overheadBytes(frames, fps)
    if (this.#budget < frames * 40) throw this.#impossible()
  }

  get crf(): number {
    return this.#crf
  }

  get step(): string {
    return this.#tries === 0 ? 'Drawing and encoding' : `Making it small enough, try ${this.#tries + 1}`
  }

  /** Hears what a segment takes; true where going on is no use. A fifth of the lesson has to be seen first. */
  outgrown(bytes: number, frames: number): boolean {
    this.#madeBytes += bytes
    this.#madeFrames += frames
    if (this.#madeFrames >= this.#frames / 5 && this.#projected() > this.#budget * 1.25) this.#broken = true
    return this.#broken
  }

  /** Whether all segments together are small enough; else the next try is set. Throws a DeskError where no try can be. */
  met(bytes: number): boolean {
    const total = this.#broken ? this.#projected() : bytes
    if (!this.#broken && total <= this.#budget) return true
    const steps = stepsToHalf * Math.log2(total / this.#budget)
    // A little more than the rule says, for it errs, and each try costs as much as the lesson.
    const next = Math.ceil((this.#crf + Math.max(0.5, steps * 1.04 + 0.3)) * 2) / 2
    if (this.#crf >= lastCrf || next > lastCrf + 8) throw this.#impossible()
    this.#crf = Math.min(lastCrf, next)
    this.#tries++
    this.#madeBytes = 0
    this.#madeFrames = 0
    this.#broken = false
    return false
  }

  #projected(): number {
    return this.#madeFrames === 0 ? 0 : (this.#madeBytes / this.#madeFrames) * this.#frames
  }

  #impossible(): DeskError {
    const mb = (this.#goalBytes / 1e6).toFixed(0)
    return new DeskError('bad-input', `This lesson cannot be brought under ${mb} MB and still be seen.`, {
      remedy: 'Hand it off at 720p or 30 a second, cut it shorter, or allow more megabytes.',
    })
  }
}
