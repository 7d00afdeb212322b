import { describe, expect, it } from 'vitest'
import { butterworth, dualPassCorrection, runFilter, steadyState, zeroLag } from '../../shared/signal/butterworth.ts'
import { crossingTime, findRoot } from '../../shared/signal/crossing.ts'
import { polynomialWeights } from '../../shared/signal/localPolynomial.ts'
import { oneEuroStep, smoothingFactor } from '../../shared/signal/oneEuro.ts'
import { parabolicPeak } from '../../shared/signal/peak.ts'
import { quantile, robustDeviation } from '../../shared/signal/quantile.ts'
import { savitzkyGolay } from '../../shared/signal/savitzkyGolay.ts'
import { outsideJson } from '../fixtures/outsideData.ts'

interface Goldens {
  signal_values: number[]
  dual_pass_correction_2nd_order: number
  butter: { order: number; fc: number; fs: number; b: number[]; a: number[]; zi: number[]; lfilter_first20: number[]; filtfilt_odd: number[]; filtfilt_ends: [number[], number[]] }[]
  savgol: { window: number; poly: number; deriv: number; delta: number; coeffs_dot: number[]; every10: number[]; ends: [number[], number[]] }[]
}
const goldens = outsideJson<Goldens>('numeric/scipy_goldens.json')

function expectClose(found: readonly number[], wanted: readonly number[], digits = 9, scale = 1) {
  expect(found).toHaveLength(wanted.length)
  found.forEach((value, i) => expect(value / scale).toBeCloseTo(wanted[i]! / scale, digits))
}

// Computed with SciPy for this purpose; the signal is a hand of a recorded swing at 120 Hz.
describe.skipIf(!goldens)('filters against SciPy, to 1e-9', () => {
  const g = goldens!
  const x = g?.signal_values
  it('has the two-pass correction', () => expect(dualPassCorrection).toBeCloseTo(g.dual_pass_correction_2nd_order, 12))

  it.each(g?.butter ?? [])('Butterworth of order $order at $fc Hz', (set) => {
    const filter = butterworth(set.order, set.fc, set.fs)
    expectClose(filter.b, set.b, 12)
    expectClose(filter.a, set.a, 12)
    expectClose(steadyState(filter), set.zi, 9)
    expectClose(runFilter(filter, x).slice(0, 20), set.lfilter_first20)
    const smooth = zeroLag(filter, x)
    expectClose(smooth.filter((_, i) => i % 10 === 0), set.filtfilt_odd)
    expectClose(smooth.slice(0, 5), set.filtfilt_ends[0])
    expectClose(smooth.slice(-5), set.filtfilt_ends[1])
  })

  it.each(g?.savgol ?? [])('Savitzky-Golay of $window samples, degree $poly, derivative $deriv', (set) => {
    const smooth = savitzkyGolay(x, set.window, set.poly, set.deriv, set.delta)
    // Second derivatives are of the size of 100, and a difference of 1e-9 of that is rounding.
    const scale = set.deriv === 2 ? 100 : 1
    expectClose(smooth.filter((_, i) => i % 10 === 0), set.every10, 9, scale)
    expectClose(smooth.slice(0, set.ends[0].length), set.ends[0], 9, scale)
    expectClose(smooth.slice(-set.ends[1].length), set.ends[1], 9, scale)
    const times = Array.from({ length: set.window }, (_, i) => i * set.delta)
    expectClose([...polynomialWeights(times, times[(set.window - 1) / 2]!, set.poly, set.deriv)], set.coeffs_dot, 9, set.deriv === 2 ? 1e4 : 1)
  })
})

describe('published coefficients', () => {
  // Winter, Biomechanics and Motor Control of Human Movement; numbers computed from the stated formula.
  it.each([
    [60, 6, 1, [0.067455, 0.134911, 0.067455], [1.142981, -0.412802]],
    [60, 6, dualPassCorrection, [0.094447, 0.188893, 0.094447], [0.962641, -0.340428]],
    [240, 10, dualPassCorrection, [0.02139, 0.042781, 0.02139], [1.545768, -0.631329]],
  ])('Butterworth at %d samples a second, %d Hz, correction %d', (rate, cutoff, correction, b, feedback) => {
    const filter = butterworth(2, cutoff, rate, correction)
    expectClose(filter.b, b, 6)
    expectClose(filter.a.slice(1).map((value) => -value), feedback, 6)
    expect(dualPassCorrection).toBeCloseTo(0.80224, 5)
  })

  // Savitzky & Golay 1964; the first derivative from memory.
  it.each([
    [5, 2, 0, [-3, 12, 17, 12, -3], 35],
    [7, 2, 0, [-2, 3, 6, 7, 6, 3, -2], 21],
    [9, 2, 0, [-21, 14, 39, 54, 59, 54, 39, 14, -21], 231],
    [5, 2, 1, [-2, -1, 0, 1, 2], 10],
  ])('Savitzky-Golay of %d samples, degree %d, derivative %d', (window, degree, derivative, numerators, divisor) => {
    const times = Array.from({ length: window }, (_, i) => i)
    expectClose([...polynomialWeights(times, (window - 1) / 2, degree, derivative)], numerators.map((value) => value / divisor), 12)
  })

  // Casiez, Roussel & Vogel 2012; computed from the stated formula.
  it('One-Euro lets .049755 of a sample in at 120 Hz and a cutoff of 1 Hz', () => {
    expect(smoothingFactor(1, 1 / 120)).toBeCloseTo(0.049755, 6)
  })
})

describe('between samples', () => {
  it('a peak of .8, 1, .9 lies .16667 frame on, at 1.00417', () => {
    const peak = parabolicPeak(0.8, 1, 0.9)!
    expect(peak.offset).toBeCloseTo(0.16667, 5)
    expect(peak.value).toBeCloseTo(1.00417, 5)
    expect(parabolicPeak(1, 2, 3)).toBeNull()
  })

  it('a crossing from -2 to +3 degrees lies .4 of a frame in', () => {
    expect(crossingTime(0, -2, 1, 3)).toBeCloseTo(0.4, 12)
    expect(crossingTime(0, 2, 1, 3)).toBeNull()
    expect(crossingTime(5, 0, 6, 3)).toBe(5)
  })

  it('roots are found to the nanosecond', () => {
    expect(findRoot((t) => Math.cos(t), 1, 2)).toBeCloseTo(Math.PI / 2, 9)
    expect(findRoot((t) => t ** 9 - 1e-3, 0, 4)).toBeCloseTo(1e-3 ** (1 / 9), 8)
    expect(findRoot((t) => t + 1, 0, 1)).toBeNull()
  })

  it('a One-Euro filter follows a step and holds still on a constant', () => {
    const options = { minCutoff: 1, beta: 0.02, speedCutoff: 1 }
    let state = oneEuroStep(null, 0, 5, options)
    for (let i = 1; i < 10; i++) state = oneEuroStep(state, i / 120, 5, options)
    expect(state.value).toBe(5)
    for (let i = 10; i < 400; i++) state = oneEuroStep(state, i / 120, 9, options)
    expect(state.value).toBeCloseTo(9, 2)
  })

  it('quantiles interpolate between the nearest samples', () => {
    expect(quantile([4, 1, 3, 2], 0.5)).toBe(2.5)
    expect(quantile([4, 1, 3, 2], 0.25)).toBe(1.75)
    expect(quantile([7], 0.9)).toBe(7)
    expect(robustDeviation([1, 2, 3, 4, 100])).toBeCloseTo(1.4826, 4)
  })
})
