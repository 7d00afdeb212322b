/**
 * Shares of one whole as whole percents that add up to what all of them together round to (100 where the shares are all there is): each
 * is rounded down, and what is left goes to those that lost most, earlier ones first (largest remainder).
 * @param shares 0 to 1, together at most 1 but for rounding errors
 */
export function wholePercents(shares: readonly number[]): number[] {
  const exact = shares.map((share) => 100 * share)
  const out = exact.map((value) => Math.floor(value + 1e-9))
  const left = Math.round(exact.reduce((sum, value) => sum + value, 0)) - out.reduce((sum, value) => sum + value, 0)
  const byLoss = exact.map((value, i) => ({ i, lost: value - out[i]! })).toSorted((a, b) => b.lost - a.lost || a.i - b.i)
  for (const { i } of byLoss.slice(0, Math.max(0, left))) out[i] = out[i]! + 1
  return out
}
