import type { Vec2 } from './vec.ts'

/** x' = a x + c y + e, y' = b x + d y + f: the order of Canvas 2D's setTransform. */
export interface Affine {
  readonly a: number
  readonly b: number
  readonly c: number
  readonly d: number
  readonly e: number
  readonly f: number
}

export const identity: Affine = { a: 1, b: 0, c: 0, d: 1, e: 0, f: 0 }

export const apply = (m: Affine, p: Vec2): Vec2 => [m.a * p[0] + m.c * p[1] + m.e, m.b * p[0] + m.d * p[1] + m.f]

/** first, then second. */
export const compose = (first: Affine, second: Affine): Affine => ({
  a: second.a * first.a + second.c * first.b,
  b: second.b * first.a + second.d * first.b,
  c: second.a * first.c + second.c * first.d,
  d: second.b * first.c + second.d * first.d,
  e: second.a * first.e + second.c * first.f + second.e,
  f: second.b * first.e + second.d * first.f + second.f,
})

/** The inverse, or null where the matrix flattens the plane. */
export const invert = (m: Affine): Affine | null => {
  const det = m.a * m.d - m.b * m.c
  if (!Number.isFinite(1 / det)) return null
  return {
    a: m.d / det,
    b: -m.b / det,
    c: -m.c / det,
    d: m.a / det,
    e: (m.c * m.f - m.d * m.e) / det,
    f: (m.b * m.e - m.a * m.f) / det,
  }
}

/** How much longer a short line becomes, for similarity transforms. */
export const scaleOf = (m: Affine): number => Math.sqrt(Math.abs(m.a * m.d - m.b * m.c))
