import type { PointName } from '../../contract/pointsFile.ts'
import { placeAt, type Track } from '../track.ts'
import type { SwingView } from '../viewOf.ts'

/** A part of the body that there is one of on either side. */
export const pairNames = ['Shoulder', 'Elbow', 'Wrist', 'Hip', 'Knee', 'Ankle'] as const
export type PairName = (typeof pairNames)[number]

export const leadOf = (pair: PairName): PointName => `lead${pair}`
export const trailOf = (pair: PairName): PointName => `trail${pair}`

/** A picture place of a right-hander's view with y turned up, pixels: x toward the target (face-on) or the ball (down the line). */
export type Place = readonly [x: number, up: number]

/** Where a view shows a point at an instant of its own clock; null where it is not placed near. */
export function placeOf(view: SwingView, point: PointName, t: number): Place | null {
  const track = view.tracks.get(point)
  const p = track && placeAt(track, t)
  return p ? [p[0], -p[1]] : null
}

export const midway = (a: Place | null, b: Place | null): Place | null => (a && b ? [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] : a ?? b)

const largest = (track: Track | undefined): number => track?.sigma.reduce((most, s) => Math.max(most, s), 0) ?? 0

/** One standard deviation of the difference of two placings of a pair, pixels. */
export const pairSigma = (view: SwingView, pair: PairName): number =>
  Math.SQRT2 * Math.max(largest(view.tracks.get(leadOf(pair))), largest(view.tracks.get(trailOf(pair))))

/**
 * How tall the student stands in the picture from the feet to the shoulders (to the head, the hips, as they are placed),
 * pixels; where that is not placed, as tall as a picture usually shows it.
 */
export function standing(view: SwingView, t: number): number {
  const both = (pair: PairName) => midway(placeOf(view, leadOf(pair), t), placeOf(view, trailOf(pair), t))
  const foot = both('Ankle') ?? both('Knee')
  const top = both('Shoulder') ?? placeOf(view, 'spineTop', t) ?? placeOf(view, 'head', t) ?? both('Hip')
  const usual = 0.25 * Math.max(view.width, view.height)
  return foot && top && top[1] > foot[1] ? Math.max(top[1] - foot[1], usual / 3) : usual
}
