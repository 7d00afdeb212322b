import type { PointName, PositionName, ViewName } from '../contract/pointsFile.ts'

/**
 * Where a landmark is taken to stand along a camera's line of sight when only that camera saw it: metres from the
 * origin midway between the ankles, toward the ball for face-on, toward the target for down the line, and how far that
 * may be off. Common practice, no source; looked over against a recorded swing. It moves lengths by a few percent
 * (off-plane effect) and angles by nothing.
 */
export interface Depth {
  /** At address. */
  readonly at: number
  readonly sigma: number
  /** How much nearer to the ball (the target) it has come with the lead arm level, at the top and at impact. */
  readonly change: Changes
  readonly changeSigma: Changes
}
type Changes = readonly [armLevel: number, top: number, impact: number]

/** A point, or a place midway between two that turns less than either. */
export type DepthName = PointName | 'midShoulders' | 'midHips'

const depth = (at: number, sigma: number, change: Changes, changeSigma: Changes): Depth => ({ at, sigma, change, changeSigma })
/** What the feet stand on and the ball lies on stays. */
const still = (at: number, sigma: number): Depth => depth(at, sigma, [0, 0, 0], [0.02, 0.02, 0.02])

const towardBall: Partial<Record<DepthName, Depth>> = {
  head: depth(0.26, 0.1, [-0.01, -0.02, -0.02], [0.03, 0.05, 0.04]), crown: depth(0.22, 0.1, [-0.01, -0.02, -0.02], [0.03, 0.05, 0.04]),
  midShoulders: depth(0.2, 0.08, [0, -0.03, -0.02], [0.03, 0.05, 0.04]), midHips: depth(-0.02, 0.07, [-0.01, -0.02, 0.01], [0.03, 0.05, 0.03]),
  spineTop: depth(0.2, 0.08, [0, -0.03, -0.02], [0.03, 0.05, 0.04]), spineBase: depth(-0.04, 0.08, [-0.01, -0.02, 0.01], [0.03, 0.05, 0.03]),
  leadShoulder: depth(0.23, 0.1, [0.11, 0.11, -0.03], [0.06, 0.1, 0.05]), trailShoulder: depth(0.19, 0.1, [-0.13, -0.17, -0.02], [0.05, 0.06, 0.05]),
  leadElbow: depth(0.33, 0.11, [-0.04, -0.13, 0.01], [0.06, 0.07, 0.05]), trailElbow: depth(0.27, 0.12, [-0.24, -0.38, -0.03], [0.06, 0.08, 0.05]),
  leadWrist: depth(0.43, 0.13, [-0.19, -0.33, 0.03], [0.08, 0.1, 0.05]), trailWrist: depth(0.43, 0.13, [-0.19, -0.33, 0.03], [0.08, 0.1, 0.05]),
  hands: depth(0.46, 0.13, [-0.26, -0.38, 0.03], [0.08, 0.1, 0.05]), butt: depth(0.4, 0.13, [-0.14, -0.31, 0.03], [0.08, 0.1, 0.05]),
  leadHip: depth(0, 0.09, [0.04, 0.05, -0.02], [0.05, 0.07, 0.05]), trailHip: depth(-0.04, 0.09, [-0.06, -0.09, 0.03], [0.04, 0.05, 0.05]),
  leadKnee: depth(0.1, 0.08, [0.04, 0.06, 0], [0.05, 0.06, 0.05]), trailKnee: depth(0.08, 0.08, [-0.02, -0.03, 0.03], [0.04, 0.05, 0.05]),
  leadAnkle: still(0, 0.05), trailAnkle: still(0, 0.05),
  clubhead: depth(0.95, 0.16, [-1.15, -0.98, 0.03], [0.2, 0.24, 0.05]), shaftEnd: depth(0.93, 0.16, [-1.1, -0.96, 0.03], [0.2, 0.24, 0.05]), ball: still(0.95, 0.15),
}
const towardTarget: Partial<Record<DepthName, Depth>> = {
  head: depth(0, 0.06, [-0.05, -0.1, 0], [0.04, 0.07, 0.03]), crown: depth(0, 0.06, [-0.05, -0.1, 0], [0.04, 0.07, 0.03]),
  midShoulders: depth(0, 0.05, [-0.05, -0.1, 0.01], [0.04, 0.07, 0.03]), midHips: depth(0.01, 0.05, [-0.05, -0.09, 0.02], [0.04, 0.07, 0.03]),
  spineTop: depth(0, 0.05, [-0.05, -0.1, 0.01], [0.04, 0.07, 0.03]), spineBase: depth(0.01, 0.05, [-0.05, -0.09, 0.02], [0.04, 0.07, 0.03]),
  leadShoulder: depth(0.17, 0.07, [-0.14, -0.28, 0.01], [0.05, 0.08, 0.04]), trailShoulder: depth(-0.17, 0.06, [0.05, 0.07, 0.02], [0.04, 0.08, 0.04]),
  leadElbow: depth(0.12, 0.09, [-0.36, -0.41, 0], [0.06, 0.08, 0.04]), trailElbow: depth(-0.09, 0.1, [-0.22, -0.17, 0.02], [0.11, 0.07, 0.04]),
  leadWrist: depth(0.04, 0.12, [-0.51, -0.42, 0], [0.09, 0.12, 0.04]), trailWrist: depth(0.04, 0.12, [-0.51, -0.42, 0], [0.09, 0.12, 0.04]),
  hands: depth(0.02, 0.13, [-0.52, -0.33, 0], [0.1, 0.14, 0.04]), butt: depth(0.02, 0.13, [-0.46, -0.44, 0], [0.1, 0.14, 0.04]),
  leadHip: depth(0.12, 0.05, [-0.06, -0.13, 0.03], [0.05, 0.08, 0.04]), trailHip: depth(-0.1, 0.05, [-0.03, -0.05, 0.02], [0.04, 0.07, 0.04]),
  leadKnee: depth(0.18, 0.06, [-0.05, -0.08, 0.02], [0.04, 0.06, 0.04]), trailKnee: depth(-0.16, 0.06, [0, 0, 0.03], [0.04, 0.05, 0.04]),
  leadAnkle: still(0.22, 0.05), trailAnkle: still(-0.22, 0.05),
  clubhead: depth(0.03, 0.15, [-1, 0.48, 0], [0.25, 0.2, 0.05]), shaftEnd: depth(0.03, 0.15, [-0.97, 0.46, 0], [0.25, 0.2, 0.05]), ball: still(0.04, 0.14),
}

export const usualDepth = (view: ViewName, point: DepthName): Depth =>
  (view === 'face-on' ? towardBall : towardTarget)[point] ?? depth(0.1, 0.15, [0, 0, 0], [0.1, 0.15, 0.1])

/** A change that is taken to have happened by an instant: how much of it, and of which error. */
export interface ChangeShare {
  /** Place in Changes. */
  readonly of: 0 | 1 | 2
  /** The two times that the lead arm is level are one posture and two instants. */
  readonly source: PositionName
  readonly share: number
}

const knots: readonly (readonly [PositionName, ChangeShare['of'] | null])[] = [
  ['address', null], ['takeaway', null], ['lead-arm-level-back', 0], ['top', 1], ['lead-arm-level-down', 0], ['impact', 2],
]

/** Which changes since address have happened by t, between the positions that are known on either side; all of them in straight lines. */
export function changesBy(times: Partial<Record<PositionName, number>>, t: number): ChangeShare[] {
  const known = knots.flatMap(([source, of]) => {
    const at = times[source]
    return at === undefined ? [] : [{ source, of, at }]
  })
  const next = known.findIndex((k) => k.at > t)
  const shareOf = (k: (typeof known)[number] | undefined, share: number): ChangeShare[] => (k && k.of !== null && share > 0 ? [{ of: k.of, source: k.source, share }] : [])
  if (next === 0 || known.length === 0) return []
  if (next < 0) return shareOf(known.at(-1), 1)
  const [a, b] = [known[next - 1]!, known[next]!]
  const share = (t - a.at) / (b.at - a.at)
  return [...shareOf(a, 1 - share), ...shareOf(b, share)]
}

/** The plane that angles are read on, metres along the same axis; where it stands moves no angle of a square camera. */
export const bodyPlane = (view: ViewName): number => (view === 'face-on' ? 0.15 : 0)
