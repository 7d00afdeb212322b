import { curve } from '../curve.ts'
import { add, along, clamp01, cross, ease, fromFrame, mix, scale, squareTo, type Frame, type Vec } from '../vec.ts'
import { ellipsoid, loft, materials, tube, type Mesh, type Ring } from './mesh.ts'
import type { Outfit } from './outfit.ts'

/** A head from above the chin to the crown, in metres for a stature of 1.8, from the ears' middle: height, half width, front, back. */
const profile: readonly (readonly [number, number, number, number])[] = [
  [-0.115, 0.01, 0.08, -0.064],
  [-0.111, 0.027, 0.089, -0.036],
  [-0.099, 0.042, 0.0945, -0.006],
  [-0.078, 0.054, 0.0945, 0.026],
  [-0.05, 0.063, 0.093, 0.05],
  [-0.02, 0.069, 0.093, 0.074],
  [0.01, 0.0735, 0.0905, 0.09],
  [0.035, 0.0755, 0.094, 0.097],
  [0.06, 0.075, 0.092, 0.098],
  [0.085, 0.0685, 0.08, 0.088],
  [0.105, 0.054, 0.059, 0.068],
  [0.119, 0.033, 0.035, 0.041],
  [0.126, 0.008, 0.009, 0.01],
]
const [half, front, back] = [1, 2, 3].map((column) => curve(profile.map((row) => ({ t: row[0], x: row[column]! })))) as [
  (y: number) => number,
  (y: number) => number,
  (y: number) => number,
]

/** Where hair grows: 0 bare to 1 covered, from the angle round the head (a quarter turn is the front) and the height. */
export function hairCover(angle: number, y: number, long: boolean): number {
  const s = Math.sin(angle)
  const line = s > 0 ? 0.018 + 0.055 * s ** 0.7 : 0.018 - (long ? 0.085 : 0.09) * Math.min(1, -s * 1.6)
  return ease(line - 0.006, line + 0.01, y)
}

/** Nose, brow, eye sockets and lips: how far the front of the face stands out from its oval. */
function relief(x: number, y: number): number {
  const bridge = clamp01((0.014 - y) / 0.048)
  const nose = y > -0.05 ? 0.026 * bridge ** 1.15 * Math.exp(-((x / (0.0075 + 0.006 * bridge)) ** 2)) * ease(-0.049, -0.036, y) : 0
  const socket = -0.0075 * Math.exp(-(((Math.abs(x) - 0.031) / 0.014) ** 2) - ((y - 0.007) / 0.011) ** 2)
  const brow = 0.0035 * Math.exp(-(((Math.abs(x) - 0.026) / 0.022) ** 2) - ((y - 0.027) / 0.008) ** 2)
  const lips = 0.0045 * Math.exp(-((x / 0.02) ** 2) - ((y + 0.064) / 0.009) ** 2)
  const chin = 0.004 * Math.exp(-((x / 0.016) ** 2) - ((y + 0.096) / 0.011) ** 2)
  return nose + socket + brow + lips + chin
}

/** Head, ears, hair or cap, neck. `own` coordinates of the face (its `extra`) are in metres for a stature of 1.8. */
export function buildHead(mesh: Mesh, head: Vec, skull: Frame, shoulders: Vec, thorax: Frame, outfit: Outfit, k: number): void {
  const world = (v: Vec): Vec => add(head, scale(fromFrame(skull, v), k))
  const steps = 32
  const heights = Array.from({ length: steps + 1 }, (_, i) => {
    const u = i / steps
    return -0.115 + 0.241 * (u + 0.06 * Math.sin(2 * Math.PI * u) * -1)
  })
  const own: Vec[][] = []
  const angleAt = (f: number) => 2 * Math.PI * f + 0.42 * Math.cos(2 * Math.PI * f)
  const capped = outfit.cap !== null
  const rings: Ring[] = heights.map((y) => ({
    centre: world([0, y, 0]),
    across: skull.lead,
    ahead: skull.front,
    half: k,
    front: k,
    back: k,
  }))
  const round = 60
  const point = (angle: number, ring: number): Vec => {
    const row = (own[ring] ??= [])
    const key = Math.round(angle * 1e4)
    const found = row[key]
    if (found) return found
    const y = heights[ring]!
    const c = Math.cos(angle)
    const s = Math.sin(angle)
    const x = Math.sign(c) * Math.abs(c) ** 0.92 * half(y)
    let z = s > 0 ? s ** 0.92 * front(y) : -(Math.abs(s) ** 0.92) * back(y)
    // Rings near the chin start in front of the ears.
    if (back(y) < 0) z = (front(y) - back(y)) / 2 + (Math.sign(s) * Math.abs(s) ** 0.92 * (front(y) + back(y))) / 2
    if (s > 0.2) z += relief(x, y) * clamp01((s - 0.2) * 3)
    const cover = capped ? ease(0.05, 0.058, y + (s < 0 ? 0.018 * -s : 0)) : 0
    const hair = hairCover(angle, y, outfit.ponytail)
    const out = 1 + Math.max(cover * 0.11, hair * (capped && y > 0.05 ? 0.05 : outfit.ponytail ? 0.045 : 0.075))
    return (row[key] = [x * out, y > 0.06 ? 0.06 + (y - 0.06) * (1 + (out - 1) * 1.4) : y, z * out])
  }
  loft(mesh, rings, materials.face, {
    round,
    angleAt,
    push: (angle, ring) => world(point(angle, ring)),
    // Height and angle tell skin from hair; the painter reads the unpushed height.
    extraAt: (angle, ring) => {
      const p = point(angle, ring)
      return [p[0], heights[ring]!, p[2]]
    },
  })
  for (const side of [1, -1] as const) {
    const at = world([side * 0.0765, 0.002, -0.008])
    ellipsoid(
      mesh,
      at,
      skull.lead,
      squareTo(along(skull.up, skull.front, -0.2), skull.lead),
      cross(skull.lead, squareTo(along(skull.up, skull.front, -0.2), skull.lead)),
      [0.012 * k, 0.031 * k, 0.018 * k],
      materials.skin,
      12,
    )
  }
  if (capped) buildBrim(mesh, world, skull, k)
  if (outfit.ponytail) {
    const hang = (n: number): Vec =>
      add(world([0, 0.045, -0.1]), add(scale(skull.front, -0.02 * n * k), add([0, -0.034 * n * k, 0], scale(skull.up, -0.012 * n * k))))
    tube(
      mesh,
      [0, 1, 2, 3, 4].map((n) => ({ at: hang(n), half: (0.018 + 0.012 * Math.sin((n / 4) * 2.6)) * k })),
      skull.front,
      materials.hair,
      { round: 14 },
    )
  }
  // Neck: from inside the collar to under the jaw.
  const nape = world([0, -0.045, -0.012])
  const root = add(shoulders, scale(thorax.front, -0.004 * k))
  tube(
    mesh,
    [0, 0.3, 0.6, 1].map((u) => ({
      at: mix(root, nape, u),
      half: (0.058 - 0.006 * u) * k * (outfit.ponytail ? 0.88 : 1),
      deep: (0.06 - 0.004 * u) * k * (outfit.ponytail ? 0.88 : 1),
    })),
    skull.front,
    materials.skin,
    { round: 20 },
  )
}

function buildBrim(mesh: Mesh, world: (v: Vec) => Vec, skull: Frame, k: number): void {
  const start = mesh.vertices
  const rows = 6
  const columns = 18
  mesh.begin()
  for (let r = 0; r <= rows; r++)
    for (let c = 0; c <= columns; c++) {
      const a = (c / columns) * Math.PI
      const u = r / rows
      const reach = 0.078 + 0.056 * u * Math.sin(a) ** 0.7
      const x = Math.cos(a) * (0.078 + 0.004 * u)
      const z = 0.018 + Math.sin(a) * reach
      const p = world([x, 0.064 - 0.014 * u * Math.sin(a) - 0.016 * (x / 0.08) ** 2, z])
      mesh.vertex(p, [0, 0, 0])
      mesh.vertex(along(p, skull.up, -0.004 * k), [0, 1, 0])
    }
  const at = (r: number, c: number, below: 0 | 1) => start + 2 * (r * (columns + 1) + c) + below
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      mesh.face(at(r, c, 0), at(r, c + 1, 0), at(r + 1, c, 0), materials.cap)
      mesh.face(at(r, c + 1, 0), at(r + 1, c + 1, 0), at(r + 1, c, 0), materials.cap)
      mesh.face(at(r, c, 1), at(r + 1, c, 1), at(r, c + 1, 1), materials.cap)
      mesh.face(at(r, c + 1, 1), at(r + 1, c, 1), at(r + 1, c + 1, 1), materials.cap)
    }
  mesh.end()
}
