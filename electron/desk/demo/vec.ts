/** Vectors of three, plain and immutable; metres unless said otherwise. The demo keeps its own few lines so that its truth shares no code
 *  with what is later measured on it. */
export type Vec = readonly [number, number, number]

export const add = (a: Vec, b: Vec): Vec => [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
export const sub = (a: Vec, b: Vec): Vec => [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
export const scale = (a: Vec, k: number): Vec => [a[0] * k, a[1] * k, a[2] * k]
/** a + k b */
export const along = (a: Vec, b: Vec, k: number): Vec => [a[0] + k * b[0], a[1] + k * b[1], a[2] + k * b[2]]
export const dot = (a: Vec, b: Vec): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
export const cross = (a: Vec, b: Vec): Vec => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
export const norm = (a: Vec): number => Math.hypot(a[0], a[1], a[2])
export const distance = (a: Vec, b: Vec): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2])
export const mix = (a: Vec, b: Vec, w: number): Vec => [a[0] + (b[0] - a[0]) * w, a[1] + (b[1] - a[1]) * w, a[2] + (b[2] - a[2]) * w]

/** Unit vector; throws where the length is nothing, since a direction made up would hide a mistake in the motion. */
export function unit(a: Vec): Vec {
  const length = norm(a)
  if (!(length > 1e-12)) throw new RangeError('no direction: the vector has no length')
  return [a[0] / length, a[1] / length, a[2] / length]
}

/** Unit vector of the part of `a` that is square to the unit vector `n`. */
export const squareTo = (a: Vec, n: Vec): Vec => unit(along(a, n, -dot(a, n)))

/** Turns `a` about the unit axis by an angle in radians, right-hand rule (Rodrigues). */
export function turnAbout(a: Vec, axis: Vec, angle: number): Vec {
  const c = Math.cos(angle)
  const s = Math.sin(angle)
  const k = dot(axis, a) * (1 - c)
  const x = cross(axis, a)
  return [a[0] * c + x[0] * s + axis[0] * k, a[1] * c + x[1] * s + axis[1] * k, a[2] * c + x[2] * s + axis[2] * k]
}

/** Three unit axes: toward the lead side, up the segment, out of its front. */
export interface Frame {
  readonly lead: Vec
  readonly up: Vec
  readonly front: Vec
}

/** World vector of (lead, up, front) components. */
export const fromFrame = (f: Frame, v: Vec): Vec => along(along(scale(f.lead, v[0]), f.up, v[1]), f.front, v[2])
/** (lead, up, front) components of a world vector. */
export const toFrame = (f: Frame, v: Vec): Vec => [dot(f.lead, v), dot(f.up, v), dot(f.front, v)]

export const degrees = (radians: number): number => (radians * 180) / Math.PI
export const radians = (deg: number): number => (deg * Math.PI) / 180
export const clamp01 = (x: number): number => (x < 0 ? 0 : x > 1 ? 1 : x)
/** 0 to 1 between a and b with no velocity and no acceleration at either end. */
export function ease(a: number, b: number, x: number): number {
  const u = clamp01((x - a) / (b - a))
  return u * u * u * (10 + u * (6 * u - 15))
}
