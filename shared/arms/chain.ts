import { dot3, sub3, type Vec3 } from '../geometry/vec.ts'
import { armAngles, rowLength } from './joints.ts'
import type { ArmsInput, Axes, Body, Chest, Hold, Side } from './types.ts'

/**
 * The closed chain as numbers: chest, two arms, one rigid club. The club's pose fixes both wrists exactly (each is a point
 * of the club), the swivel of each arm then fixes its elbow, so that the chain is closed whatever the four or five numbers
 * of a posture are; what is searched for is only which of the closed ones costs least.
 */

/** Directions in the chest's own axes (lead, up, front), lengths in metres, angles in radians; changed in place. */
export interface Posture {
  /** Unit vector butt to head. */
  readonly shaft: Float64Array
  /** Unit vector square to it, toward the lead wrist. */
  readonly side: Float64Array
  /** Swivel of the lead elbow about its own reference, right-hand rule about shoulder to wrist. */
  lead: number
  /** Swivel of the trail elbow, 0 hanging down, positive out behind. */
  trail: number
}

export const copyPosture = (p: Posture): Posture => ({ shaft: Float64Array.from(p.shaft), side: Float64Array.from(p.side), lead: p.lead, trail: p.trail })

export const toChest = (axes: Axes, v: Vec3): Vec3 => [dot3(axes.lead, v), dot3(axes.up, v), dot3(axes.front, v)]
export const fromChest = ({ lead, up, front }: Axes, v: ArrayLike<number>): Vec3 => [
  lead[0] * v[0]! + up[0] * v[1]! + front[0] * v[2]!,
  lead[1] * v[0]! + up[1] * v[1]! + front[1] * v[2]!,
  lead[2] * v[0]! + up[2] * v[1]! + front[2] * v[2]!,
]

/** Outward and behind the chest: where the lead arm never points, so that its swivel is defined throughout a swing. */
export const leadReference: Vec3 = [0.6, 0, -0.8]

interface Arm {
  readonly outward: 1 | -1
  /** Shoulder from the middle of the hands. */
  readonly shoulder: Vec3
  readonly reference: Vec3
  readonly upperArm: number
  readonly forearm: number
  readonly along: number
  /** The wrist off the shaft, along `side` and along shaft x side. */
  readonly awaySide: number
  readonly awayOther: number
  /** Middle of the fist, along the shaft. */
  readonly grip: number
}

export interface Chain {
  readonly lead: Arm
  readonly trail: Arm
}

function armOf(side: Side, body: Body, chest: Chest, hands: Vec3): Arm {
  const hold: Hold = body.grip[side]
  const round = (hold.roundDeg * Math.PI) / 180
  return {
    outward: side === 'lead' ? 1 : -1,
    shoulder: toChest(chest.axes, sub3(side === 'lead' ? chest.leadShoulder : chest.trailShoulder, hands)),
    reference: side === 'lead' ? leadReference : toChest(chest.axes, [0, -1, 0]),
    upperArm: body.arms[side].upperArm,
    forearm: body.arms[side].forearm,
    along: hold.alongM,
    awaySide: hold.awayM * Math.cos(round),
    awayOther: hold.awayM * Math.sin(round),
    grip: (side === 'lead' ? -0.5 : 0.5) * body.grip.apartM,
  }
}

export const chainOf = ({ body, chest, hands }: Pick<ArmsInput, 'body' | 'chest' | 'hands'>): Chain => ({
  lead: armOf('lead', body, chest, hands),
  trail: armOf('trail', body, chest, hands),
})

/** Rows of angles of both arms, and the vectors they were made of. */
export interface Workspace {
  readonly lead: Float64Array
  readonly trail: Float64Array
  readonly vectors: Float64Array
}
export const makeWorkspace = (): Workspace => ({ lead: new Float64Array(rowLength), trail: new Float64Array(rowLength), vectors: new Float64Array(12) })

/** Sine under which a hanging reference gives the swivel no direction: 1 degree. */
const leastSine = Math.sin(Math.PI / 180)

function armRow(row: Float64Array, v: Float64Array, arm: Arm, shaft: Float64Array, side: Float64Array, swivel: number): boolean {
  const sx = shaft[0]!
  const sy = shaft[1]!
  const sz = shaft[2]!
  const kx = side[0]!
  const ky = side[1]!
  const kz = side[2]!
  const mx = sy * kz - sz * ky
  const my = sz * kx - sx * kz
  const mz = sx * ky - sy * kx
  const wx = arm.along * sx + arm.awaySide * kx + arm.awayOther * mx
  const wy = arm.along * sy + arm.awaySide * ky + arm.awayOther * my
  const wz = arm.along * sz + arm.awaySide * kz + arm.awayOther * mz
  let nx = wx - arm.shoulder[0]
  let ny = wy - arm.shoulder[1]
  let nz = wz - arm.shoulder[2]
  const distance = Math.sqrt(nx * nx + ny * ny + nz * nz)
  nx /= distance
  ny /= distance
  nz /= distance
  const [rx, ry, rz] = arm.reference
  const k = rx * nx + ry * ny + rz * nz
  let ux = rx - k * nx
  let uy = ry - k * ny
  let uz = rz - k * nz
  const size = Math.sqrt(ux * ux + uy * uy + uz * uz)
  if (!(size > leastSine)) return false
  ux /= size
  uy /= size
  uz /= size
  // The trail elbow turns out behind against the right-hand rule.
  const c = Math.cos(swivel)
  const t = arm.outward * Math.sin(swivel)
  v[0] = nx
  v[1] = ny
  v[2] = nz
  v[3] = c * ux + t * (ny * uz - nz * uy)
  v[4] = c * uy + t * (nz * ux - nx * uz)
  v[5] = c * uz + t * (nx * uy - ny * ux)
  const gx = arm.grip * sx - wx
  const gy = arm.grip * sy - wy
  const gz = arm.grip * sz - wz
  const hand = Math.sqrt(gx * gx + gy * gy + gz * gz)
  if (!(hand > 0)) return false
  v[6] = gx / hand
  v[7] = gy / hand
  v[8] = gz / hand
  v[9] = sx
  v[10] = sy
  v[11] = sz
  return armAngles(row, arm.outward, v, distance, arm.upperArm, arm.forearm)
}

/** All joint angles of a posture; false where a hand is out of its arm's reach, or the trail arm hangs so that no swivel is defined. */
export const readPosture = (chain: Chain, p: Posture, work: Workspace): boolean =>
  armRow(work.lead, work.vectors, chain.lead, p.shaft, p.side, p.lead) && armRow(work.trail, work.vectors, chain.trail, p.shaft, p.side, p.trail)
