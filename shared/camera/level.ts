import type { ImagePoint } from '../geometry/vec.ts'

/** How a picture is turned against the world's level. */
export interface Level {
  /** Radians by which the world's up leans to the right in the picture. */
  readonly roll: number
  readonly sigma: number
  /** What of sigma comes from the camera's unknown pitch: the change of roll when its axis points up by one usual deviation. */
  readonly byPitch?: number
  readonly basis: string
}

/** How far a phone held by hand or leant on a bag is usually off, radians: common practice, no source. */
export const unmarkedRollSigma = (2 * Math.PI) / 180
/** How far its axis usually points above or below the horizontal, radians: common practice, no source. */
export const usualPitchSigma = (3 * Math.PI) / 180

/**
 * From a plumb line marked low and high. Where the camera points up or down, plumb lines fan out: one that stands
 * `offset` pixels right of the picture's middle leans by offset / focal times the pitch, which is not known.
 * @param sigmaPx of each end @param offset to the right of the picture's middle @param focal usual focal length in pixels
 */
export function levelFromPlumb(low: ImagePoint, high: ImagePoint, sigmaPx: number, offset: number, focal: number): Level {
  // It must point up; a mark made the other way round means the same line.
  const [foot, top] = low[1] >= high[1] ? [low, high] : [high, low]
  const dx = top[0] - foot[0]
  const dy = foot[1] - top[1]
  const byPitch = (offset / focal) * usualPitchSigma
  return {
    roll: Math.atan2(dx, dy),
    sigma: Math.hypot((Math.SQRT2 * sigmaPx) / Math.hypot(dx, dy), byPitch),
    byPitch,
    basis: 'level from the plumb line',
  }
}

/** From a level line marked from left to right or right to left, square to the camera. */
export function levelFromHorizon(a: ImagePoint, b: ImagePoint, sigmaPx: number): Level {
  const [left, right] = a[0] <= b[0] ? [a, b] : [b, a]
  const dx = right[0] - left[0]
  // A picture turned clockwise shows a level line falling to the right, and up leaning right.
  const dy = right[1] - left[1]
  return { roll: Math.atan2(dy, dx), sigma: (Math.SQRT2 * sigmaPx) / Math.hypot(dx, dy), basis: 'level from the horizon' }
}

export const levelUnmarked: Level = { roll: 0, sigma: unmarkedRollSigma, basis: 'level taken from the edge of the picture' }
