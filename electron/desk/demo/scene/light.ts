import type { Mesh } from '../figure/mesh.ts'
import { cross, squareTo, unit, type Vec } from '../vec.ts'
import { Projected, rasterise, Samples } from './raster.ts'

/** Toward the sun: over the filming side, so that both views see a lit player. */
export const sun: Vec = unit([-0.42, 0.83, 0.5])

const size = 640
const span = 3.4
const axisU: Vec = squareTo([1, 0, 0], sun)
const axisV: Vec = cross(sun, axisU)
const perMetre = size / span
const row = (v: Vec, k: number, shift: number): number[] => [v[0] * k, v[1] * k, v[2] * k, shift]
// The middle of the map lies at the player's middle.
const middle: Vec = [0, 0.95, 0.2]
const dotMiddle = (v: Vec) => v[0] * middle[0] + v[1] * middle[1] + v[2] * middle[2]
const matrix = [
  row(axisU, perMetre, size / 2 - dotMiddle(axisU) * perMetre),
  row(axisV, perMetre, size / 2 - dotMiddle(axisV) * perMetre),
  row(sun, 1, 8),
]

/** What the sun sees: the nearest body along each of its rays, so that limbs and ground can ask whether something stands before them. */
export class SunMap {
  readonly #samples = new Samples()
  readonly #projected = new Projected()
  begin(): void {
    this.#samples.place(0, 0, size / 2, size / 2)
  }

  cast(mesh: Mesh): void {
    this.#projected.fill(mesh, matrix, true, 1)
    rasterise(mesh, this.#projected, this.#samples)
  }

  /** Share of the sun that reaches a point, 0 to 1; `bias` in metres keeps a surface from shading itself. */
  reach(x: number, y: number, z: number, bias: number): number {
    const [u, v, w] = matrix as [number[], number[], number[]]
    const fx = u[0]! * x + u[1]! * y + u[2]! * z + u[3]! - 0.5
    const fy = v[0]! * x + v[1]! * y + v[2]! * z + v[3]! - 0.5
    const depth = w[0]! * x + w[1]! * y + w[2]! * z + w[3]! + bias
    const x0 = Math.floor(fx)
    const y0 = Math.floor(fy)
    if (x0 < 1 || y0 < 1 || x0 > size - 3 || y0 > size - 3) return 1
    const { near, first, last } = this.#samples
    if (x0 + 2 < Math.min(first[y0]!, first[y0 + 1]!) && x0 + 2 < Math.min(first[y0 - 1]!, first[y0 + 2]!)) return 1
    if (x0 - 1 > Math.max(last[y0]!, last[y0 + 1]!) && x0 - 1 > Math.max(last[y0 - 1]!, last[y0 + 2]!)) return 1
    const tx = fx - x0
    const ty = fy - y0
    let lit = 0
    // Three by three cells with the outer ones weighted by how far the point lies into them.
    for (let j = -1; j <= 2; j++) {
      const wy = j === -1 ? 1 - ty : j === 2 ? ty : 1
      const base = (y0 + j) * size + x0
      if (near[base - 1]! <= depth) lit += wy * (1 - tx)
      if (near[base]! <= depth) lit += wy
      if (near[base + 1]! <= depth) lit += wy
      if (near[base + 2]! <= depth) lit += wy * tx
    }
    return lit / 9
  }
}

/** Linear light to an 8-bit picture: the sRGB curve with a soft shoulder, from a table. */
const steps = 4096
const table = new Uint8Array(steps + 1)
for (let i = 0; i <= steps; i++) {
  const x = (i / steps) * 2
  const shouldered = x < 0.6 ? x : 0.6 + 0.4 * (1 - Math.exp(-(x - 0.6) / 0.4))
  const s = shouldered <= 0.0031308 ? 12.92 * shouldered : 1.055 * shouldered ** (1 / 2.4) - 0.055
  table[i] = Math.round(255 * Math.min(1, s))
}
export function shown(linear: number): number {
  return table[linear <= 0 ? 0 : linear >= 2 ? steps : (linear * (steps / 2)) | 0]!
}
