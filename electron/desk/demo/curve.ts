/** A value at an instant; velocity per second (found from the neighbours when left out, 0 at the ends), acceleration 0 when left out. */
export interface Key {
  readonly t: number
  readonly x: number
  readonly v?: number
  readonly a?: number
}
export type Curve = (t: number) => number

/**
 * Quintic Hermite curve through the keys: value, velocity and acceleration are continuous, and exact at each key; constant beyond the ends.
 * A velocity that is left out is the harmonic mean of the slopes on both sides, 0 at a turning point (Fritsch & Butland 1984, from memory),
 * which keeps a rising run of keys from overshooting.
 */
export function curve(keys: readonly Key[]): Curve {
  const full = keys.map((key, i) => ({ t: key.t, x: key.x, v: key.v ?? slopeAt(keys, i), a: key.a ?? 0 }))
  for (let i = 1; i < full.length; i++) if (!(full[i]!.t > full[i - 1]!.t)) throw new RangeError('keys must go forward in time')
  const first = full[0]!
  const last = full.at(-1)!
  return (t) => {
    if (t <= first.t) return first.x
    if (t >= last.t) return last.x
    let i = 1
    while (full[i]!.t < t) i++
    const p = full[i - 1]!
    const q = full[i]!
    const h = q.t - p.t
    const u = (t - p.t) / h
    const c1 = p.v * h
    const c2 = (p.a * h * h) / 2
    const dx = q.x - p.x - c1 - c2
    const dv = q.v * h - c1 - 2 * c2
    const da = q.a * h * h - 2 * c2
    const c3 = 10 * dx - 4 * dv + da / 2
    const c4 = -15 * dx + 7 * dv - da
    const c5 = 6 * dx - 3 * dv + da / 2
    return p.x + u * (c1 + u * (c2 + u * (c3 + u * (c4 + u * c5))))
  }
}

function slopeAt(keys: readonly Key[], i: number): number {
  const before = keys[i - 1]
  const here = keys[i]!
  const after = keys[i + 1]
  if (!before || !after) return 0
  const left = (here.x - before.x) / (here.t - before.t)
  const right = (after.x - here.x) / (after.t - here.t)
  return left * right <= 0 ? 0 : (2 * left * right) / (left + right)
}
