/**
 * The angles of one arm that holds the club, from where its parts are. All vectors are given in the chest's own axes (lead,
 * up, front); inside, either arm is read as a right arm (front, up, outward), so that both have the signs of the ISB
 * (Wu et al. 2005, J Biomech 38:981-992). Radians, written into a row of numbers: this runs thousands of times a second.
 */

/** Places in the row. */
export const at = {
  /** The upper arm's direction: front, up, outward. */
  front: 0, up: 1, outward: 2,
  plane: 3, elevation: 4, axial: 5, rotation: 6, elbow: 7, pronation: 8, wristFlexion: 9, ulnar: 10,
} as const
export const rowLength = 11

/**
 * The middle of a closed fist lies toward the palm from the bones of the hand, by some 2.5 cm in 7.5: what is marked is the line
 * from the wrist to it, what bends is the bones (common practice, no source).
 */
export const fistHollow = (18 * Math.PI) / 180
const hollowCos = Math.cos(fistHollow)
const hollowSin = Math.sin(fistHollow)

const turn = 2 * Math.PI
/** The same angle in [-pi, pi]. */
export const wrapAngle = (a: number): number => (a > Math.PI || a < -Math.PI ? a - turn * Math.round(a / turn) : a)

/**
 * @param row what is written
 * @param outward 1 for the lead arm, whose outward side is the chest's lead side; -1 for the trail arm
 * @param n unit vector shoulder to wrist @param distance its length, metres
 * @param e unit vector square to n toward the elbow
 * @param hand unit vector wrist to the middle of the fist @param shaft unit vector butt to head; each 3 numbers of `v` in this order
 * @returns false where the hands are out of this arm's reach; the row is then not to be read
 */
export function armAngles(row: Float64Array, outward: 1 | -1, v: Float64Array, distance: number, upperArm: number, forearm: number): boolean {
  const cosAlpha = (upperArm * upperArm + distance * distance - forearm * forearm) / (2 * upperArm * distance)
  const cosFlexion = (distance * distance - upperArm * upperArm - forearm * forearm) / (2 * upperArm * forearm)
  if (!(cosAlpha <= 1 && cosAlpha >= -1 && cosFlexion < 1 && cosFlexion > -1)) return false
  const sinAlpha = Math.sqrt(1 - cosAlpha * cosAlpha)
  // From (lead, up, front) to (front, up, outward).
  const nx = v[2]!
  const ny = v[1]!
  const nz = outward * v[0]!
  const ex = v[5]!
  const ey = v[4]!
  const ez = outward * v[3]!
  const dx = v[8]!
  const dy = v[7]!
  const dz = outward * v[6]!
  const sx = v[11]!
  const sy = v[10]!
  const sz = outward * v[9]!
  // Upper arm: a its direction, x where the forearm bends to, y = -a, z = x cross y the hinge.
  const ax = cosAlpha * nx + sinAlpha * ex
  const ay = cosAlpha * ny + sinAlpha * ey
  const az = cosAlpha * nz + sinAlpha * ez
  const xx = sinAlpha * nx - cosAlpha * ex
  const xy = sinAlpha * ny - cosAlpha * ey
  const xz = sinAlpha * nz - cosAlpha * ez
  const zx = -xy * az + xz * ay
  const zy = -xz * ax + xx * az
  const zz = -xx * ay + xy * ax
  const sinFlexion = Math.sqrt(1 - cosFlexion * cosFlexion)
  // Forearm: y up along it, z the same hinge, x = y cross z.
  const yx = -(cosFlexion * ax + sinFlexion * xx)
  const yy = -(cosFlexion * ay + sinFlexion * xy)
  const yz = -(cosFlexion * az + sinFlexion * xz)
  const fx = yy * zz - yz * zy
  const fy = yz * zx - yx * zz
  const fz = yx * zy - yy * zx
  // Hand: y against its own direction, z toward the thumb, where the shaft goes, x out of the palm.
  const along = sx * dx + sy * dy + sz * dz
  let rx = sx - along * dx
  let ry = sy - along * dy
  let rz = sz - along * dz
  const size = Math.sqrt(rx * rx + ry * ry + rz * rz)
  if (!(size > 1e-9)) return false
  rx /= size
  ry /= size
  rz /= size
  const qx = ry * dz - rz * dy
  const qy = rz * dx - rx * dz
  const qz = rx * dy - ry * dx
  // Back from the hollow of the fist to the bones, about the thumb's side.
  const px = hollowCos * qx + hollowSin * dx
  const py = hollowCos * qy + hollowSin * dy
  const pz = hollowCos * qz + hollowSin * dz
  const bx = hollowCos * dx - hollowSin * qx
  const by = hollowCos * dy - hollowSin * qy
  const bz = hollowCos * dz - hollowSin * qz
  const cosElevation = -ay
  const plane = Math.atan2(ax, az)
  const axial = Math.atan2(-xy, zy)
  row[0] = ax
  row[1] = ay
  row[2] = az
  row[3] = plane
  row[4] = Math.atan2(Math.sqrt(ax * ax + az * az), cosElevation)
  row[5] = axial
  row[6] = wrapAngle(axial + plane * cosElevation)
  row[7] = Math.atan2(sinFlexion, cosFlexion)
  row[8] = wrapAngle(Math.atan2(-(zx * px + zy * py + zz * pz), fx * px + fy * py + fz * pz) - Math.PI / 2)
  row[9] = Math.asin(Math.max(-1, Math.min(1, yx * px + yy * py + yz * pz)))
  row[10] = Math.atan2(-(yx * rx + yy * ry + yz * rz), -(yx * bx + yy * by + yz * bz))
  return true
}
