import type { Mesh } from '../figure/mesh.ts'

/** Samples across a pixel. */
export const perPixel = 2

/** A rectangle of pixels with, for each of its samples, the nearest triangle and how near it is (1 / distance, 0 for nothing). */
export class Samples {
  x0 = 0
  y0 = 0
  width = 0
  height = 0
  near = new Float32Array(0)
  triangle = new Int32Array(0)
  /** For each row of samples the first and the last that may hold something; an empty row has its first beyond its last. */
  first = new Int32Array(0)
  last = new Int32Array(0)

  /** Takes the pixels [x0, x1) x [y0, y1), empty. */
  place(x0: number, y0: number, x1: number, y1: number): void {
    this.#empty()
    this.x0 = x0
    this.y0 = y0
    this.width = Math.max(0, x1 - x0)
    this.height = Math.max(0, y1 - y0)
    const rows = this.height * perPixel
    const count = this.width * perPixel * rows
    if (count > this.near.length) {
      this.near = new Float32Array(count)
      this.triangle = new Int32Array(count)
    }
    if (rows > this.first.length) {
      this.first = new Int32Array(rows)
      this.last = new Int32Array(rows)
    }
    this.first.fill(this.width * perPixel, 0, rows)
    this.last.fill(-1, 0, rows)
  }

  /** Only what was touched is wiped: a club crosses its rectangle as a thin line. */
  #empty(): void {
    const wide = this.width * perPixel
    for (let y = 0; y < this.height * perPixel; y++)
      if (this.last[y]! >= 0) this.near.fill(0, y * wide + this.first[y]!, y * wide + this.last[y]! + 1)
  }
}

/** Vertices where the picture has them: x and y in samples, and nearness. */
export class Projected {
  x = new Float32Array(0)
  y = new Float32Array(0)
  near = new Float32Array(0)
  left = 0
  top = 0
  right = 0
  bottom = 0

  /** Projects by a 3 x 4 matrix given in pixels; with `flat` the third row is a depth, larger nearer, and nothing is divided. */
  fill(mesh: Mesh, m: readonly (readonly number[])[], flat: boolean, scale: number): void {
    if (mesh.vertices > this.x.length) {
      const size = mesh.position.length / 3
      this.x = new Float32Array(size)
      this.y = new Float32Array(size)
      this.near = new Float32Array(size)
    }
    const [a, b, c] = m as [readonly number[], readonly number[], readonly number[]]
    const [a0, a1, a2, a3] = a as [number, number, number, number]
    const [b0, b1, b2, b3] = b as [number, number, number, number]
    const [c0, c1, c2, c3] = c as [number, number, number, number]
    let left = Infinity,
      right = -Infinity,
      top = Infinity,
      bottom = -Infinity
    const p = mesh.position
    for (let i = 0, k = 0; i < mesh.vertices; i++, k += 3) {
      const px = p[k]!,
        py = p[k + 1]!,
        pz = p[k + 2]!
      const w = c0 * px + c1 * py + c2 * pz + c3
      const inverse = flat ? 1 : 1 / w
      const x = (a0 * px + a1 * py + a2 * pz + a3) * inverse * scale
      const y = (b0 * px + b1 * py + b2 * pz + b3) * inverse * scale
      this.x[i] = x
      this.y[i] = y
      this.near[i] = flat ? w : inverse
      if (x < left) left = x
      if (x > right) right = x
      if (y < top) top = y
      if (y > bottom) bottom = y
    }
    this.left = left
    this.right = right
    this.top = top
    this.bottom = bottom
  }
}

/** Fills samples with the triangles of a mesh; a sample belongs to the triangle its centre lies in, the nearest of all. */
export function rasterise(mesh: Mesh, at: Projected, into: Samples): void {
  const density = perPixel
  const { x: xs, y: ys, near: ns } = at
  const width = into.width * density
  const height = into.height * density
  const ox = into.x0 * density
  const oy = into.y0 * density
  const { near, triangle, first, last } = into
  const t = mesh.triangle
  for (let i = 0, k = 0; i < mesh.triangles; i++, k += 3) {
    const a = t[k]!,
      b = t[k + 1]!,
      c = t[k + 2]!
    const ax = xs[a]! - ox - 0.5,
      ay = ys[a]! - oy - 0.5
    const bx = xs[b]! - ox - 0.5,
      by = ys[b]! - oy - 0.5
    const cx = xs[c]! - ox - 0.5,
      cy = ys[c]! - oy - 0.5
    const area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    if (area === 0) continue
    const x0 = Math.max(0, Math.ceil(Math.min(ax, bx, cx)))
    const x1 = Math.min(width - 1, Math.floor(Math.max(ax, bx, cx)))
    const y0 = Math.max(0, Math.ceil(Math.min(ay, by, cy)))
    const y1 = Math.min(height - 1, Math.floor(Math.max(ay, by, cy)))
    if (x1 < x0 || y1 < y0) continue
    const k1 = 1 / area
    const na = ns[a]!
    const nb = ns[b]! - na
    const nc = ns[c]! - na
    const ub = (cy - ay) * k1,
      vb = -(cx - ax) * k1
    const uc = -(by - ay) * k1,
      vc = (bx - ax) * k1
    for (let y = y0; y <= y1; y++) {
      let index = y * width + x0
      let wb = (x0 - ax) * ub + (y - ay) * vb
      let wc = (x0 - ax) * uc + (y - ay) * vc
      if (x0 < first[y]!) first[y] = x0
      if (x1 > last[y]!) last[y] = x1
      for (let x = x0; x <= x1; x++, index++, wb += ub, wc += uc) {
        if (wb < 0 || wc < 0 || wb + wc > 1) continue
        const n = na + wb * nb + wc * nc
        if (n > near[index]!) {
          near[index] = n
          triangle[index] = i
        }
      }
    }
  }
}
