import type { Trunk } from '../bodyMotion.ts'
import { curve } from '../curve.ts'
import { add, along, cross, ease, mix, scale, squareTo, unit, type Vec } from '../vec.ts'
import { loft, materials, tube, type Mesh, type Ring } from './mesh.ts'
import type { Outfit } from './outfit.ts'

/** The trunk's outline, metres at a stature of 1.8: share of the way hips to shoulders, half width, front, back, whole outline forward. */
const outline: readonly (readonly [number, number, number, number, number])[] = [
  [-0.25, 0.035, 0.04, 0.05, -0.014],
  [-0.21, 0.065, 0.066, 0.085, -0.016],
  [-0.13, 0.125, 0.092, 0.118, -0.014],
  [-0.02, 0.172, 0.103, 0.128, -0.008],
  [0.1, 0.166, 0.107, 0.11, 0.002],
  [0.2, 0.154, 0.109, 0.094, 0.01],
  [0.35, 0.148, 0.109, 0.09, 0.012],
  [0.5, 0.155, 0.113, 0.099, 0.006],
  [0.65, 0.168, 0.12, 0.11, 0],
  [0.78, 0.178, 0.117, 0.116, -0.006],
  [0.88, 0.178, 0.1, 0.112, -0.01],
  [0.96, 0.16, 0.081, 0.098, -0.012],
  [1.02, 0.122, 0.068, 0.08, -0.01],
  [1.07, 0.084, 0.061, 0.066, -0.004],
  [1.11, 0.066, 0.058, 0.058, 0],
]
const column = (i: 1 | 2 | 3 | 4) => curve(outline.map((row) => ({ t: row[0], x: row[i] })))
const halfAt = column(1)
const frontAt = column(2)
const backAt = column(3)
const forwardAt = column(4)
const beltLow = 0.17
const beltHigh = 0.235

/** Pelvis in trousers, belt, shirt, collar, and the yoke that carries the shirt out to the arms. */
export function buildTorso(
  mesh: Mesh,
  trunk: Trunk,
  leadShoulder: Vec,
  trailShoulder: Vec,
  outfit: Outfit,
  trunkLength: number,
  k: number,
): void {
  const girdle = unit(add(scale(leadShoulder, 1), scale(trailShoulder, -1)))
  const ringAt = (s: number, grow: number): Ring => {
    const w = ease(-0.05, 0.8, s)
    const up = unit(mix(trunk.pelvis.up, trunk.thorax.up, ease(-0.2, 0.35, s)))
    const rough = mix(mix(trunk.pelvis.lead, trunk.thorax.lead, w), girdle, 0.55 * ease(0.75, 1, s))
    const lead = squareTo(rough, up)
    const ahead = cross(lead, up)
    // Below the hips the outline follows the pelvis, above them the spine; the two meet in the hips' middle.
    const centre = s < 0 ? along(trunk.hips, trunk.pelvis.up, s * trunkLength) : along(trunk.hips, trunk.thorax.up, s * trunkLength)
    const build =
      1 +
      (outfit.hipBuild - 1) * (1 - ease(0, 0.3, s)) +
      (outfit.waistBuild - 1) * ease(0, 0.3, s) * (1 - ease(0.4, 0.75, s)) +
      (outfit.shoulderBuild - 1) * ease(0.4, 0.75, s)
    return {
      centre: along(centre, ahead, forwardAt(s) * k),
      across: lead,
      ahead,
      half: halfAt(s) * k * build + grow,
      front: frontAt(s) * k * build + grow,
      back: backAt(s) * k * build + grow,
    }
  }
  const span = (from: number, to: number, n: number) => Array.from({ length: n + 1 }, (_, i) => from + ((to - from) * i) / n)
  const dress = (from: number, to: number, n: number, grow: (s: number) => number) => {
    const at = span(from, to, n)
    return {
      rings: at.map((s) => ringAt(s, grow(s))),
      extraAt: (angle: number, r: number): Vec => [Math.abs(angle - Math.PI), at[r]! * trunkLength, 1],
    }
  }
  const lower = dress(-0.25, beltLow, 12, () => 0)
  loft(mesh, lower.rings, materials.trousers, { round: 36, corner: 2.25, extraAt: lower.extraAt })
  const belt = dress(beltLow - 0.005, beltHigh - 0.015, 2, () => 0.004 * k)
  loft(mesh, belt.rings, materials.belt, { round: 40, corner: 2.25, extraAt: (angle) => [angle, 0, 0] })
  // The shirt is tucked in and blouses a little over the belt.
  const upper = dress(
    beltLow + 0.02,
    1.11,
    26,
    (s) => (0.001 + 0.012 * ease(0.2, 0.27, s) * (1 - ease(0.3, 0.55, s)) + 0.004 * ease(0.3, 0.5, s)) * k,
  )
  loft(mesh, upper.rings, materials.shirt, { round: 40, corner: 2.3, extraAt: upper.extraAt })
  // Yoke: slopes from the neck to each shoulder.
  const neck = along(along(trunk.shoulders, trunk.thorax.up, 0.018 * k), trunk.thorax.front, -0.012 * k)
  for (const shoulder of [leadShoulder, trailShoulder]) {
    const point = along(shoulder, trunk.thorax.up, -0.004 * k)
    tube(
      mesh,
      [0, 0.25, 0.5, 0.75, 1].map((u) => ({
        at: add(mix(neck, point, u), scale(trunk.thorax.up, -0.008 * Math.sin(Math.PI * u) * k)),
        half: (0.058 + 0.006 * u) * k,
        deep: (0.064 - 0.002 * u) * k,
      })),
      trunk.thorax.front,
      materials.shirt,
      { round: 24, extraAt: (angle, r) => [Math.abs(angle - Math.PI), 0.4 + r * 0.02, 2] },
    )
  }
  buildCollar(mesh, trunk, k * (outfit.ponytail ? 0.92 : 1))
}

function buildCollar(mesh: Mesh, trunk: Trunk, k: number): void {
  const up = unit(add(trunk.thorax.up, scale(trunk.thorax.front, 0.22)))
  const lead = squareTo(trunk.thorax.lead, up)
  const ahead = cross(lead, up)
  const base = along(trunk.shoulders, trunk.thorax.up, 0.03 * k)
  const rings: Ring[] = [
    [0, 0.079],
    [0.012, 0.0745],
    [0.028, 0.069],
    [0.036, 0.0675],
    [0.034, 0.0645],
  ].map(([h, r]) => ({
    centre: along(base, up, h! * k),
    across: lead,
    ahead,
    half: r! * k,
    front: r! * k * 1.02,
    back: r! * k,
  }))
  loft(mesh, rings, materials.shirt, { round: 32, extraAt: (angle, r) => [Math.abs(angle - Math.PI), 0.6 + r * 0.01, 3] })
}
