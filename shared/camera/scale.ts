/** Metres a pixel on a plane square to the camera, with its error. Each comes of something of known length. */
export interface Scale {
  readonly metresPerPx: number
  readonly sigma: number
  readonly basis: string
}

/** The diameter of a golf ball, metres: 1.680 in at least (R&A and USGA Equipment Rules, Part 4). */
export const ballDiameter = 0.04267
/** How long clubs usually are, metres from butt to sole: common practice, no source. */
export const usualClubLengths: Readonly<Record<string, number>> = {
  driver: 1.149, '3-iron': 0.991, '5-iron': 0.965, '7-iron': 0.94, '9-iron': 0.914, wedge: 0.902,
}

const relative = (length: number, px: number, sigmas: readonly number[], basis: string): Scale => {
  const metresPerPx = length / px
  return { metresPerPx, sigma: metresPerPx * Math.hypot(...sigmas), basis }
}

/** @param diameterPx how wide the ball is in the picture @param sigmaPx of an edge @param offPlane relative error of its depth against the measured plane */
export const scaleFromBall = (diameterPx: number, sigmaPx: number, offPlane: number): Scale =>
  relative(ballDiameter, diameterPx, [(Math.SQRT2 * sigmaPx) / diameterPx, offPlane], 'scale from the ball')

/** Two points a known distance apart on the measured plane. */
export const scaleFromTwoPoints = (metres: number, px: number, sigmaPx: number): Scale =>
  relative(metres, px, [(Math.SQRT2 * sigmaPx) / px], 'scale from two points a known distance apart')

/**
 * How far the end of the shaft, where it meets the head, is above the sole along the shaft, metres: common practice, no
 * source; at most 5 in (R&A and USGA Equipment Rules, Part 2 section 2).
 */
export const shaftEndAboveSole = { m: 0.05, sigma: 0.025 }

/**
 * A club at address. Down the line it lies in the measured plane; face-on its lie tips it toward the camera, so that
 * only its height shows: length times the sine of the lie.
 * @param lie radians, its angle to the ground as seen down the line @param lieSigma radians
 * @param to what was placed at its lower end: the head's centre, or the end of the shaft
 */
export function scaleFromClub(clubM: number, px: number, sigmaPx: number, view: 'face-on' | 'down-the-line', lie: number, lieSigma: number, to: 'clubhead' | 'shaftEnd' = 'clubhead'): Scale {
  const faceOn = view === 'face-on'
  const lengthM = to === 'clubhead' ? clubM : clubM - shaftEndAboveSole.m
  // To the sole is not to the head's centre: two centimetres either way.
  const errors = [(Math.SQRT2 * sigmaPx) / px, (to === 'clubhead' ? 0.02 : shaftEndAboveSole.sigma) / lengthM, faceOn ? lieSigma / Math.tan(lie) : 0.01]
  return relative(lengthM * (faceOn ? Math.sin(lie) : 1), px, errors, 'scale from the club')
}

/** How high the ears and the crown are at address, over stature, bent as a golfer stands: common practice, no source. */
const addressHeight = { head: 0.855, crown: 0.905 }
const addressHeightSigma = 0.03
/** Height of the ankle over stature: Drillis & Contini 1966, after Winter, fig. 4.1. */
const ankleHeight = 0.039

/** The student at address, from the ankles up to the ears or the crown. */
export function scaleFromStature(statureM: number, px: number, sigmaPx: number, top: 'head' | 'crown'): Scale {
  const share = addressHeight[top] - ankleHeight
  return relative(statureM * share, px, [(Math.SQRT2 * sigmaPx) / px, addressHeightSigma / share], 'scale from the stature')
}

/** Several scales of one plane together, each by the inverse of its variance; null for none. */
export function combineScales(scales: readonly Scale[]): Scale | null {
  if (scales.length === 0) return null
  let weight = 0
  let sum = 0
  for (const s of scales) {
    const w = 1 / (s.sigma * s.sigma)
    weight += w
    sum += w * s.metresPerPx
  }
  const metresPerPx = sum / weight
  // Scales that disagree by more than their errors are trusted by as much less.
  let misfit = 0
  for (const s of scales) misfit += ((s.metresPerPx - metresPerPx) / s.sigma) ** 2
  const stretch = scales.length > 1 ? Math.sqrt(Math.max(1, misfit / (scales.length - 1))) : 1
  const names = scales.map((s) => s.basis.replace('scale from ', ''))
  return { metresPerPx, sigma: stretch / Math.sqrt(weight), basis: `scale from ${names.join(' and ')}` }
}
