import { sigmaOfChange, type Spread } from '../../shared/arms/spread.ts'
import type { SweepResult, SweepRow } from '../../shared/arms/types.ts'

/** The sweep as columns over the elbow's place behind the body, ascending. */
export interface SweepColumns {
  readonly out: readonly number[]
  readonly swivel: readonly number[]
  /** Azimuth where every joint is in its range; null elsewhere. */
  readonly within: readonly (number | null)[]
  readonly beyond: readonly (number | null)[]
  readonly atLevel: readonly (number | null)[]
  /** One standard deviation of the change from now either way; null while it is not known. */
  readonly low: readonly (number | null)[]
  readonly high: readonly (number | null)[]
}

/**
 * The stretch about now in which the elbow's place behind the body goes one way with its swivel, so that a place has one
 * azimuth. Angles are unwrapped along it.
 */
export function sweepColumns({ rows, now }: SweepResult, spread: Spread | null): SweepColumns {
  const at = nearestTo(rows, now.swivelDeg)
  let first = at
  let last = at
  const rises = (i: number): boolean => rows[i + 1]!.elbowOutCm > rows[i]!.elbowOutCm
  while (last + 1 < rows.length && rises(last)) last++
  while (first > 0 && rises(first - 1)) first--
  const part = unwrapped(rows.slice(first, last + 1))
  const sigma = (row: SweepRow): number | null => (spread ? sigmaOfChange(spread, row.swivelDeg - now.swivelDeg) : null)
  const edge = (i: number): boolean => part[i]!.reachable !== (part[i - 1]?.reachable ?? part[i]!.reachable) || part[i]!.reachable !== (part[i + 1]?.reachable ?? part[i]!.reachable)
  return {
    out: part.map((row) => row.elbowOutCm), swivel: part.map((row) => row.swivelDeg),
    within: part.map((row) => (row.reachable ? row.azimuthDeg : null)),
    // Both curves share the row at which the range ends, so that there is no gap.
    beyond: part.map((row, i) => (row.reachable && !edge(i) ? null : row.azimuthDeg)),
    atLevel: part.map((row) => row.azimuthAtLevelDeg),
    low: part.map((row) => minus(row.azimuthDeg, sigma(row), -1)), high: part.map((row) => minus(row.azimuthDeg, sigma(row), 1)),
  }
}

const minus = (value: number, sigma: number | null, sign: 1 | -1): number | null => (sigma === null || !Number.isFinite(sigma) ? null : value + sign * sigma)

function nearestTo(rows: readonly SweepRow[], swivel: number): number {
  let best = 0
  rows.forEach((row, i) => {
    if (Math.abs(row.swivelDeg - swivel) < Math.abs(rows[best]!.swivelDeg - swivel)) best = i
  })
  return best
}

/** Each angle within half a turn of the one before it. */
function unwrapped(rows: readonly SweepRow[]): SweepRow[] {
  const near = (angle: number, to: number | undefined): number => (to === undefined ? angle : angle - 360 * Math.round((angle - to) / 360))
  const out: SweepRow[] = []
  for (const row of rows) {
    const before = out.at(-1)
    const level = row.azimuthAtLevelDeg
    out.push({ ...row, azimuthDeg: near(row.azimuthDeg, before?.azimuthDeg), azimuthAtLevelDeg: level === null ? null : near(level, before?.azimuthAtLevelDeg ?? undefined) })
  }
  return out
}

/** Between the columns' rows: the value of one column where another has a value; null outside. Both ascend or the second does not matter. */
export function interpolate(xs: readonly number[], ys: readonly number[], x: number): number | null {
  if (xs.length === 0 || x < xs[0]! || x > xs.at(-1)!) return null
  let i = 0
  while (i + 2 < xs.length && xs[i + 1]! < x) i++
  const [a, b] = [xs[i]!, xs[i + 1] ?? xs[i]!]
  const t = b === a ? 0 : (x - a) / (b - a)
  return ys[i]! + t * ((ys[i + 1] ?? ys[i]!) - ys[i]!)
}
