/** The value below which a share p of the samples lies, interpolated between the two nearest (Hyndman & Fan 1996, type 7). */
export function quantile(samples: readonly number[], p: number): number {
  if (samples.length === 0) throw new RangeError('no samples')
  const sorted = samples.toSorted((a, b) => a - b)
  const place = (sorted.length - 1) * Math.min(Math.max(p, 0), 1)
  const low = Math.floor(place)
  const a = sorted[low]!
  const b = sorted[Math.min(low + 1, sorted.length - 1)]!
  return a + (b - a) * (place - low)
}

export const median = (samples: readonly number[]): number => quantile(samples, 0.5)

/** The standard deviation that a normal sample with this median absolute deviation would have. */
export function robustDeviation(samples: readonly number[]): number {
  const middle = median(samples)
  return 1.482602218505602 * median(samples.map((value) => Math.abs(value - middle)))
}
