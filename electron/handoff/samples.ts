import type { CoveredPlane } from './covered.ts'

/** Sparse samples of one plane: what to keep of the picture below (0 to 1) and what to add. */
export class Samples {
  #capacity = 1 << 14
  #count = 0
  #column = new Uint16Array(this.#capacity)
  #row = new Uint16Array(this.#capacity)
  #keep = new Float32Array(this.#capacity)
  #add = new Float32Array(this.#capacity)
  /** Places in a plane of this stride, reckoned when first laid. */
  #places = new Uint32Array(this.#capacity)
  #stride = 0

  get count(): number {
    return this.#count
  }

  clear(): void {
    this.#count = 0
    this.#stride = 0
  }

  push(column: number, row: number, keep: number, add: number): void {
    if (this.#count === this.#capacity) this.#grow()
    this.#column[this.#count] = column
    this.#row[this.#count] = row
    this.#keep[this.#count] = keep
    this.#add[this.#count++] = add
  }

  lay(data: Buffer, stride: number, covered: CoveredPlane | undefined): void {
    const count = this.#count
    if (count === 0) return
    const places = this.#placesFor(stride)
    covered?.note(data, places, count)
    const [keep, add] = [this.#keep, this.#add]
    for (let i = 0; i < count; i++) {
      const at = places[i]!
      data[at] = data[at]! * keep[i]! + add[i]! + 0.5
    }
  }

  #placesFor(stride: number): Uint32Array {
    if (stride === this.#stride) return this.#places
    if (this.#places.length < this.#capacity) this.#places = new Uint32Array(this.#capacity)
    const [places, column, row, count] = [this.#places, this.#column, this.#row, this.#count]
    for (let i = 0; i < count; i++) places[i] = row[i]! * stride + column[i]!
    this.#stride = stride
    return places
  }

  #grow(): void {
    this.#capacity *= 2
    const wider = <T extends Uint16Array | Float32Array>(old: T, next: T): T => {
      next.set(old)
      return next
    }
    this.#column = wider(this.#column, new Uint16Array(this.#capacity))
    this.#row = wider(this.#row, new Uint16Array(this.#capacity))
    this.#keep = wider(this.#keep, new Float32Array(this.#capacity))
    this.#add = wider(this.#add, new Float32Array(this.#capacity))
  }
}
