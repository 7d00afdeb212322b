import type { Planes } from './planes.ts'

/** What one plane had before something was laid over it, sample by sample in the order of laying. */
export class CoveredPlane {
  #count = 0
  #at = new Uint32Array(1 << 12)
  #was = new Uint8Array(1 << 12)

  /** Makes sure of room for `more` notes: note() does not look. */
  reserve(more: number): void {
    const wanted = this.#count + more
    if (wanted <= this.#at.length) return
    const size = Math.max(wanted, this.#at.length * 2)
    const [at, was] = [new Uint32Array(size), new Uint8Array(size)]
    at.set(this.#at)
    was.set(this.#was)
    this.#at = at
    this.#was = was
  }

  note(at: number, was: number): void {
    this.#at[this.#count] = at
    this.#was[this.#count++] = was
  }

  /** Puts back what was noted, last first, and forgets it. */
  restore(data: Buffer): void {
    const [at, was] = [this.#at, this.#was]
    for (let i = this.#count - 1; i >= 0; i--) data[at[i]!] = was[i]!
    this.#count = 0
  }
}

/** What lies under the ink of one picture, so that the ink can be taken off again without a clean copy of it all. */
export class Covered {
  readonly planes = [new CoveredPlane(), new CoveredPlane(), new CoveredPlane()] as const

  lift(from: Planes): void {
    this.planes.forEach((plane, i) => plane.restore(from.data[i]!))
  }
}
