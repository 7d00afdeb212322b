/**
 * Points and vectors as plain tuples, branded by the space they live in, so that a point of the picture
 * cannot be handed to code that wants a point of the canvas.
 */
declare const space: unique symbol

export type Vec2 = readonly [x: number, y: number]
export type Vec3 = readonly [x: number, y: number, z: number]

/** A point of the picture as filmed: display space, pixels of the original, origin top left, x right, y down. */
export type ImagePoint = Vec2 & { readonly [space]?: 'image' }
/** A point of the canvas that is drawn on: its own pixels, origin top left, x right, y down. */
export type CanvasPoint = Vec2 & { readonly [space]?: 'canvas' }
/** A point of the world in metres: X toward the target, Y up, Z from the player toward the ball. */
export type WorldPoint = Vec3 & { readonly [space]?: 'world' }

export const imagePoint = (x: number, y: number): ImagePoint => [x, y] as ImagePoint
export const canvasPoint = (x: number, y: number): CanvasPoint => [x, y] as CanvasPoint
export const worldPoint = (x: number, y: number, z: number): WorldPoint => [x, y, z] as WorldPoint

export const sub2 = (a: Vec2, b: Vec2): Vec2 => [a[0] - b[0], a[1] - b[1]]
export const add2 = (a: Vec2, b: Vec2): Vec2 => [a[0] + b[0], a[1] + b[1]]
export const scale2 = (a: Vec2, k: number): Vec2 => [a[0] * k, a[1] * k]
export const dot2 = (a: Vec2, b: Vec2): number => a[0] * b[0] + a[1] * b[1]
/** z of the cross product; positive where b lies clockwise of a on a picture whose y points down. */
export const cross2 = (a: Vec2, b: Vec2): number => a[0] * b[1] - a[1] * b[0]
export const length2 = (a: Vec2): number => Math.hypot(a[0], a[1])
export const distance2 = (a: Vec2, b: Vec2): number => Math.hypot(a[0] - b[0], a[1] - b[1])
export const lerp2 = (a: Vec2, b: Vec2, t: number): Vec2 => [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t]

export const sub3 = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
export const add3 = (a: Vec3, b: Vec3): Vec3 => [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
export const scale3 = (a: Vec3, k: number): Vec3 => [a[0] * k, a[1] * k, a[2] * k]
export const dot3 = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
export const cross3 = (a: Vec3, b: Vec3): Vec3 => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
]
export const length3 = (a: Vec3): number => Math.hypot(a[0], a[1], a[2])
/** a scaled to length 1, or null where it has none. */
export const unit3 = (a: Vec3): Vec3 | null => {
  const l = length3(a)
  return l > 0 ? scale3(a, 1 / l) : null
}
