/** An infinite impulse response filter as its two polynomials in z^-1; a[0] is 1. */
export interface Filter {
  readonly b: readonly number[]
  readonly a: readonly number[]
}

/** What the cutoff's tangent is divided by, so that two passes of order 2 leave 3 dB at the cutoff (Winter). */
export const dualPassCorrection = (2 ** 0.5 - 1) ** 0.25

type Complex = readonly [re: number, im: number]
const multiply = (p: Complex, q: Complex): Complex => [p[0] * q[0] - p[1] * q[1], p[0] * q[1] + p[1] * q[0]]

/** Coefficients of the monic polynomial with these roots, highest power first; the roots come in conjugate pairs. */
function fromRoots(roots: readonly Complex[]): number[] {
  let c: Complex[] = [[1, 0]]
  for (const root of roots) {
    const next: Complex[] = [...c, [0, 0]]
    for (let i = 0; i < c.length; i++) {
      const m = multiply(root, c[i]!)
      const at = next[i + 1]!
      next[i + 1] = [at[0] - m[0], at[1] - m[1]]
    }
    c = next
  }
  return c.map((value) => value[0])
}

/**
 * A low-pass Butterworth filter by the bilinear transform with the frequency pre-warped.
 * @param order 1 or more
 * @param cutoff half-power frequency, Hz, below half of `rate`
 * @param rate samples a second
 * @param correction 1, or dualPassCorrection where the filter will run forth and back
 */
export function butterworth(order: number, cutoff: number, rate: number, correction = 1): Filter {
  if (!(order >= 1) || !(cutoff > 0) || !(cutoff < rate / 2)) throw new RangeError('the cutoff must lie between 0 and half the rate')
  const omega = Math.tan((Math.PI * cutoff) / rate) / correction
  const poles: Complex[] = []
  for (let k = 0; k < order; k++) {
    const angle = (Math.PI * (2 * k + order + 1)) / (2 * order)
    const s: Complex = [omega * Math.cos(angle), omega * Math.sin(angle)]
    // z = (1 + s) / (1 - s)
    const d = (1 - s[0]) ** 2 + s[1] ** 2
    poles.push([((1 + s[0]) * (1 - s[0]) - s[1] * s[1]) / d, (2 * s[1]) / d])
  }
  const a = fromRoots(poles)
  const zeros = fromRoots(poles.map((): Complex => [-1, 0]))
  const gain = a.reduce((x, y) => x + y, 0) / zeros.reduce((x, y) => x + y, 0)
  return { b: zeros.map((value) => value * gain), a }
}

/** The filter's inner state that a constant input of 1 settles to (direct form II transposed). */
export function steadyState({ b, a }: Filter): number[] {
  const n = a.length - 1
  const rest = (k: number) => b[k]! - a[k]! * b[0]!
  let sum = 0
  let aSum = 0
  for (let k = 1; k <= n; k++) sum += rest(k)
  for (let k = 0; k <= n; k++) aSum += a[k]!
  const state = [sum / aSum]
  let partialA = 1
  let partialB = 0
  for (let k = 1; k < n; k++) {
    partialA += a[k]!
    partialB += rest(k)
    state.push(partialA * state[0]! - partialB)
  }
  return state
}

/** One pass over the samples, from the given inner state (zeros if none). */
export function runFilter({ b, a }: Filter, x: readonly number[], state: readonly number[] = []): number[] {
  const n = a.length - 1
  const z = Array.from({ length: n + 1 }, (_, i) => state[i] ?? 0)
  return x.map((value) => {
    const y = b[0]! * value + z[0]!
    for (let i = 0; i < n; i++) z[i] = b[i + 1]! * value - a[i + 1]! * y + (i + 1 < n ? z[i + 1]! : 0)
    return y
  })
}

/**
 * Forth and back, so that nothing is late: zero phase, the amplitude response squared. The ends are continued by
 * reflecting the samples through the end points, three samples a coefficient.
 */
export function zeroLag(filter: Filter, x: readonly number[]): number[] {
  const pad = 3 * filter.a.length
  if (x.length <= pad) throw new RangeError(`zero-lag filtering needs more than ${pad} samples`)
  const first = x[0]!
  const last = x.at(-1)!
  const before = x.slice(1, pad + 1).reverse().map((value) => 2 * first - value)
  const after = x.slice(-pad - 1, -1).reverse().map((value) => 2 * last - value)
  const steady = steadyState(filter)
  const pass = (samples: readonly number[]) => runFilter(filter, samples, steady.map((value) => value * samples[0]!))
  const forth = pass([...before, ...x, ...after])
  const back = pass(forth.reverse()).reverse()
  return back.slice(pad, pad + x.length)
}
