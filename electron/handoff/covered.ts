import type { Planes } from './planes.ts'

/** What one plane had before something was laid over it, sample by sample in the order of laying. */
export class CoveredPlane {
  #count = 0
  #at = new Uint32Array(1 << 14)
  #was = new Uint8Array(1 << 14)

  /** Notes what stands at the first `count` of these places. */
  note(data: Buffer, places: Uint32Array, count: number): void {
    this.#reserve(this.#count + count)
    this.#at.set(places.subarray(0, count), this.#count)
    const was = this.#was
    for (let i = 0, to = this.#count; i < count; i++, to++) was[to] = data[places[i]!]!
    this.#count += count
  }

  /** Puts back what was noted, last first, and forgets it. */
  restore(data: Buffer): void {
    const [at, was] = [this.#at, this.#was]
    for (let i = this.#count - 1; i >= 0; i--) data[at[i]!] = was[i]!
    this.#count = 0
  }

  #reserve(wanted: number): void {
    if (wanted <= this.#at.length) return
    const size = Math.max(wanted, this.#at.length * 2)
    const [at, was] = [new Uint32Array(size), new Uint8Array(size)]
    at.set(this.#at)
    was.set(this.#was)
    this.#at = at
    this.#was = was
  }
}

/** What lies under the ink of one picture, so that the ink can be taken off again without a clean copy of it all. */
export class Covered {
  readonly planes = [new CoveredPlane(), new CoveredPlane(), new CoveredPlane()] as const

  lift(from: Planes): void {
    this.planes.forEach((plane, i) => plane.restore(from.data[i]!))
  }
}
