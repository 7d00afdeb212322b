import { dot3, sub3, type ImagePoint } from '../../geometry/vec.ts'
import { median } from '../../signal/quantile.ts'
import { sightline, type Camera } from '../projection.ts'
import { meetSightlines } from '../triangulation.ts'
import type { Seen } from './input.ts'

/** What two views cannot be, each in one sentence with the number that shows it. */

/** Sightlines that cross at less than this fix no depth, radians. */
export const leastCrossing = (8 * Math.PI) / 180
/** Sightlines of the points that miss each other by more, in the middle of all, metres, are of no one swing, however badly marked. */
export const farApart = 0.03
/** And so are those that miss each other by this many times what the marks' errors allow. */
export const farOff = 20
/**
 * Sightlines to the club that come and go by more through one swing, metres and times the marks' errors, are of two: of
 * 40 simulated rigs of one swing whose marks were 25 mm amiss none came to 18 mm, and of 21 pairs of two players that
 * nothing else refused 18 were beyond 20.
 */
export const restless = 0.02
export const restlessTimes = 4
/** Clocks this many times farther apart than they are said to be are not those of one swing. */
export const clockLimit = 5

const degrees = (a: number): string => `${((a * 180) / Math.PI).toFixed(a < 0.17 ? 1 : 0)} degrees`

/** Why the sightlines to one point fix no place, or null where they do. */
export function meetingFault(what: string, one: Camera, a: ImagePoint, two: Camera, b: ImagePoint, names: readonly [string, string]): string | null {
  const meeting = meetSightlines(one, a, two, b)
  if (meeting) return meeting.angle < leastCrossing ? `the two sightlines to ${what} cross at ${degrees(meeting.angle)}, too few to fix a place (${degrees(leastCrossing)} at least)` : null
  const u = sightline(one, a)
  const v = sightline(two, b)
  const [uu, uv, vv] = [dot3(u, u), dot3(u, v), dot3(v, v)]
  const det = uu * vv - uv * uv
  if (!(det > 1e-10 * uu * vv)) return `the two sightlines to ${what} are parallel: they cross at 0 degrees`
  const w = sub3(two.place, one.place)
  const s = ((vv * dot3(u, w) - uv * dot3(v, w)) / det) * Math.sqrt(uu)
  const t = ((uv * dot3(u, w) - uu * dot3(v, w)) / det) * Math.sqrt(vv)
  const [name, behind] = s < t ? [names[0], s] : [names[1], t]
  return `the two sightlines to ${what} meet ${Math.abs(behind).toFixed(2)} m behind the ${name} camera`
}

export interface SeenTwice {
  readonly one: Seen
  readonly two: Seen
}

/**
 * Whether two views were taken from nearly the same side: then a point's place across the one picture tells that across
 * the other. From cameras an angle apart, the share that it tells is about the cosine of it squared, bodies being about
 * as deep as they are wide. A sentence, or null.
 */
export function sameSideFault(points: readonly SeenTwice[]): string | null {
  if (points.length < 8) return null
  const mean = (f: (p: SeenTwice) => number): number => points.reduce((sum, p) => sum + f(p), 0) / points.length
  const [a, b] = [mean((p) => p.one.x), mean((p) => p.two.x)]
  const [aa, ab, bb] = [mean((p) => (p.one.x - a) ** 2), mean((p) => (p.one.x - a) * (p.two.x - b)), mean((p) => (p.two.x - b) ** 2)]
  const angle = Math.acos(Math.max(-1, Math.min(1, ab / Math.sqrt(aa * bb))))
  return angle < leastApart
    ? `The two views look the same way: their pictures differ as those of cameras some ${degrees(angle)} apart do, and one must be face-on, the other down the line.`
    : null
}

/** Pictures that differ by less are of one side, radians. */
const leastApart = (20 * Math.PI) / 180

/** How far the sightlines of points miss each other through known cameras: metres, and over the marks' errors; null for too few. */
export function givenMisfit(points: readonly SeenTwice[], one: Camera, two: Camera): { readonly gap: number; readonly times: number } | null {
  const gaps: number[] = []
  const ratios: number[] = []
  for (const p of points) {
    const meeting = meetSightlines(one, [p.one.x, p.one.y], two, [p.two.x, p.two.y])
    if (!meeting) continue
    const gap = Math.abs(meeting.gap)
    const depth = (c: Camera) => Math.hypot(...sub3(meeting.point, c.place)) / c.focalPx
    gaps.push(gap)
    ratios.push(gap / Math.hypot(p.one.sigma * depth(one), p.two.sigma * depth(two)))
  }
  // The size of one Gaussian has its middle at .674 of its deviation.
  return ratios.length < 8 ? null : { gap: median(gaps), times: median(ratios) / 0.674 }
}

export const notOneSwing = (gap: number, times: number): string =>
  `The two views cannot be of one swing: the sightlines of their points miss each other by ${(1000 * gap).toFixed(0)} mm, ${times.toFixed(0)} times what the marks' own error allows. Check that both clips show the same swing, the tie, and lead and trail of the points.`

export const clubComesAndGoes = (gap: number, times: number): string =>
  `The two views cannot be of one swing: through it the sightlines to the club come and go by ${(1000 * gap).toFixed(0)} mm against each other, ${times.toFixed(0)} times what the marks' own error allows, and marks set badly would be off by the same throughout. Check that both clips show the same swing and that their clocks run alike; two swings are tied position by position.`

/** @param gap how far the sightlines miss each other from where either view alone puts its camera, metres */
export const noneMeets = (gap: number): string =>
  `The two views cannot be of one swing as they are tied: no two cameras bring their points together, and from where each view alone puts its own the sightlines miss each other by ${(1000 * gap).toFixed(0)} mm. Check that both clips show the same swing, the tie, and lead and trail of the points.`

/** @param gap what is left with the clocks so far apart, metres, and over the marks' errors: 1 where that explains all */
export function clocksApart(shift: number, allowed: number, gap: number, times: number): string {
  const [apart, may] = [(1000 * Math.abs(shift)).toFixed(0), (1000 * allowed).toFixed(0)]
  return times < 2
    ? `The two views cannot be of one swing as they are tied: their points only meet with the clocks ${apart} ms apart, and ${may} ms are allowed. Check the tie.`
    : `The two views cannot be of one swing as they are tied: even with the clocks ${apart} ms apart, where ${may} ms are allowed, their points miss each other by ${(1000 * gap).toFixed(0)} mm, ${times.toFixed(0)} times what the marks' own error allows. Check that both clips show the same swing, and the tie.`
}

export const sameWay = (angle: number): string =>
  `The two cameras look the same way: their sightlines cross at ${degrees(angle)}, and ${degrees(leastCrossing)} are the least that fix a place.`
