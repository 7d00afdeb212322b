import { polynomialWeights } from './localPolynomial.ts'

/**
 * Savitzky & Golay 1964: each sample replaced by the value, or a derivative, of the polynomial fitted to the window
 * around it. Near the ends the first and the last whole window's polynomial serves.
 * @param window odd number of samples, more than `degree`
 * @param step seconds between samples
 */
export function savitzkyGolay(x: readonly number[], window: number, degree: number, derivative = 0, step = 1): number[] {
  if (window % 2 !== 1 || window <= degree || x.length < window)
    throw new RangeError('the window must be odd, longer than the degree and no longer than the samples')
  const half = (window - 1) / 2
  const times = Array.from({ length: window }, (_, i) => i * step)
  const weights = times.map((at) => polynomialWeights(times, at, degree, derivative))
  return x.map((_, i) => {
    const start = Math.min(Math.max(i - half, 0), x.length - window)
    const w = weights[i - start]!
    let sum = 0
    for (let k = 0; k < window; k++) sum += w[k]! * x[start + k]!
    return sum
  })
}
