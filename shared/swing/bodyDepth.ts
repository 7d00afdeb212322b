import type { PointName, ViewName } from '../contract/pointsFile.ts'

/**
 * Where a landmark is taken to stand along a camera's line of sight when only that camera saw it: metres from the
 * origin midway between the ankles, toward the ball for face-on, toward the target for down the line, and how far that
 * may be off. Common practice, no source; looked over against a recorded swing. It moves lengths by a few percent
 * (off-plane effect) and angles by nothing.
 */
export interface Depth {
  readonly at: number
  readonly sigma: number
}

/** A point, or a place midway between two that turns less than either. */
export type DepthName = PointName | 'midShoulders' | 'midHips'

const towardBall: Partial<Record<DepthName, Depth>> = {
  head: { at: 0.25, sigma: 0.12 }, crown: { at: 0.2, sigma: 0.12 }, midShoulders: { at: 0.17, sigma: 0.08 }, midHips: { at: -0.02, sigma: 0.06 },
  spineTop: { at: 0.17, sigma: 0.12 }, spineBase: { at: -0.08, sigma: 0.1 },
  leadShoulder: { at: 0.2, sigma: 0.15 }, trailShoulder: { at: 0.15, sigma: 0.15 },
  leadElbow: { at: 0.25, sigma: 0.17 }, trailElbow: { at: 0.15, sigma: 0.17 },
  leadWrist: { at: 0.3, sigma: 0.2 }, trailWrist: { at: 0.3, sigma: 0.2 }, hands: { at: 0.3, sigma: 0.2 }, butt: { at: 0.3, sigma: 0.2 },
  leadHip: { at: 0, sigma: 0.12 }, trailHip: { at: -0.03, sigma: 0.12 },
  leadKnee: { at: 0.1, sigma: 0.1 }, trailKnee: { at: 0.08, sigma: 0.1 },
  leadAnkle: { at: 0, sigma: 0.03 }, trailAnkle: { at: 0, sigma: 0.03 },
  clubhead: { at: 0.5, sigma: 0.5 }, shaftEnd: { at: 0.5, sigma: 0.5 }, ball: { at: 0.8, sigma: 0.15 },
}
const towardTarget: Partial<Record<DepthName, Depth>> = {
  head: { at: 0, sigma: 0.08 }, crown: { at: 0, sigma: 0.08 }, midShoulders: { at: 0, sigma: 0.07 }, midHips: { at: 0, sigma: 0.07 },
  spineTop: { at: 0.02, sigma: 0.08 }, spineBase: { at: 0.02, sigma: 0.08 },
  leadShoulder: { at: 0.12, sigma: 0.15 }, trailShoulder: { at: -0.12, sigma: 0.15 },
  leadElbow: { at: 0.05, sigma: 0.2 }, trailElbow: { at: -0.15, sigma: 0.2 },
  leadWrist: { at: -0.1, sigma: 0.25 }, trailWrist: { at: -0.1, sigma: 0.25 }, hands: { at: -0.1, sigma: 0.25 }, butt: { at: -0.1, sigma: 0.25 },
  leadHip: { at: 0.1, sigma: 0.1 }, trailHip: { at: -0.08, sigma: 0.1 },
  leadKnee: { at: 0.18, sigma: 0.1 }, trailKnee: { at: -0.15, sigma: 0.1 },
  leadAnkle: { at: 0.23, sigma: 0.07 }, trailAnkle: { at: -0.23, sigma: 0.07 },
  clubhead: { at: 0, sigma: 0.5 }, shaftEnd: { at: 0, sigma: 0.5 }, ball: { at: 0, sigma: 0.1 },
}

export const usualDepth = (view: ViewName, point: DepthName): Depth =>
  (view === 'face-on' ? towardBall : towardTarget)[point] ?? { at: 0.1, sigma: 0.2 }

/** The plane that angles are read on, metres along the same axis; where it stands moves no angle of a square camera. */
export const bodyPlane = (view: ViewName): number => (view === 'face-on' ? 0.15 : 0)
