/** The upper triangle of a matrix by Householder reflections, and how to apply them to a right-hand side. */
export interface Qr {
  readonly n: number
  /** Row by row, n x n, upper triangular. */
  readonly r: Float64Array
  /** The first n entries of Q^T b. */
  readonly applyTransposed: (b: ArrayLike<number>) => Float64Array
}

/** Factors an m x n matrix given row by row, m >= n. The matrix itself is left as it was. */
export function factorQr(matrix: ArrayLike<number>, m: number, n: number): Qr {
  const a = Float64Array.from(matrix)
  const beta = new Float64Array(n)
  for (let k = 0; k < n; k++) {
    let norm = 0
    for (let i = k; i < m; i++) norm = norm + a[i * n + k]! ** 2
    norm = Math.sqrt(norm)
    if (norm === 0) continue
    const head = a[k * n + k]!
    const alpha = head > 0 ? -norm : norm
    // The reflector is stored below the diagonal with its first entry set to 1.
    const first = head - alpha
    for (let i = k + 1; i < m; i++) a[i * n + k] = a[i * n + k]! / first
    beta[k] = -first / alpha
    a[k * n + k] = alpha
    for (let j = k + 1; j < n; j++) {
      let dot = a[k * n + j]!
      for (let i = k + 1; i < m; i++) dot += a[i * n + k]! * a[i * n + j]!
      dot *= beta[k]!
      a[k * n + j] = a[k * n + j]! - dot
      for (let i = k + 1; i < m; i++) a[i * n + j] = a[i * n + j]! - dot * a[i * n + k]!
    }
  }
  const r = new Float64Array(n * n)
  for (let i = 0; i < n; i++) for (let j = i; j < n; j++) r[i * n + j] = a[i * n + j]!
  return {
    n,
    r,
    applyTransposed: (b) => {
      const y = Float64Array.from(b)
      for (let k = 0; k < n; k++) {
        let dot = y[k]!
        for (let i = k + 1; i < m; i++) dot += a[i * n + k]! * y[i]!
        dot *= beta[k]!
        y[k] = y[k]! - dot
        for (let i = k + 1; i < m; i++) y[i] = y[i]! - dot * a[i * n + k]!
      }
      return y.slice(0, n)
    },
  }
}

/** x with R x = b; an entry whose diagonal is 0 is left at 0. */
export function solveUpper({ n, r }: Qr, b: ArrayLike<number>): Float64Array {
  const x = new Float64Array(n)
  for (let i = n - 1; i >= 0; i--) {
    let rest = b[i]!
    for (let j = i + 1; j < n; j++) rest -= r[i * n + j]! * x[j]!
    const diagonal = r[i * n + i]!
    x[i] = diagonal === 0 ? 0 : rest / diagonal
  }
  return x
}
