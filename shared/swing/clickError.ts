import type { ClickError } from '../contract/digitising.ts'
import { defaultSigmaPx } from '../contract/pointsFile.ts'
import type { Vec2 } from '../geometry/vec.ts'

/** The picture's long side that click errors are kept at, pixels. */
const keptAt = 1920
/** Fewer degrees of freedom than this say less than the default does. */
const leastFreedom = 8

export const noClicks: ClickError = { squares: 0, freedom: 0 }

/** The mean of repeated placings of one point. */
export const meanPlacing = (placings: readonly Vec2[]): Vec2 =>
  [placings.reduce((sum, p) => sum + p[0], 0) / placings.length, placings.reduce((sum, p) => sum + p[1], 0) / placings.length]

/** What is known of the hand after one more point was placed several times, on a picture of this size. */
export function withRepeats(before: ClickError, placings: readonly Vec2[], picture: { readonly width: number; readonly height: number }): ClickError {
  if (placings.length < 2) return before
  const [mx, my] = meanPlacing(placings)
  const share = keptAt / Math.max(picture.width, picture.height)
  const squares = placings.reduce((sum, [x, y]) => sum + (x - mx) ** 2 + (y - my) ** 2, 0)
  return { squares: before.squares + squares * share * share, freedom: before.freedom + 2 * (placings.length - 1) }
}

export interface ClickSigma {
  /** One standard deviation of a click in x and in y, pixels of the picture. */
  readonly sigmaPx: number
  /** Its own standard deviation, pixels; null for the default, which is an assumption. */
  readonly uncertainty: number | null
  readonly basis: string
}

/**
 * How well this coach clicks on a picture of this size: the pooled standard deviation of all repeats, s = sqrt(squares / n)
 * with n degrees of freedom, itself known to about s / sqrt(2 n) (the usual approximation; exact to 5 % from n = 8 on). With
 * fewer, the default stands in.
 */
export function clickSigma({ squares, freedom }: ClickError, picture: { readonly width: number; readonly height: number }): ClickSigma {
  const share = Math.max(picture.width, picture.height) / keptAt
  if (freedom < leastFreedom) return { sigmaPx: defaultSigmaPx * share, uncertainty: null, basis: 'assumed until enough points have been placed three times' }
  // Identical placings would make a hand that never errs: a tenth of a pixel is the least.
  const sigmaPx = Math.max(Math.sqrt(squares / freedom), 0.1) * share
  return { sigmaPx, uncertainty: sigmaPx / Math.sqrt(2 * freedom), basis: `from ${freedom} repeats of your own` }
}
