import { findRoot } from '../../signal/crossing.ts'
import { exact, moving, type Uncertain } from '../../signal/uncertain.ts'
import { isMissing, type Missing } from '../reading.ts'

/** Something that is zero at the wanted instant. */
export interface Level {
  /** Without its error: for searching. NaN where it cannot be read. */
  readonly value: (t: number) => number
  readonly read: (t: Uncertain) => Uncertain | Missing
}

/**
 * The instant at which a reading is zero, between two instants of different sign. It carries the errors of the points
 * it comes from, so that what is then read at that instant knows them too.
 * @param step seconds over which the reading's rate is taken
 */
export function levelInstant(level: Level, from: number, to: number, step: number): Uncertain | null {
  const { value } = level
  const root = findRoot(value, from, to, 1e-6)
  if (root === null) return null
  const reading = level.read(exact(root))
  if (isMissing(reading)) return null
  const high = value(root + step)
  const low = value(root - step)
  const rate = Number.isFinite(high - low) ? (high - low) / (2 * step) : (value(to) - value(from)) / (to - from)
  if (!(Math.abs(rate) > 0)) return null
  return moving(root, reading, -1 / rate)
}

/** The first (or the last) pair of neighbouring samples between which a signal goes from negative to positive, or the other way. */
export function crossings(t: readonly number[], y: readonly number[], from: number, to: number, rising: boolean): [number, number][] {
  const found: [number, number][] = []
  for (let i = 0; i + 1 < t.length; i++) {
    if (t[i]! < from || t[i + 1]! > to) continue
    if (rising ? y[i]! < 0 && y[i + 1]! >= 0 : y[i]! >= 0 && y[i + 1]! < 0) found.push([t[i]!, t[i + 1]!])
  }
  return found
}
