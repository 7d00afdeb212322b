import { describe, expect, it } from 'vitest'
import { fitLeastSquares } from '../../shared/signal/leastSquares.ts'
import { nistModels, parseNist } from '../fixtures/nist.ts'
import { outsidePath, outsideText } from '../fixtures/outsideData.ts'

const there = outsidePath('numeric/nist')

/** Digits that agree: -log10 of the relative difference. */
const digits = (found: number, wanted: number): number => -Math.log10(Math.abs(found - wanted) / Math.abs(wanted) + 1e-17)

// NIST Statistical Reference Datasets, nonlinear regression: certified values and standard deviations.
describe.skipIf(!there)('the fitter against the NIST certified values, with differences for a Jacobian', () => {
  describe.each(Object.keys(nistModels))('%s', (name) => {
    it.each(['start1', 'start2'] as const)('from %s, to 6 digits', (from) => {
      const set = parseNist(outsideText(`numeric/nist/${name}.dat`)!)
      const y = name === 'Nelson' ? set.y.map(Math.log) : set.y
      const model = nistModels[name]!
      const fit = fitLeastSquares(
        { count: y.length, residuals: (p, out) => y.forEach((value, i) => (out[i] = model(p, set.x[i]!) - value)) },
        set[from],
        { maxIterations: 5000 },
      )
      expect(fit.converged).toBe(true)
      const worst = Math.min(...set.certified.map((wanted, i) => digits(fit.parameters[i]!, wanted)))
      expect(worst, `parameters ${[...fit.parameters].join(' ')}`).toBeGreaterThanOrEqual(6)
      // Lanczos1 was made without noise: its sum of squares is rounding alone.
      if (name === 'Lanczos1') {
        expect(fit.sumOfSquares).toBeLessThan(1e-20)
        return
      }
      expect(digits(fit.sumOfSquares, set.sumOfSquares)).toBeGreaterThanOrEqual(6)
      const n = set.certified.length
      const variance = fit.sumOfSquares / (y.length - n)
      for (let i = 0; i < n; i++)
        expect(digits(Math.sqrt(variance * fit.covariance![i * n + i]!), set.deviation[i]!), `deviation of b${i + 1}`).toBeGreaterThanOrEqual(4)
    })
  })
})
