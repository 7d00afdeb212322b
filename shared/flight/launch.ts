import { exact, measured, propagate, sigmaOf, Sources, type Uncertain } from '../signal/uncertain.ts'

/** A number with one standard deviation, in the number's own unit. */
export interface Known {
  readonly value: number
  readonly sigma: number
}

/**
 * What share of the angle from path to face the ball's start follows. Wood et al. 2018 (Proceedings 2(6):249) measured
 * .61 to .83; .85 for a driver and .75 for irons are common practice without a source, and .85 lies outside what was measured.
 */
export const measuredFaceShare = { lo: 0.61, hi: 0.83 } as const
export const practiceFaceShare = { driver: 0.85, irons: 0.75 } as const

export type ClubSort = keyof typeof practiceFaceShare

/** The middle of the measured range, with an error that treats every place in it as equally likely: width over root twelve. */
export const measuredShare: Known = {
  value: (measuredFaceShare.lo + measuredFaceShare.hi) / 2,
  sigma: (measuredFaceShare.hi - measuredFaceShare.lo) / Math.sqrt(12),
}

/**
 * The direction in which the ball starts: path + k (face - path), degrees from the target line seen from above, positive to
 * the push side (the ball's side of the target line, +Z) for either hand.
 * @param face where the face points at impact @param path where the club moves @param k the face's share
 */
export const launchDirection = (face: number, path: number, k: number): number => path + k * (face - path)

/** A function of independent numbers with its error, to first order. */
function through(inputs: readonly Known[], f: (v: ArrayLike<number>) => number): Known {
  const sources = new Sources()
  const given = inputs.map(({ value, sigma }): Uncertain => (sigma > 0 ? measured(value, sigma, sources.fresh()) : exact(value)))
  const [result] = propagate((v) => [f(v)], given)
  return { value: result!.value, sigma: sigmaOf(result!) }
}

/** The start direction with its error, the three numbers being independent. */
export const launchOf = (face: Known, path: Known, k: Known): Known => through([face, path, k], (v) => launchDirection(v[0]!, v[1]!, v[2]!))

/** The start directions over the measured range of k, lower first: what is not known of k shown as what it does. */
export function launchRange(face: number, path: number): readonly [number, number] {
  const ends = [measuredFaceShare.lo, measuredFaceShare.hi].map((k) => launchDirection(face, path, k)) as [number, number]
  return ends[0] <= ends[1] ? ends : [ends[1], ends[0]]
}

/** How far off its line a ball that starts `degrees` off and flies straight is at a distance along the line; in the distance's unit. */
export const missAt = (distance: number, degrees: number): number => distance * Math.tan((degrees * Math.PI) / 180)

export const missOf = (distance: Known, start: Known): Known => through([distance, start], (v) => missAt(v[0]!, v[1]!))
