/**
 * Weights w with sum(w[i] x[i]) = the value (or a derivative) at `at` of the polynomial fitted by least squares to
 * samples x taken at `times`. The heart of Savitzky-Golay smoothing, for any spacing of the samples; linear in the
 * samples, so that an error passes through as sum(w[i]^2 sigma[i]^2).
 * @param times seconds, at least degree + 1 different ones
 * @param derivative 0 for the value, 1 for its rate, and so on
 */
export function polynomialWeights(times: ArrayLike<number>, at: number, degree: number, derivative = 0): Float64Array {
  const n = times.length
  const terms = degree + 1
  if (n < terms) throw new RangeError(`a polynomial of degree ${degree} needs ${terms} samples, not ${n}`)
  let scale = 0
  for (let i = 0; i < n; i++) scale = Math.max(scale, Math.abs(times[i]! - at))
  scale ||= 1
  // Orthonormal columns of the Vandermonde matrix by modified Gram-Schmidt, twice over for accuracy.
  const q: Float64Array[] = []
  const r: Float64Array[] = []
  for (let j = 0; j < terms; j++) {
    const column = new Float64Array(n)
    for (let i = 0; i < n; i++) column[i] = ((times[i]! - at) / scale) ** j
    const row = new Float64Array(terms)
    for (let pass = 0; pass < 2; pass++)
      for (let k = 0; k < j; k++) {
        let dot = 0
        for (let i = 0; i < n; i++) dot += q[k]![i]! * column[i]!
        row[k] = row[k]! + dot
        for (let i = 0; i < n; i++) column[i] = column[i]! - dot * q[k]![i]!
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
  // r[j][k] holds the part of column j along q[k], so R is the transpose of r. Solve R^T y = e(derivative).
  const weights = new Float64Array(n)
  if (derivative > degree) return weights
  const y = new Float64Array(terms)
  for (let j = 0; j < terms; j++) {
    let rest = j === derivative ? 1 : 0
    for (let k = 0; k < j; k++) rest -= r[j]![k]! * y[k]!
    y[j] = rest / r[j]![j]!
  }
  let factor = 1
  for (let k = 2; k <= derivative; k++) factor *= k
  factor /= scale ** derivative
  for (let i = 0; i < n; i++) {
    let sum = 0
    for (let k = 0; k < terms; k++) sum += q[k]![i]! * y[k]!
    weights[i] = sum * factor
  }
  return weights
}
