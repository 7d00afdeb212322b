import { add, along, cross, scale, sub, unit, type Vec } from '../vec.ts'

/** What a triangle is made of; the painter knows how each takes the light. */
export const materials = {
  skin: 0,
  face: 1,
  shirt: 2,
  trousers: 3,
  belt: 4,
  shoe: 5,
  sole: 6,
  glove: 7,
  hair: 8,
  cap: 9,
  shaft: 10,
  grip: 11,
  iron: 12,
  ball: 13,
  buckle: 14,
} as const
export type Material = (typeof materials)[keyof typeof materials]

/** An outline square to a path: centre, two unit axes and how far it goes along them (the second forward and backward apart). */
export interface Ring {
  readonly centre: Vec
  readonly across: Vec
  readonly ahead: Vec
  readonly half: number
  readonly front: number
  readonly back: number
}

/** Triangles in flat arrays, refilled for each picture so that nothing is allocated while filming. `extra` is a point in the part's own axes. */
export class Mesh {
  position = new Float32Array(3 * 4096)
  normal = new Float32Array(3 * 4096)
  extra = new Float32Array(3 * 4096)
  triangle = new Int32Array(3 * 8192)
  material = new Uint8Array(8192)
  part = new Uint8Array(8192)
  vertices = 0
  triangles = 0
  #parts = 0
  #firstVertex = 0
  #firstTriangle = 0

  clear(): void {
    this.vertices = 0
    this.triangles = 0
    this.#parts = 0
  }

  begin(): void {
    this.#parts++
    this.#firstVertex = this.vertices
    this.#firstTriangle = this.triangles
  }

  vertex(p: Vec, extra: Vec): number {
    const i = this.vertices++
    if (3 * i + 3 > this.position.length) {
      this.position = grown(this.position)
      this.normal = grown(this.normal)
      this.extra = grown(this.extra)
    }
    this.position.set(p, 3 * i)
    this.extra.set(extra, 3 * i)
    return i
  }

  face(a: number, b: number, c: number, material: Material): void {
    const i = this.triangles++
    if (3 * i + 3 > this.triangle.length) {
      const triangle = new Int32Array(this.triangle.length * 2)
      triangle.set(this.triangle)
      this.triangle = triangle
      this.material = grownBytes(this.material)
      this.part = grownBytes(this.part)
    }
    this.triangle[3 * i] = a
    this.triangle[3 * i + 1] = b
    this.triangle[3 * i + 2] = c
    this.material[i] = material
    this.part[i] = this.#parts & 255
  }

  /** Normals of the part since `begin`: each vertex takes its triangles' by their area, which rounds the part. */
  end(): void {
    const { position: p, normal: n, triangle: t } = this
    n.fill(0, 3 * this.#firstVertex, 3 * this.vertices)
    for (let i = 3 * this.#firstTriangle; i < 3 * this.triangles; i += 3) {
      const a = 3 * t[i]!
      const b = 3 * t[i + 1]!
      const c = 3 * t[i + 2]!
      const ux = p[b]! - p[a]!,
        uy = p[b + 1]! - p[a + 1]!,
        uz = p[b + 2]! - p[a + 2]!
      const vx = p[c]! - p[a]!,
        vy = p[c + 1]! - p[a + 1]!,
        vz = p[c + 2]! - p[a + 2]!
      const x = uy * vz - uz * vy,
        y = uz * vx - ux * vz,
        z = ux * vy - uy * vx
      for (const k of [a, b, c]) {
        n[k] = n[k]! + x
        n[k + 1] = n[k + 1]! + y
        n[k + 2] = n[k + 2]! + z
      }
    }
    for (let k = 3 * this.#firstVertex; k < 3 * this.vertices; k += 3) {
      const length = Math.hypot(n[k]!, n[k + 1]!, n[k + 2]!) || 1
      n[k] = n[k]! / length
      n[k + 1] = n[k + 1]! / length
      n[k + 2] = n[k + 2]! / length
    }
  }
}

function grown(from: Float32Array<ArrayBuffer>): Float32Array<ArrayBuffer> {
  const to = new Float32Array(from.length * 2)
  to.set(from)
  return to
}
function grownBytes(from: Uint8Array<ArrayBuffer>): Uint8Array<ArrayBuffer> {
  const to = new Uint8Array(from.length * 2)
  to.set(from)
  return to
}

/** How a loft is made: segments round, corner (2 is an ellipse, more is squarer), closed at the ends or open, and a push on each vertex. */
export interface LoftOptions {
  readonly round?: number
  readonly corner?: number
  readonly materialAt?: (ring: number) => Material
  /** Own-axes point of a vertex from its angle (radians, 0 at the lead side, a quarter turn at the front) and ring. */
  readonly extraAt?: (angle: number, ring: number) => Vec
  readonly push?: (angle: number, ring: number, point: Vec) => Vec
  readonly angleAt?: (fraction: number) => number
}

/** Skin over outlines: neighbours are joined, the ends closed by a point in the middle. */
export function loft(mesh: Mesh, rings: readonly Ring[], material: Material, options: LoftOptions = {}): void {
  const round = options.round ?? 20
  const power = 2 / (options.corner ?? 2)
  const start = mesh.vertices
  mesh.begin()
  rings.forEach((ring, r) => {
    for (let i = 0; i < round; i++) {
      const angle = options.angleAt ? options.angleAt(i / round) : (i / round) * 2 * Math.PI
      const c = Math.cos(angle)
      const s = Math.sin(angle)
      const x = Math.sign(c) * Math.abs(c) ** power * ring.half
      const z = Math.sign(s) * Math.abs(s) ** power * (s > 0 ? ring.front : ring.back)
      const p = along(along(ring.centre, ring.across, x), ring.ahead, z)
      mesh.vertex(options.push ? options.push(angle, r, p) : p, options.extraAt ? options.extraAt(angle, r) : [angle, r, 0])
    }
  })
  for (let r = 0; r + 1 < rings.length; r++) {
    const m = options.materialAt ? options.materialAt(r) : material
    for (let i = 0; i < round; i++) {
      const a = start + r * round + i
      const b = start + r * round + ((i + 1) % round)
      mesh.face(a, b, a + round, m)
      mesh.face(b, b + round, a + round, m)
    }
  }
  for (const [r, turn] of [
    [0, true],
    [rings.length - 1, false],
  ] as const) {
    const ring = rings[r]!
    const middle = mesh.vertex(
      along(ring.centre, ring.ahead, (ring.front - ring.back) / 2),
      options.extraAt ? options.extraAt(0, r) : [0, r, 0],
    )
    const m = options.materialAt ? options.materialAt(Math.min(r, rings.length - 2)) : material
    for (let i = 0; i < round; i++) {
      const a = start + r * round + i
      const b = start + r * round + ((i + 1) % round)
      if (turn) mesh.face(a, middle, b, m)
      else mesh.face(a, b, middle, m)
    }
  }
  mesh.end()
}

/** A point of a limb: how far from its centre line to the skin, sideways and front to back. */
export interface TubePoint {
  readonly at: Vec
  readonly half: number
  readonly deep?: number
}

/** A limb through points with a rounded end on each side; `ahead` says where its front is. */
export function tube(
  mesh: Mesh,
  points: readonly TubePoint[],
  ahead: Vec,
  material: Material,
  options: LoftOptions & { bluntEnd?: boolean } = {},
): void {
  const rings: Ring[] = []
  const n = points.length
  points.forEach((point, i) => {
    const before = points[Math.max(0, i - 1)]!.at
    const after = points[Math.min(n - 1, i + 1)]!.at
    const way = unit(sub(after, before))
    const across = unit(cross(ahead, way))
    const front = cross(way, across)
    const deep = point.deep ?? point.half
    const ringAt = (shift: number, k: number): Ring => ({
      centre: along(point.at, way, shift),
      across,
      ahead: front,
      half: point.half * k,
      front: deep * k,
      back: deep * k,
    })
    const ends = [
      [0.94, 0.34],
      [0.75, 0.66],
      [0.42, 0.9],
    ] as const
    if (i === 0) for (const [shift, k] of ends) rings.push(ringAt(-shift * point.half, k))
    rings.push(ringAt(0, 1))
    if (i === n - 1 && !options.bluntEnd) for (const [shift, k] of [...ends].reverse()) rings.push(ringAt(shift * point.half, k))
  })
  loft(mesh, rings, material, options)
}

/** A ball squashed along three axes. */
export function ellipsoid(mesh: Mesh, centre: Vec, across: Vec, up: Vec, ahead: Vec, size: Vec, material: Material, round = 14): void {
  const rings: Ring[] = []
  for (let i = 1; i < 9; i++) {
    const angle = (i / 9) * Math.PI
    const k = Math.sin(angle)
    rings.push({
      centre: add(centre, scale(up, -Math.cos(angle) * size[1])),
      across,
      ahead,
      half: size[0] * k,
      front: size[2] * k,
      back: size[2] * k,
    })
  }
  loft(mesh, rings, material, { round })
}
