import { add, along, cross, dot, norm, radians, scale, sub, turnAbout, unit, type Vec } from './vec.ts'

/** 3 x 4 projection from the swing's world to pixels: top left corner (0,0), x right, y down. */
export type Matrix34 = readonly [readonly number[], readonly number[], readonly number[]]

/** A phone on a stand. `mirrored` films a left-hander, whose world is a left-handed triad (x to width - x). */
export interface PhoneCamera {
  readonly view: 'face-on' | 'down-the-line'
  readonly widthPx: number
  readonly heightPx: number
  readonly focalPx: number
  readonly place: Vec
  readonly right: Vec
  readonly up: Vec
  readonly forward: Vec
  readonly mirrored: boolean
}

export interface Setting {
  readonly view: 'face-on' | 'down-the-line'
  readonly place: Vec
  /** Turn of the axis against the target line (down the line) or the line square to it (face-on), positive toward the ball's side or the
   *  target; nod positive upward; roll positive clockwise in the picture. Degrees. */
  readonly yawDeg: number
  readonly pitchDeg: number
  readonly rollDeg: number
  readonly focalPx: number
  readonly mirrored: boolean
}

/** A portrait phone of 1080 x 1920 pixels, or the same picture `shrink` times as large. */
export function phoneCamera(setting: Setting, shrink: number): PhoneCamera {
  const ahead: Vec = setting.view === 'face-on' ? [0, 0, -1] : [1, 0, 0]
  const side: Vec = setting.view === 'face-on' ? [1, 0, 0] : [0, 0, 1]
  const yaw = radians(setting.yawDeg)
  const level = unit(add(scale(ahead, Math.cos(yaw)), scale(side, Math.sin(yaw))))
  const across = unit(cross(level, [0, 1, 0]))
  const forward = turnAbout(level, across, radians(setting.pitchDeg))
  const upright = cross(across, forward)
  const roll = radians(setting.rollDeg)
  const even = (x: number) => Math.round(x / 2) * 2
  return {
    view: setting.view,
    widthPx: even(1080 * shrink),
    heightPx: even(1920 * shrink),
    focalPx: setting.focalPx * shrink,
    place: setting.place,
    forward,
    right: turnAbout(across, forward, roll),
    up: turnAbout(upright, forward, roll),
    mirrored: setting.mirrored,
  }
}

export function matrixOf(camera: PhoneCamera): Matrix34 {
  const { focalPx: f, widthPx, heightPx, right, up, forward, place } = camera
  const row = (v: Vec): number[] => [v[0], v[1], v[2], -dot(v, place)]
  const blend = (a: Vec, ka: number, b: Vec, kb: number): number[] => row(add(scale(a, ka), scale(b, kb)))
  return [
    camera.mirrored ? blend(right, -f, forward, widthPx / 2) : blend(right, f, forward, widthPx / 2),
    blend(up, -f, forward, heightPx / 2),
    row(forward),
  ]
}

/** Pixel of a world point; null where it lies behind the camera. */
export function project(m: Matrix34, p: Vec): [number, number] | null {
  const at = (r: readonly number[]) => r[0]! * p[0] + r[1]! * p[1] + r[2]! * p[2] + r[3]!
  const w = at(m[2])
  return w > 1e-6 ? [at(m[0]) / w, at(m[1]) / w] : null
}

/** Unit ray through a pixel. */
export function rayThrough(camera: PhoneCamera, x: number, y: number): Vec {
  const u = ((camera.mirrored ? camera.widthPx - x : x) - camera.widthPx / 2) / camera.focalPx
  const v = (y - camera.heightPx / 2) / camera.focalPx
  return unit(along(along(camera.forward, camera.right, u), camera.up, -v))
}

/** How far the axis is turned off the target line, and the place off the line through `through` (both seen from above); degrees, metres. */
export function placeAgainst(camera: PhoneCamera, through: Vec): { yawDeg: number; offsetM: number; bearingDeg: number } {
  const side = camera.view === 'face-on' ? 0 : 2
  const f = camera.forward
  const toward = sub(through, camera.place)
  const flat = norm([toward[0], 0, toward[2]])
  const yaw = camera.view === 'face-on' ? Math.atan2(f[0], -f[2]) : Math.atan2(f[2], f[0])
  return {
    yawDeg: (yaw * 180) / Math.PI,
    offsetM: camera.place[side] - through[side],
    bearingDeg: (Math.asin(toward[side] / flat) * 180) / Math.PI,
  }
}
