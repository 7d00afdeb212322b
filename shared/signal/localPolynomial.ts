/** Orthonormal columns of the powers of (t - at) / scale over some samples, and the triangle that made them. */
export interface PolynomialBasis {
  readonly q: readonly Float64Array[]
  /** r[j][k]: the part of power j along q[k]. */
  readonly r: readonly Float64Array[]
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
  const q: Float64Array[] = []
  const r: Float64Array[] = []
  for (let j = 0; j < terms; j++) {
    const column = new Float64Array(n)
    for (let i = 0; i < n; i++) column[i] = j === 0 ? 1 : ((times[i]! - at) / scale) ** j
    const row = new Float64Array(terms)
    // Modified Gram-Schmidt, twice over for accuracy.
    for (let pass = 0; pass < 2; pass++)
      for (let k = 0; k < j; k++) {
        const other = q[k]!
        let dot = 0
        for (let i = 0; i < n; i++) dot += other[i]! * column[i]!
        row[k] = row[k]! + dot
        for (let i = 0; i < n; i++) column[i] = column[i]! - dot * other[i]!
      }
    let norm = 0
    for (let i = 0; i < n; i++) norm += column[i]! ** 2
    norm = Math.sqrt(norm)
    if (!(norm > 1e-12)) throw new RangeError('the samples do not lie at enough different times')
    row[j] = norm
    for (let i = 0; i < n; i++) column[i] = column[i]! / norm
    q.push(column)
    r.push(row)
  }
  return { q, r, scale }
}

/** Weights over the samples of a basis that give the fitted polynomial's value (or a derivative) at its instant. */
export function weightsOf({ q, r, scale }: PolynomialBasis, derivative: number): Float64Array {
  const terms = q.length
  const n = q[0]!.length
  const weights = new Float64Array(n)
  if (derivative >= terms) return weights
  // The triangle is the transpose of r: solve for the combination of columns that the one power asks for.
  const y = new Float64Array(terms)
  for (let j = 0; j < terms; j++) {
    let rest = j === derivative ? 1 : 0
    for (let k = 0; k < j; k++) rest -= r[j]![k]! * y[k]!
    y[j] = rest / r[j]![j]!
  }
  let factor = 1
  for (let k = 2; k <= derivative; k++) factor *= k
  factor /= scale ** derivative
  for (let k = 0; k < terms; k++) {
    const part = y[k]! * factor
    for (let i = 0; i < n; i++) weights[i] = weights[i]! + q[k]![i]! * part
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
