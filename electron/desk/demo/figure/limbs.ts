import type { Arm, Leg, Pose } from '../motion.ts'
import { add, along, cross, dot, ease, mix, scale, squareTo, sub, unit, type Vec } from '../vec.ts'
import { ellipsoid, loft, materials, tube, type Material, type Mesh, type Ring, type TubePoint } from './mesh.ts'
import type { Outfit } from './outfit.ts'

/** Points along a bent limb, its joint rounded off by a curve that leaves the bones `soft` metres before it. */
function bent(root: Vec, joint: Vec, end: Vec, soft: number, shares: readonly number[], first: number, second: number): Vec[] {
  const whole = first + second
  return shares.map((share) => {
    const d = share * whole
    const from = first - soft
    const to = first + soft
    if (d <= from) return along(root, unit(sub(joint, root)), d)
    if (d >= to) return along(joint, unit(sub(end, joint)), d - first)
    const u = (d - from) / (to - from)
    const a = along(joint, unit(sub(root, joint)), soft)
    const b = along(joint, unit(sub(end, joint)), soft)
    return mix(mix(a, joint, u), mix(joint, b, u), u)
  })
}

/** Radius along an arm from the shoulder (0) over the elbow (.56) to the wrist (1), metres at 1.8. */
const armProfile: readonly (readonly [number, number])[] = [
  [0, 0.056],
  [0.08, 0.0565],
  [0.18, 0.053],
  [0.3, 0.048],
  [0.42, 0.044],
  [0.5, 0.041],
  [0.56, 0.0405],
  [0.63, 0.0435],
  [0.7, 0.0425],
  [0.8, 0.036],
  [0.9, 0.03],
  [1, 0.0275],
]
const legProfile: readonly (readonly [number, number])[] = [
  [0, 0.09],
  [0.08, 0.0945],
  [0.15, 0.0925],
  [0.22, 0.085],
  [0.32, 0.075],
  [0.42, 0.067],
  [0.5, 0.0625],
  [0.58, 0.0615],
  [0.66, 0.063],
  [0.76, 0.06],
  [0.86, 0.0555],
  [0.95, 0.055],
  [0.985, 0.0555],
]

export function buildArm(
  mesh: Mesh,
  arm: Arm,
  pose: Pose,
  outfit: Outfit,
  gloved: boolean,
  lengths: { upperArm: number; forearm: number },
  k: number,
): void {
  const { upperArm, forearm } = lengths
  const shares = armProfile.map((row) => row[0])
  const path = bent(arm.shoulder, arm.elbow, arm.wrist, 0.05 * k, shares, upperArm, forearm)
  const slim = outfit.ponytail ? 0.86 : 1
  const hand = unit(sub(arm.grip, arm.wrist))
  const bend = squareTo(pose.trunk.thorax.front, unit(sub(arm.wrist, arm.shoulder)))
  const points: TubePoint[] = path.map((at, i) => {
    const [share, radius] = armProfile[i]!
    const flat = ease(0.78, 1, share)
    return { at, half: radius * k * slim * (1 + 0.12 * flat), deep: radius * k * slim * (1 - 0.14 * flat) }
  })
  tube(mesh, points, bend, materials.skin, { round: 20, extraAt: (angle, r) => [angle, r, 0] })
  // Short sleeve: wider than the arm, ending in a hem above the elbow.
  const sleeveEnd = 0.36
  const sleeve = [0, 0.06, 0.12, 0.18, 0.24, 0.3, sleeveEnd]
  const sleevePath = bent(arm.shoulder, arm.elbow, arm.wrist, 0.05 * k, sleeve, upperArm, forearm)
  tube(
    mesh,
    sleevePath.map((at, i) => ({
      at,
      half: (0.0605 - 0.0004 * i) * k * (outfit.ponytail ? 0.92 : 1),
      deep: (0.061 - 0.0014 * i) * k * (outfit.ponytail ? 0.92 : 1),
    })),
    bend,
    materials.shirt,
    { round: 24, extraAt: (angle, r) => [Math.abs(angle - Math.PI), 0.3 + r * 0.045, 4], bluntEnd: true },
  )
  buildHand(mesh, arm, hand, pose.club.shaft, gloved ? materials.glove : materials.skin, k * (outfit.ponytail ? 0.9 : 1))
}

/** A fist closed on the grip: back of the hand, four fingers round the shaft, thumb along it. */
function buildHand(mesh: Mesh, arm: Arm, hand: Vec, shaft: Vec, material: Material, k: number): void {
  const out = squareTo(sub(arm.wrist, arm.grip), shaft)
  const side = cross(shaft, out)
  const palm = along(mix(arm.wrist, arm.grip, 0.55), out, 0.004 * k)
  const width = unit(add(shaft, scale(hand, -dot(shaft, hand) * 0.6)))
  const flat = cross(width, hand)
  ellipsoid(mesh, palm, unit(width), hand, unit(flat), [0.04 * k, 0.05 * k, 0.024 * k], material, 14)
  tube(
    mesh,
    [
      { at: arm.wrist, half: 0.029 * k, deep: 0.025 * k },
      { at: along(arm.wrist, hand, 0.03 * k), half: 0.032 * k, deep: 0.026 * k },
    ],
    unit(flat),
    material,
    { round: 14 },
  )
  for (let finger = 0; finger < 4; finger++) {
    const at = along(arm.grip, shaft, (finger - 1.5) * 0.0185 * k)
    const ring = (angle: number, radius: number): Vec =>
      add(at, add(scale(out, Math.cos(angle) * radius), scale(side, Math.sin(angle) * radius)))
    const points = [0.3, 1, 1.8, 2.6, 3.4, 4.2].map((angle) => ({ at: ring(angle, 0.021 * k), half: 0.0105 * k }))
    tube(mesh, points, shaft, material, { round: 8 })
  }
  tube(
    mesh,
    [-0.01, 0.012, 0.034].map((d) => ({
      at: along(along(along(arm.grip, shaft, d * k), side, -0.012 * k), out, 0.021 * k),
      half: 0.0115 * k,
    })),
    out,
    material,
    { round: 10 },
  )
}

export function buildLeg(
  mesh: Mesh,
  leg: Leg,
  pose: Pose,
  outfit: Outfit,
  lengths: { thigh: number; shank: number; foot: number; ankleHeight: number },
  k: number,
): void {
  const shares = legProfile.map((row) => row[0])
  const { hip, knee, foot } = leg
  const path = bent(hip, knee, foot.ankle, 0.08 * k, shares, lengths.thigh, lengths.shank)
  const ahead = unit(add(scale(foot.ahead, 0.6), pose.trunk.pelvis.front))
  const slim = outfit.ponytail ? 0.93 : 1
  tube(
    mesh,
    path.map((at, i) => ({ at, half: legProfile[i]![1] * k * slim, deep: legProfile[i]![1] * k * slim * 1.08 })),
    ahead,
    materials.trousers,
    { round: 28, extraAt: (angle, r) => [Math.abs(angle - Math.PI), -shares[Math.min(r, shares.length - 1)]! * 0.9, 5], bluntEnd: true },
  )
  buildShoe(mesh, leg, lengths, k)
}

/** Shoe outlines from heel to toe, metres at 1.8 from the ankle: along, half width, height over the sole, sole's half width. */
const shoeProfile: readonly (readonly [number, number, number])[] = [
  [-0.078, 0.012, 0.03],
  [-0.073, 0.026, 0.058],
  [-0.055, 0.034, 0.085],
  [-0.02, 0.038, 0.096],
  [0.02, 0.04, 0.092],
  [0.055, 0.044, 0.076],
  [0.09, 0.049, 0.06],
  [0.125, 0.051, 0.05],
  [0.16, 0.048, 0.042],
  [0.185, 0.039, 0.034],
  [0.2, 0.026, 0.025],
  [0.207, 0.01, 0.014],
]

function buildShoe(mesh: Mesh, leg: Leg, lengths: { ankleHeight: number }, k: number): void {
  const { ankle, ahead, up } = leg.foot
  const across = cross(up, ahead)
  const ground = along(ankle, up, -lengths.ankleHeight)
  const rings = (height: (h: number) => number, lift: number, grow: number): Ring[] =>
    shoeProfile.map(([a, half, h]) => ({
      centre: along(along(ground, ahead, a * k), up, lift * k),
      across,
      ahead: up,
      half: (half + grow) * k,
      front: height(h) * k,
      back: 0.001 * k,
    }))
  loft(
    mesh,
    rings((h) => h - 0.012, 0.012, 0),
    materials.shoe,
    { round: 20, corner: 2.6 },
  )
  loft(
    mesh,
    rings(() => 0.016, 0.001, 0.004),
    materials.sole,
    { round: 20, corner: 5 },
  )
}
