import type { PositionName } from '../../contract/pointsFile.ts'

/** An instant with one standard deviation, seconds. */
export interface Instant {
  readonly t: number
  readonly sigma: number
}
export type Instants = Partial<Record<PositionName, Instant>>

/** How the second clip's clock runs against the first's: second = offset + rate x (first - about) + about. */
export interface TimeTie {
  /** What is added to the first clock at `about` to get the second, seconds. */
  readonly offset: number
  readonly offsetSigma: number
  /** Seconds of the second clock a second of the first: 1 but for a few parts in ten thousand in two phones of one swing. */
  readonly rate: number
  readonly rateSigma: number
  /** The middle of the positions, on the first clock, where offset and rate are independent. */
  readonly about: number
  readonly positions: readonly PositionName[]
  /** Root mean square of what is left at the positions, over its error: 1 where the two clips show one swing. */
  readonly misfit: number
}

/** How far phones' clocks are known to run apart, as a share: quartz without care. Common practice, no source. */
export const usualRateSigma = 2e-4
/** A position found or set is never better known than this against the other clip, seconds: two views see it differently. */
const leastSigma = 1e-3

/**
 * Ties two clips in time by the positions that both have (weighted least squares for offset and rate, the rate held near
 * 1 as phones' clocks are). Null where they share none.
 * @param rateSigma for two swings, which differ in tempo, give a wide one
 */
export function tieByPositions(first: Instants, second: Instants, rateSigma = usualRateSigma): TimeTie | null {
  const names = (Object.keys(first) as PositionName[]).filter((name) => second[name])
  if (names.length === 0) return null
  const rows = names.map((name) => {
    const a = first[name]!
    const b = second[name]!
    return { t: a.t, d: b.t - a.t, w: 1 / (a.sigma ** 2 + b.sigma ** 2 + leastSigma ** 2) }
  })
  const total = rows.reduce((sum, r) => sum + r.w, 0)
  const about = rows.reduce((sum, r) => sum + r.w * r.t, 0) / total
  const offset = rows.reduce((sum, r) => sum + r.w * r.d, 0) / total
  const spread = rows.reduce((sum, r) => sum + r.w * (r.t - about) ** 2, 0)
  const prior = 1 / rateSigma ** 2
  const slope = rows.reduce((sum, r) => sum + r.w * (r.t - about) * r.d, 0) / (spread + prior)
  const left = rows.reduce((sum, r) => sum + r.w * (r.d - offset - slope * (r.t - about)) ** 2, 0)
  const misfit = rows.length > 1 ? Math.sqrt(left / (rows.length - 1)) : 1
  const stretch = Math.max(1, misfit)
  return { offset, offsetSigma: stretch / Math.sqrt(total), rate: 1 + slope, rateSigma: stretch / Math.sqrt(spread + prior), about, positions: names, misfit }
}

/** The instant on the second clock. */
export const onSecond = (tie: TimeTie, first: number): number => first + tie.offset + (tie.rate - 1) * (first - tie.about)

/** One standard deviation of that, seconds: it grows away from the positions. */
export const tieSigmaAt = (tie: TimeTie, first: number): number => Math.hypot(tie.offsetSigma, tie.rateSigma * (first - tie.about))
