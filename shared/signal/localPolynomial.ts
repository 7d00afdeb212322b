/**
 * The polynomials orthonormal over some samples (Forsythe 1957), with their values and derivatives at the instant that
 * fits will be read at.
 */
export interface PolynomialBasis {
  /** One column for each degree: the polynomial at every sample, of length 1. */
  readonly q: readonly Float64Array[]
  /** atInstant[j][d]: derivative d of polynomial j at the instant, in scaled time. */
  readonly atInstant: readonly Float64Array[]
  readonly scale: number
}

/**
 * @param times seconds, at least degree + 1 different ones
 * @param at the instant that polynomials will be read at
 */
export function polynomialBasis(times: ArrayLike<number>, at: number, degree: number): PolynomialBasis {
  const n = times.length
  const terms = degree + 1
  if (n < terms) throw new RangeError(`a polynomial of degree ${degree} needs ${terms} samples, not ${n}`)
  let scale = 0
  for (let i = 0; i < n; i++) scale = Math.max(scale, Math.abs(times[i]! - at))
  scale ||= 1
  const x = new Float64Array(n)
  for (let i = 0; i < n; i++) x[i] = (times[i]! - at) / scale
  const q: Float64Array[] = [new Float64Array(n).fill(1 / Math.sqrt(n))]
  const first = new Float64Array(terms)
  first[0] = 1 / Math.sqrt(n)
  const atInstant: Float64Array[] = [first]
  // x q[j] less its parts along q[j] and q[j - 1] is the next one, up to its length; lower ones it has no part along.
  let beta = 0
  for (let j = 0; j < degree; j++) {
    const here = q[j]!
    const before = q[j - 1]
    let alpha = 0
    for (let i = 0; i < n; i++) alpha += x[i]! * here[i]! * here[i]!
    const next = new Float64Array(n)
    let norm = 0
    for (let i = 0; i < n; i++) {
      const value = (x[i]! - alpha) * here[i]! - (before ? beta * before[i]! : 0)
      next[i] = value
      norm += value * value
    }
    norm = Math.sqrt(norm)
    if (!(norm > 1e-9)) throw new RangeError('the samples do not lie at enough different times')
    for (let i = 0; i < n; i++) next[i] = next[i]! / norm
    const valueHere = atInstant[j]!
    const valueBefore = atInstant[j - 1]
    const value = new Float64Array(terms)
    for (let d = 0; d < terms; d++)
      value[d] = (-alpha * valueHere[d]! + (d > 0 ? d * valueHere[d - 1]! : 0) - (valueBefore ? beta * valueBefore[d]! : 0)) / norm
    q.push(next)
    atInstant.push(value)
    beta = norm
  }
  return { q, atInstant, scale }
}

/** Weights over the samples of a basis that give the fitted polynomial's value (or a derivative) at its instant. */
export function weightsOf({ q, atInstant, scale }: PolynomialBasis, derivative: number): Float64Array {
  const n = q[0]!.length
  const weights = new Float64Array(n)
  const per = 1 / scale ** derivative
  for (let j = derivative; j < q.length; j++) {
    const part = atInstant[j]![derivative]! * per
    const column = q[j]!
    for (let i = 0; i < n; i++) weights[i] = weights[i]! + column[i]! * part
  }
  return weights
}

/**
 * Weights w with sum(w[i] x[i]) = the value (or a derivative) at `at` of the polynomial fitted by least squares to
 * samples x taken at `times`. The heart of Savitzky-Golay smoothing, for any spacing of the samples; linear in the
 * samples, so that an error passes through as sum(w[i]^2 sigma[i]^2).
 * @param derivative 0 for the value, 1 for its rate, and so on
 */
export function polynomialWeights(times: ArrayLike<number>, at: number, degree: number, derivative = 0): Float64Array {
  return weightsOf(polynomialBasis(times, at, degree), derivative)
}
