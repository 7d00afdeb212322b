import { positionNames, type PointsFile, type PositionName } from '../contract/pointsFile.ts'
import type { Uncertain } from '../signal/uncertain.ts'
import type { Positions, Swing } from './reading.ts'

/**
 * Two swings, one from each side, read together position by position: what stands at a position in the one is taken to
 * stand there in the other, within what the student repeats.
 */

/**
 * How far a point of a student's swing comes back to the same place at the same position, metres in each direction,
 * where the coach has no figure for this student: common practice, no source.
 */
export const usualRepeatabilityM = 0.025

export const repeatabilityM = (swing: Swing): number => swing.file.repeatabilityM ?? usualRepeatabilityM

const centimetres = (m: number): string => (100 * m).toFixed(1)

/** What each point is taken to repeat within, and who says so. */
export function repeatabilityBasis({ repeatabilityM: m, repeatabilityFrom: from }: Pick<PointsFile, 'repeatabilityM' | 'repeatabilityFrom'>): string {
  if (m === undefined) return `repeatability ${centimetres(usualRepeatabilityM)} cm, assumed: none is set for the student`
  if (from?.by === 'swings') return `repeatability ${centimetres(m)} +- ${centimetres(from.sigmaM)} cm, from ${from.swings} swings`
  return `repeatability ${centimetres(m)} cm, ${from ? 'set by the coach' : 'as the file gives it'}`
}

export const isTwoSwings = (swing: Swing): boolean => swing.views.length === 2 && !swing.file.sameSwing

interface Knot {
  readonly name: PositionName
  readonly one: Uncertain
  readonly two: Uncertain
}

function knots(swing: Swing): Knot[] {
  const [a, b] = swing.views.map((v): Positions => swing.positions.get(v.name) ?? {})
  return positionNames.flatMap((name) => (a?.[name] && b?.[name] ? [{ name, one: a[name].t, two: b[name].t }] : []))
}

/**
 * The instant of the second swing that goes with one of the first: straight lines between the positions that both have,
 * with the error of the nearest of them in the second. Null where they share no position near.
 */
export function otherInstant(swing: Swing, t: Uncertain): Uncertain | null {
  const all = knots(swing)
  const nearest = all.reduce<Knot | null>((best, k) => (best === null || Math.abs(k.one.value - t.value) < Math.abs(best.one.value - t.value) ? k : best), null)
  if (!nearest) return null
  const after = t.value > nearest.one.value
  const i = all.indexOf(nearest)
  const next = all[after ? i + 1 : i - 1]
  const rate = next ? (next.two.value - nearest.two.value) / (next.one.value - nearest.one.value) : 1
  return { value: nearest.two.value + rate * (t.value - nearest.one.value), parts: nearest.two.parts }
}

/** The positions that both swings have, in order. */
export const sharedPositions = (swing: Swing): readonly PositionName[] => knots(swing).map((k) => k.name)

export const twoSwingsBasis = (swing: Swing): string =>
  `two swings tied position by position, no one swing but the usual one of both, ${repeatabilityBasis(swing.file)}`
