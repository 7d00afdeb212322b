import { cross3, dot3, type Vec3 } from '../../geometry/vec.ts'
import type { ViewName } from '../../contract/pointsFile.ts'
import { cameraFrom, pinhole, type Camera } from '../projection.ts'

/**
 * A phone's camera by nine numbers: the log of its focal length (pixels), its principal point (pixels), where its axis
 * points (yaw off the view's own line, pitch up, roll: all radians) and where it stands (metres, world). Square pixels.
 */
export const phoneSize = 9
export const phone = { lnFocal: 0, cx: 1, cy: 2, yaw: 3, pitch: 4, roll: 5, x: 6, y: 7, z: 8 } as const
export const phoneWords = [
  'the focal length', 'the middle of the lens, sideways', 'the middle of the lens, upward', 'where the axis points', 'the tilt', 'the roll',
  'the place along the target line', 'the height', 'the place toward the ball',
] as const

/** The azimuth that a view's axis has when it is square: face-on looks at the player, down the line at the target. */
export const squareAzimuth = (view: ViewName): number => (view === 'face-on' ? -Math.PI / 2 : 0)

/**
 * Focal lengths of phones' main lenses, in the terms of a 35 mm film frame (by the diagonal): photographs 24 to 28 mm;
 * films are cropped for steadying, by a tenth to a fifth, so that 26 to 33 mm are met, here and there 23 or 36.
 * Common practice, no source.
 */
export const focalPrior = { middleMm: 28.5, lnSigma: 0.13 }
const filmDiagonalMm = Math.hypot(36, 24)
export const focalFrom35 = (mm: number, width: number, height: number): number => (mm / filmDiagonalMm) * Math.hypot(width, height)
export const focalTo35 = (px: number, width: number, height: number): number => (px * filmDiagonalMm) / Math.hypot(width, height)
/** How far the axis meets the picture off its middle, as a share of the long side: steadying moves it. Common practice, no source. */
export const centreSigmaShare = 0.004

/** Unit vectors of the picture's x, its y and the axis, and how each turns with yaw, pitch and roll. */
export interface Pose {
  readonly focal: number
  readonly cx: number
  readonly cy: number
  readonly right: Vec3
  readonly down: Vec3
  readonly ahead: Vec3
  readonly place: Vec3
  /** For yaw, pitch, roll: the change of right, down, ahead a radian. */
  readonly turns: readonly (readonly [Vec3, Vec3, Vec3])[]
}

const mix = (a: Vec3, p: number, b: Vec3, q: number): Vec3 => [p * a[0] + q * b[0], p * a[1] + q * b[1], p * a[2] + q * b[2]]

/** The pose of nine numbers that start at `from`. */
export function poseOf(view: ViewName, g: ArrayLike<number>, from = 0): Pose {
  const azimuth = squareAzimuth(view) + g[from + phone.yaw]!
  const ca = Math.cos(azimuth)
  const sa = Math.sin(azimuth)
  const cp = Math.cos(g[from + phone.pitch]!)
  const sp = Math.sin(g[from + phone.pitch]!)
  const c = Math.cos(g[from + phone.roll]!)
  const s = Math.sin(g[from + phone.roll]!)
  const ahead: Vec3 = [cp * ca, sp, cp * sa]
  const flat: Vec3 = [-sa, 0, ca]
  const under = cross3(ahead, flat)
  // Turning the phone against the clock leans the world's up to the right.
  const right = mix(flat, c, under, -s)
  const down = mix(under, c, flat, s)
  const flatYaw: Vec3 = [-ca, 0, -sa]
  const underYaw: Vec3 = [-sp * sa, 0, sp * ca]
  const none: Vec3 = [0, 0, 0]
  return {
    focal: Math.exp(g[from]!), cx: g[from + phone.cx]!, cy: g[from + phone.cy]!, right, down, ahead,
    place: [g[from + phone.x]!, g[from + phone.y]!, g[from + phone.z]!],
    turns: [
      [mix(flatYaw, c, underYaw, -s), mix(underYaw, c, flatYaw, s), [-cp * sa, 0, cp * ca]],
      [mix(none, c, ahead, -s), mix(ahead, c, none, s), [-sp * ca, cp, -sp * sa]],
      [[-down[0], -down[1], -down[2]], right, none],
    ],
  }
}

/** Nearer than this before the camera a point cannot be seen, metres. */
const nearest = 0.05

/**
 * Where a world point is seen, with its derivatives; false for a point behind the camera.
 * @param out x, y @param jg 2 x 9, by the phone's numbers @param jp 2 x 3, by the point
 */
export function seePoint(pose: Pose, p: ArrayLike<number>, at: number, out: Float64Array, jg: Float64Array, jp: Float64Array): boolean {
  const q: Vec3 = [p[at]! - pose.place[0], p[at + 1]! - pose.place[1], p[at + 2]! - pose.place[2]]
  const { right, down, ahead, focal } = pose
  const x = dot3(right, q)
  const y = dot3(down, q)
  const w = dot3(ahead, q)
  if (!(w > nearest)) return false
  const k = focal / w
  const u = (focal * x) / w
  const v = (focal * y) / w
  out[0] = pose.cx + u
  out[1] = pose.cy + v
  jg[0] = u
  jg[phoneSize] = v
  jg[1] = 1
  jg[phoneSize + 1] = 0
  jg[2] = 0
  jg[phoneSize + 2] = 1
  for (let i = 0; i < 3; i++) {
    const [dr, dd, da] = pose.turns[i]!
    const turned = dot3(da, q) / w
    jg[3 + i] = k * dot3(dr, q) - u * turned
    jg[phoneSize + 3 + i] = k * dot3(dd, q) - v * turned
    const px = k * right[i]! - (u * ahead[i]!) / w
    const py = k * down[i]! - (v * ahead[i]!) / w
    jp[i] = px
    jp[3 + i] = py
    jg[6 + i] = -px
    jg[phoneSize + 6 + i] = -py
  }
  return true
}

/** Homogeneous picture point of a direction: where all lines that run along it seem to meet. */
export function vanishing(pose: Pose, direction: Vec3): Vec3 {
  const w = dot3(pose.ahead, direction)
  return [pose.focal * dot3(pose.right, direction) + pose.cx * w, pose.focal * dot3(pose.down, direction) + pose.cy * w, w]
}

/** The camera of nine numbers, ready for measuring. */
export function phoneCamera(view: ViewName, g: ArrayLike<number>, from = 0): Camera {
  const p = poseOf(view, g, from)
  return cameraFrom(pinhole(p.focal, [p.cx, p.cy], p.place, p.right, p.down, p.ahead))!
}

/** Nine numbers of a camera that is known already; its roll and axis read back from its rows. */
export function phoneNumbers(view: ViewName, camera: Camera): number[] {
  const { axis, place, rows } = camera
  const k = Math.hypot(rows[2][0]!, rows[2][1]!, rows[2][2]!)
  const part = (i: 0 | 1): Vec3 => [rows[i][0]! / k, rows[i][1]! / k, rows[i][2]! / k]
  const cx = dot3(part(0), axis)
  const azimuth = Math.atan2(axis[2], axis[0])
  const yaw = azimuth - squareAzimuth(view)
  const flat: Vec3 = [-Math.sin(azimuth), 0, Math.cos(azimuth)]
  const under = cross3(axis, flat)
  const right = mix(part(0), 1, axis, -cx)
  return [
    Math.log(camera.focalPx), cx, dot3(part(1), axis), yaw - 2 * Math.PI * Math.round(yaw / (2 * Math.PI)),
    Math.asin(Math.max(-1, Math.min(1, axis[1]))), Math.atan2(-dot3(right, under), dot3(right, flat)), ...place,
  ]
}

