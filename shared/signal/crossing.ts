/** Where the line from (t0, a) to (t1, b) is zero, or null where both lie on one side; a zero at the start counts, at the end not. */
export function crossingTime(t0: number, a: number, t1: number, b: number): number | null {
  if (a === 0) return t0
  if (b === 0 || a > 0 === b > 0) return null
  return t0 + (a / (a - b)) * (t1 - t0)
}

/**
 * A root of f between two times at which its signs differ, to within `tolerance` seconds; null where they do not.
 * The secant's point is tried; where two of them leave more than half of the bracket, it is halved.
 */
export function findRoot(f: (t: number) => number, from: number, to: number, tolerance = 1e-9): number | null {
  let [a, b] = [from, to]
  let [fa, fb] = [f(a), f(b)]
  if (fa === 0) return a
  if (fb === 0) return b
  if (!(fa * fb < 0)) return null
  let width = b - a
  for (let i = 1; i <= 200 && b - a > tolerance; i++) {
    let t = (a * fb - b * fa) / (fb - fa)
    if (i % 3 === 0) {
      if (b - a > width / 2) t = (a + b) / 2
      width = b - a
    }
    // Kept off the ends, or a root beside one of them would shrink the bracket from one side only.
    const margin = Math.min(tolerance / 2, (b - a) / 4)
    t = Math.min(Math.max(t, a + margin), b - margin)
    const ft = f(t)
    if (ft === 0) return t
    if (ft * fa < 0) [b, fb] = [t, ft]
    else [a, fa] = [t, ft]
  }
  return (a + b) / 2
}
