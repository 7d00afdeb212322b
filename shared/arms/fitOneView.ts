import type { FitResult } from './types.ts'

/** What is known beside the marks of the one view. */
export interface OneViewKnown {
  readonly view: 'face-on' | 'down-the-line'
  readonly camera: 'given' | 'solved'
  /** The shaft's direction was read from how it moves: down the line alone. */
  readonly motion: boolean
  readonly stature: boolean
}

export const oneViewReadings = ['azimuthDeg', 'azimuthAtLevelDeg', 'elevationDeg', 'swivelDeg', 'elbowOutCm'] as const
export type OneViewReading = (typeof oneViewReadings)[number]

/** By how much the errors of one fit are to be taken larger or smaller, in the order of `oneViewReadings`: stature known, not known. */
type Shares = readonly [number, number, number, number, number]
type Row = readonly [known: Shares, unknown: Shares]

/**
 * What is taken as usual in one view is off together, which the errors of the fit itself do not hold: the half width that holds 68 % of
 * the true readings over random bodies before random cameras, against the fit's own. Worked out by `node tests/nightly/armsFit.ts`, whose
 * table stands in MODEL.md; of 94 to 130 fits each (56 and 37 down the line in motion without the stature), rounded to .05.
 */
const shares: Readonly<Record<string, Row>> = {
  'down-the-line given motion': [[0.9, 0.5, 0.8, 0.9, 1.05], [0.85, 0.6, 0.95, 1.15, 0.9]],
  'down-the-line given still': [[0.65, 1.05, 0.7, 0.9, 1.2], [0.6, 0.95, 0.75, 1.15, 1]],
  'down-the-line solved motion': [[0.8, 0.65, 0.8, 1, 1.15], [0.95, 0.65, 0.85, 1.1, 0.85]],
  'down-the-line solved still': [[0.9, 0.95, 0.85, 1.05, 1], [0.8, 0.85, 0.9, 1.35, 0.9]],
  'face-on given still': [[0.85, 0.95, 1.05, 0.85, 1.2], [0.65, 0.8, 0.65, 0.85, 1.45]],
  'face-on solved still': [[1, 1, 0.95, 1, 1.1], [0.85, 0.9, 0.9, 0.95, 1.35]],
}

export const oneViewKey = ({ view, camera, motion }: OneViewKnown): string => `${view} ${camera} ${motion ? 'motion' : 'still'}`

/** The errors of a fit from one view: its own, with what one view leaves open. */
export function oneViewSigma(sigma: FitResult['sigma'], known: OneViewKnown): FitResult['sigma'] {
  const row = shares[oneViewKey(known)]
  if (!row) return sigma
  const of = row[known.stature ? 0 : 1]
  const out = { ...sigma }
  for (const [k, name] of oneViewReadings.entries()) {
    const own = sigma[name]
    if (own !== null) out[name] = own * of[k]!
  }
  return out
}
