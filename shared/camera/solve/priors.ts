import type { PointName } from '../../contract/pointsFile.ts'
import { unmarkedRollSigma } from '../level.ts'
import { centreSigmaShare, focalFrom35, focalPrior, phoneSize } from './phone.ts'
import type { SolveView } from './input.ts'

/** What is known before any mark is looked at: common practice, no source, unless a source stands beside it. */

const degree = Math.PI / 180

/** Nine means and nine standard deviations of a student's phone, set up for a view. */
export function phonePrior(v: SolveView): { mean: Float64Array; sigma: Float64Array } {
  const faceOn = v.view === 'face-on'
  const long = Math.max(v.width, v.height)
  const mean = new Float64Array(phoneSize)
  const sigma = new Float64Array(phoneSize)
  mean.set([Math.log(focalFrom35(focalPrior.middleMm, v.width, v.height)), v.width / 2, v.height / 2, 0, 0, 0, faceOn ? 0 : -4.2, 1.1, faceOn ? 4.2 : 0.4])
  const marked = v.plumb !== undefined || v.horizon !== undefined
  sigma.set([
    focalPrior.lnSigma, centreSigmaShare * long, centreSigmaShare * long, 15 * degree, 8 * degree, marked ? 8 * degree : unmarkedRollSigma,
    faceOn ? 1 : 2.5, 0.5, faceOn ? 2.5 : 1,
  ])
  return { mean, sigma }
}

/** How far the line of the feet stands off the target line where only the feet show it: the aim's error, radians. */
export const aimSigma = 5 * degree
/** How far the line of the ankles is off that of the toes, radians: the feet are turned out unequally. */
export const ankleLineSigma = 3 * degree

/** Height of the ankle over stature: Drillis & Contini 1966, after Winter, fig. 4.1; a sole is under it. */
const ankleShare = 0.039
const soleM = 0.01
export const usualStature = { m: 1.75, sigma: 0.09 }
/** Heights at address, metres. The ball's middle is half of 1.68 in up (Equipment Rules, Part 4), or on a low tee. */
export const groundHeights = { ball: 0.024, clubhead: 0.02, sigma: 0.012, ankleSigma: 0.015 }
export const ankleHeight = (statureM: number): number => ankleShare * statureM + soleM
/** How high head (midway between the ears) and crown are at address, over stature, bent as a golfer stands. */
export const headShare: Partial<Record<PointName, number>> = { crown: 0.905, head: 0.855 }
export const headShareSigma = 0.03

/** Where points are met at address, metres, for a stature of 1.75, with how far they may be off. */
interface Usual {
  readonly at: readonly [number, number, number]
  readonly sigma: readonly [number, number, number]
}
const loose: Usual = { at: [0, 0.9, 0.1], sigma: [0.4, 0.6, 0.4] }
const usual: Partial<Record<PointName, Usual>> = {
  leadAnkle: { at: [0.23, 0.08, 0], sigma: [0.06, 0.3, 0.03] }, trailAnkle: { at: [-0.23, 0.08, 0], sigma: [0.06, 0.3, 0.03] },
  head: { at: [0, 1.5, 0.27], sigma: [0.08, 0.3, 0.12] }, crown: { at: [0, 1.58, 0.22], sigma: [0.08, 0.3, 0.12] },
  hands: { at: [0.05, 0.78, 0.46], sigma: [0.3, 0.1, 0.13] }, butt: { at: [0.05, 0.88, 0.4], sigma: [0.3, 0.12, 0.14] },
  clubhead: { at: [0.05, 0.02, 0.95], sigma: [0.3, 0.3, 0.2] }, shaftEnd: { at: [0.05, 0.05, 0.93], sigma: [0.3, 0.3, 0.2] },
  ball: { at: [0.08, 0.024, 0.95], sigma: [0.1, 0.3, 0.2] },
}
/**
 * The ball lies anywhere from the middle of the stance to inside the lead heel, and the club and the hands go with it:
 * how far one is toward the target of another, metres, and how much that varies.
 */
export const withTheBall: readonly (readonly [PointName, PointName, share: number, ahead: number, sigma: number])[] = [
  ['clubhead', 'ball', 1, -0.04, 0.03], ['shaftEnd', 'ball', 1, -0.06, 0.04], ['hands', 'clubhead', 0.7, 0.02, 0.06], ['butt', 'hands', 1, -0.01, 0.03],
]
/** Where the ball stands for, if it is not marked. */
export const ballStands: readonly PointName[] = ['ball', 'clubhead', 'hands', 'butt']
export const usualPlace = (point: PointName): Usual => usual[point] ?? loose

/** How the shaft leans at address, seen down the line, and how far that varies, radians. */
export const usualLie = { angle: 55 * degree, sigma: 5 * degree }

/** How far the club's ends as they are marked are off its stated length, metres: the head's middle is not the sole. */
export const clubEndSigma = 0.02
/** From the butt to midway between the hands, metres. */
export const buttToHands = { m: 0.12, sigma: 0.04 }
/** How far a rigid club's marked length changes from frame to frame beyond the marks' own errors: it bends. Metres. */
export const clubBendSigma = 0.004
/** How far a limb's marked length changes through a swing, metres: joints are marked on clothes, from one side. */
export const limbSigma = 0.03

