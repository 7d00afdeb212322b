import type { At, Unit } from '../swing/definition.ts'
import type { ViewName } from '../contract/pointsFile.ts'
import type { MeasureResult, SwingResult } from '../swing/measureSwing.ts'
import { measures } from '../swing/registry.ts'
import { cameraMeasures } from '../swing/measures/camera.ts'
import { decimalsFor, digitsOf, unitWords } from '../swing/measureWords.ts'

/** One measure of two swings. */
export interface Difference {
  readonly id: string
  readonly view: ViewName | null
  readonly at: At
  readonly unit: Unit
  readonly own: MeasureResult
  readonly reference: MeasureResult
  /** The student's less the reference's, in the unit; of angles the short way round. */
  readonly value: number
  /** One standard deviation of the difference, from the sides of both that face one another. */
  readonly sigma: number
  /** The difference in errors: how sure it is that there is one. */
  readonly times: number
  /** Whether the difference is larger than its error. */
  readonly exceeds: boolean
}

/** A measure that one of the swings, or either, does not give. */
export interface Uncompared {
  readonly id: string
  readonly view: ViewName | null
  readonly at: At
  /** Why the student's and the reference's are missing; null where that one is there. */
  readonly own: string | null
  readonly reference: string | null
}

/** Twice its error: what chance alone brings about in one of twenty (a normal distribution's 95 % is 1.96). */
export const sureTimes = 2

interface Keyed { readonly id: string; readonly view: ViewName | null; readonly at: At }
const keyOf = ({ id, view, at }: Keyed): string => `${id} ${view} ${at}`

/** What is said of the cameras, not of the swings: a difference of these is one of how the swings were filmed. */
export const isOfFilming = ({ id }: Pick<Difference, 'id'>): boolean => filming.has(id)
const filming = new Set([...cameraMeasures.map(({ id }) => id), 'ray-gap'])
const viewless = new Set(measures.filter(({ views }) => views === 'both' || views === 'swing').map(({ id }) => id))

/** The same measure of the same view; one that is no view's own also where the other swing has it from other views. */
function counterpart<T extends Keyed>(of: Keyed, among: ReadonlyMap<string, T>): T | undefined {
  const exact = among.get(keyOf(of))
  if (exact || !viewless.has(of.id)) return exact
  for (const view of [null, 'face-on', 'down-the-line'] as const) {
    const other = among.get(keyOf({ ...of, view }))
    if (other) return other
  }
  return undefined
}

/** Both swings' measures side by side, the surest difference first, and what cannot be compared with the reasons. */
export function differencesOf(own: SwingResult, reference: SwingResult): { readonly differences: readonly Difference[]; readonly missing: readonly Uncompared[] } {
  const others = new Map(reference.measures.map((row) => [keyOf(row), row]))
  const used = new Set<MeasureResult>()
  const differences: Difference[] = []
  const missing: Uncompared[] = []
  const lacking = (result: SwingResult) => new Map(result.missing.map((row) => [keyOf(row), row]))
  const [ownLacks, othersLack] = [lacking(own), lacking(reference)]
  const seen = new Set<string>()
  for (const row of own.measures) {
    const other = counterpart(row, others)
    if (other) {
      used.add(other)
      differences.push(difference(row, other))
    } else missing.push({ id: row.id, view: row.view, at: row.at, own: null, reference: counterpart(row, othersLack)?.why ?? 'is not measured there' })
    seen.add(keyOf(row))
  }
  for (const row of reference.measures) {
    if (used.has(row)) continue
    missing.push({ id: row.id, view: row.view, at: row.at, own: counterpart(row, ownLacks)?.why ?? 'is not measured there', reference: null })
    seen.add(keyOf(row))
  }
  for (const row of own.missing) {
    if (seen.has(keyOf(row)) || used.has(counterpart(row, others)!)) continue
    const other = counterpart(row, othersLack)
    if (other && !missing.some((one) => keyOf(one) === keyOf(row))) missing.push({ id: row.id, view: row.view, at: row.at, own: row.why, reference: other.why })
  }
  return { differences: differences.toSorted((a, b) => b.times - a.times || (keyOf(a) < keyOf(b) ? -1 : 1)), missing }
}

function difference(own: MeasureResult, reference: MeasureResult): Difference {
  const raw = own.value - reference.value
  const value = own.unit === 'deg' ? raw - 360 * Math.round(raw / 360) : raw
  // The true values lie nearer to one another by the errors of the sides that face.
  const above = Math.hypot(own.value - own.lo, reference.hi - reference.value)
  const below = Math.hypot(own.hi - own.value, reference.value - reference.lo)
  // Of none it is not known on which side it lies.
  const sigma = value > 0 ? above : value < 0 ? below : Math.max(above, below)
  const times = sigma > 0 ? Math.abs(value) / sigma : value === 0 ? 0 : Infinity
  return { id: own.id, view: own.view, at: own.at, unit: own.unit, own, reference, value, sigma, times, exceeds: times > 1 }
}

/** "+6.8 ± 1.7°": the sign is the student's against the reference. */
export function differenceWords({ value, sigma, unit }: Pick<Difference, 'value' | 'sigma' | 'unit'>): string {
  const decimals = decimalsFor(sigma)
  const digits = Math.abs(value).toFixed(decimals)
  const sign = Number(digits) === 0 ? '' : value < 0 ? '\u2212' : '+'
  return `${sign}${digits} \u00b1 ${sigma.toFixed(decimals)}${unitWords[unit]}`
}

/** How sure it is that there is a difference, in words. */
export const sureWords = ({ times }: Pick<Difference, 'times'>): string =>
  times > sureTimes ? 'sure' : times > 1 ? 'more than its error' : 'within its error'

/** A side's value with its error: "34.2 ± 1.3°". */
export function sideWords(row: MeasureResult): string {
  const { value, error } = digitsOf(row)
  return `${value} ${error}${unitWords[row.unit]}`
}
