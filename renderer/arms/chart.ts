import { sigmaOfChange, type Spread } from '../../shared/arms/spread.ts'
import type { SweepResult, SweepRow } from '../../shared/arms/types.ts'

const degrees = 180 / Math.PI

/** The sweep as columns over the elbow's place on its arc, centimetres from where it is now, negative in, ascending. */
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
 * The curve along the arc: a place of the elbow there has one azimuth, while its depth behind the body may be had twice. Angles
 * are unwrapped along it.
 * @param radiusM of the elbow's arc, metres
 */
export function sweepColumns({ rows, now }: SweepResult, radiusM: number, spread: Spread | null): SweepColumns {
  const part = unwrapped(rows)
  const sigma = (row: SweepRow): number | null => (spread ? sigmaOfChange(spread, row.swivelDeg - now.swivelDeg) : null)
  const edge = (i: number): boolean => part[i]!.reachable !== (part[i - 1]?.reachable ?? part[i]!.reachable) || part[i]!.reachable !== (part[i + 1]?.reachable ?? part[i]!.reachable)
  return {
    out: part.map((row) => alongArc(row.swivelDeg - now.swivelDeg, radiusM)), swivel: part.map((row) => row.swivelDeg),
    within: part.map((row) => (row.reachable ? row.azimuthDeg : null)),
    // Both curves share the row at which the range ends, so that there is no gap.
    beyond: part.map((row, i) => (row.reachable && !edge(i) ? null : row.azimuthDeg)),
    atLevel: part.map((row) => row.azimuthAtLevelDeg),
    low: part.map((row) => minus(row.azimuthDeg, sigma(row), -1)), high: part.map((row) => minus(row.azimuthDeg, sigma(row), 1)),
  }
}

const minus = (value: number, sigma: number | null, sign: 1 | -1): number | null => (sigma === null || !Number.isFinite(sigma) ? null : value + sign * sigma)

/** Centimetres along the arc of so many degrees of swivel. */
export const alongArc = (swivelDeg: number, radiusM: number): number => (100 * radiusM * swivelDeg) / degrees

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
