import type { PointName } from '../../contract/pointsFile.ts'
import { sub3 } from '../../geometry/vec.ts'
import { median } from '../../signal/quantile.ts'
import type { Camera } from '../projection.ts'
import { meetSightlines } from '../triangulation.ts'
import { clubTails, clubTips } from './input.ts'
import type { SolveProblem } from './problem.ts'

/**
 * How much the gap between the two sightlines to the club changes through the swing. Marks that are set badly are off by
 * much the same throughout, and cameras give way to that; swings of two players move apart and together again.
 */
export interface ClubGap {
  /** One standard deviation about each point's own middle, metres. */
  readonly gap: number
  /** The same over the marks' errors. */
  readonly times: number
}

const club: readonly PointName[] = [...clubTails, ...clubTips]
/** Of fewer instants a point's own middle takes too much away. */
const fewest = 6
/** The size of one Gaussian has its middle at .674 of its deviation. */
const middleShare = 0.674

/** @param shift what the second clock is ahead, seconds. Null where the club is seen too seldom. */
export function clubGap([one, two]: readonly Camera[], problem: SolveProblem, shift: number): ClubGap | null {
  if (!one || !two) return null
  const gaps: number[] = []
  const times: number[] = []
  for (const name of club) {
    const seen: { readonly gap: number; readonly sigma: number }[] = []
    for (const point of problem.points) {
      const [a, b] = point.seen
      if (point.name !== name || !a || !b) continue
      const meeting = meetSightlines(one, [a.x, a.y], two, [b.x + shift * b.rate[0], b.y + shift * b.rate[1]])
      if (!meeting) continue
      const depth = (c: Camera): number => Math.hypot(...sub3(meeting.point, c.place)) / c.focalPx
      seen.push({ gap: meeting.gap, sigma: Math.hypot(a.sigma * depth(one), b.sigma * depth(two)) })
    }
    if (seen.length < fewest) continue
    const own = median(seen.map((s) => s.gap))
    for (const { gap, sigma } of seen) {
      gaps.push(Math.abs(gap - own))
      times.push(Math.abs(gap - own) / sigma)
    }
  }
  return gaps.length ? { gap: median(gaps) / middleShare, times: median(times) / middleShare } : null
}
