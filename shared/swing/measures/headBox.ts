import { positionNames, type PositionName, type ViewName } from '../../contract/pointsFile.ts'
import { sigmaOf } from '../../signal/uncertain.ts'
import type { Positions } from '../reading.ts'

/** A head's height, chin to crown, over stature: Drillis & Contini 1966, after Winter, fig. 4.1 (from memory). */
export const headHeight = 0.13

/** The way of a head on its plane from its place at address, metres, with its instants in seconds. */
export interface HeadWay {
  readonly u: readonly number[]
  readonly v: readonly number[]
  readonly at: readonly number[]
  /** One standard deviation of a place by its placing, metres. */
  readonly sigma: number
  /** Relative error of the way's scale. */
  readonly share: number
}

/** When a head first leaves its box, seconds, with one standard deviation. */
export interface Leaving {
  readonly t: number
  readonly sigma: number
  readonly side: 'u' | '-u' | 'v' | '-v'
}

/** How far to either side of the edge the head's speed is taken over, seconds: over less, the placing's noise is taken for speed. */
const speedOver = 0.05
/** A head slower than this toward the edge stands at it, metres a second. */
const leastSpeed = 1e-3

/**
 * Where the way first passes the edge of a box of half this size about its beginning; null where it stays inside.
 * @param from the instant at which the way begins
 */
export function leavingOf({ u, v, at, sigma, share }: HeadWay, half: number, from: number): Leaving | null {
  const out = (k: number): number => (k < 0 ? 0 : Math.max(Math.abs(u[k]!), Math.abs(v[k]!))) - half
  const time = (k: number): number => (k < 0 ? from : at[k]!)
  const first = u.findIndex((_, k) => out(k) > 0)
  if (first < 0) return null
  const [low, high] = [out(first - 1), out(first)]
  const t = time(first - 1) + ((time(first) - time(first - 1)) * -low) / (high - low)
  let [before, after] = [first - 1, first]
  while (before >= 0 && t - time(before) < speedOver) before--
  while (after < u.length - 1 && time(after) - t < speedOver) after++
  const speed = (out(after) - out(before)) / Math.max(1e-6, time(after) - time(before))
  const side = Math.abs(u[first]!) > Math.abs(v[first]!) ? (u[first]! > 0 ? 'u' : '-u') : v[first]! > 0 ? 'v' : '-v'
  return { t, sigma: Math.hypot(sigma, share * half) / Math.max(speed, leastSpeed), side }
}

const sides: Readonly<Record<ViewName, Readonly<Record<Leaving['side'], string>>>> = {
  'face-on': { u: 'toward the target', '-u': 'away from the target', v: 'upward', '-v': 'downward' },
  'down-the-line': { u: 'toward the ball', '-u': 'away from the ball', v: 'upward', '-v': 'downward' },
}
/** An instant less well known than this is not told, seconds: the head passes the edge too slowly for it. */
const tellable = 0.25

/**
 * When the head first left the box about its place at address, a head's height each way, in words with the error: at which
 * side, how long after address and between which positions. Or that it stayed.
 */
export function leavingWords(way: HeadWay, statureM: number, view: ViewName, positions: Positions): string {
  const half = (headHeight * statureM) / 2
  const start = positions.address?.t.value ?? way.at[0]!
  const left = leavingOf(way, half, start)
  if (!left) {
    const most = way.u.reduce((best, u, k) => Math.max(best, Math.abs(u), Math.abs(way.v[k]!)), 0)
    return half - most < Math.hypot(way.sigma, way.share * half) ? 'the head stays in its box, by less than its error' : 'the head stays in its box'
  }
  const error = Math.hypot(left.sigma, positions.address ? sigmaOf(positions.address.t) : 0)
  const when = error < tellable ? `${(left.t - start).toFixed(2)} +- ${Math.max(0.01, error).toFixed(2)} s after address` : 'at an instant that its error leaves open'
  return `the head leaves its box ${sides[view][left.side]}, ${when}${betweenWords(left.t, positions)}`
}

function betweenWords(t: number, positions: Positions): string {
  const known = positionNames.flatMap((name) => (positions[name] ? [{ name, t: positions[name].t.value }] : []))
  const last = known.findLast((p) => p.t <= t)
  const next = known.find((p) => p.t > t)
  const title = (name: PositionName): string => name.replaceAll('-', ' ')
  return last && next ? `, between ${title(last.name)} and ${title(next.name)}` : ''
}
