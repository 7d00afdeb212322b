import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { wholePercents } from '../../shared/flight/wholePercents.ts'

describe('shares as whole percents', () => {
  it('adds up to 100, each within a percent of its share, the larger never less than the smaller', () => {
    fc.assert(fc.property(fc.array(fc.integer({ min: 0, max: 1000 }), { minLength: 2, maxLength: 6 }).filter((counts) => counts.some((n) => n > 0)), (counts) => {
      const all = counts.reduce((sum, n) => sum + n, 0)
      const shares = counts.map((n) => n / all)
      const percents = wholePercents(shares)
      expect(percents.reduce((sum, n) => sum + n, 0)).toBe(100)
      percents.forEach((percent, i) => {
        expect(Math.abs(percent - 100 * shares[i]!)).toBeLessThan(1)
        percents.forEach((other, k) => {
          if (counts[i]! > counts[k]!) expect(percent).toBeGreaterThanOrEqual(other)
        })
      })
    }))
  })

  it('gives two halves of an odd count 100 together, and nothing to nothing', () => {
    expect(wholePercents([0.625, 0.375])).toEqual([63, 37])
    expect(wholePercents([0.005, 0.995])).toEqual([1, 99])
    expect(wholePercents([0, 0])).toEqual([0, 0])
    expect(wholePercents([0.4958, 0.5042])).toEqual([50, 50])
  })
})
