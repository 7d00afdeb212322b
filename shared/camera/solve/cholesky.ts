/** Symmetric positive definite systems, row by row, n x n, solved in place. */

/** Turns the lower triangle of a into its Cholesky factor; false where a is not positive definite. */
export function factorCholesky(a: Float64Array, n: number): boolean {
  for (let j = 0; j < n; j++) {
    const start = a[j * n + j]!
    let diagonal = start
    for (let k = 0; k < j; k++) diagonal -= a[j * n + k]! ** 2
    if (!(diagonal > 1e-14 * start)) return false
    const root = Math.sqrt(diagonal)
    a[j * n + j] = root
    for (let i = j + 1; i < n; i++) {
      let sum = a[i * n + j]!
      for (let k = 0; k < j; k++) sum -= a[i * n + k]! * a[j * n + k]!
      a[i * n + j] = sum / root
    }
  }
  return true
}

/** Solves L L^T x = b for the n entries of b from `at`, in place. */
export function solveCholesky(l: Float64Array, n: number, b: Float64Array, at: number): void {
  for (let i = 0; i < n; i++) {
    let sum = b[at + i]!
    for (let k = 0; k < i; k++) sum -= l[i * n + k]! * b[at + k]!
    b[at + i] = sum / l[i * n + i]!
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = b[at + i]!
    for (let k = i + 1; k < n; k++) sum -= l[k * n + i]! * b[at + k]!
    b[at + i] = sum / l[i * n + i]!
  }
}

/** The inverse of L L^T. */
export function choleskyInverse(l: Float64Array, n: number): Float64Array {
  const out = new Float64Array(n * n)
  for (let i = 0; i < n; i++) {
    out[i * n + i] = 1
    solveCholesky(l, n, out, i * n)
  }
  return out
}

/** The lower triangle of s += k a b^T, symmetric: s is n x n, a and b have m columns and only the rows that `rows` names, in order. */
export function addOuter(s: Float64Array, a: Float64Array, b: Float64Array, n: number, m: number, k: number, rows: Int32Array): void {
  for (let p = 0; p < rows.length; p++) {
    const start = rows[p]! * n
    for (let q = 0; q <= p; q++) {
      let sum = 0
      for (let c = 0; c < m; c++) sum += a[p * m + c]! * b[q * m + c]!
      const at = start + rows[q]!
      s[at] = s[at]! + k * sum
    }
  }
}

/** L with L L^T = a, n x n; null where a is not positive definite. */
export function rootOf(a: ArrayLike<number>, n: number): Float64Array | null {
  const l = Float64Array.from(a)
  if (!factorCholesky(l, n)) return null
  for (let i = 0; i < n; i++) for (let j = i + 1; j < n; j++) l[i * n + j] = 0
  return l
}
