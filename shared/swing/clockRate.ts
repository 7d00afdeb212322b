import type { Clip } from '../contract/clip.ts'
import type { TieCheck } from './tieCheck.ts'

/** A clip as it says how fast it was filmed. */
export type RatedClip = Pick<Clip, 'captureRate' | 'captureRateBasis'>

/** That one of two tied clips was filmed at another rate than it says. */
export interface RateOffer {
  /** Which of the two, as they are tied. */
  readonly clip: 0 | 1
  /** Frames a second: a rate that phones film at. */
  readonly captureRate: number
  /** What the positions themselves say of it, and one standard deviation. */
  readonly measured: number
  readonly sigma: number
}

/** Frames a second that phones and cameras film at; 29.97 is as good as 30 here. */
const usualRates = [24, 25, 30, 48, 50, 60, 100, 120, 240, 480, 960]
/** A rate known no better than this, as a share, is not told from its neighbours, and nothing is offered. */
const wellKnown = 0.04
/** Standard deviations within which a usual rate is taken to be meant. */
const near = 2.5
/** How well a clip keeps its rate, as a share. */
const kept = 0.003
/** What a rate rests on, the surest last. */
const sureness: readonly Clip['captureRateBasis'][] = ['file', 'tag', 'coach']

/**
 * By which rate of one of two clips their clocks would run alike, where the positions of both say that they do not: the
 * clip whose rate rests on less comes first. None where the positions are not known well enough, or point to no rate that
 * clips are filmed at, so that a position is likelier to be wrong than a rate.
 */
export function rateOffers({ rate, isRateOff }: TieCheck, clips: readonly [RatedClip, RatedClip]): RateOffer[] {
  const share = rate && Math.hypot(rate.sigma / rate.value, kept)
  if (!rate || !isRateOff || share === null || share > wellKnown) return []
  const offers = ([0, 1] as const).flatMap((clip): RateOffer[] => {
    // A clip whose seconds are too many was filmed at as many more frames a second.
    const measured = clips[clip].captureRate * (clip === 1 ? rate.value : 1 / rate.value)
    const off = (usual: number): number => Math.abs(Math.log(measured / usual)) / share
    const captureRate = usualRates.reduce((best, usual) => (off(usual) < off(best) ? usual : best))
    return off(captureRate) < near && Math.abs(Math.log(captureRate / clips[clip].captureRate)) > kept ? [{ clip, captureRate, measured, sigma: measured * share }] : []
  })
  return offers.toSorted((a, b) => sureness.indexOf(clips[a.clip].captureRateBasis) - sureness.indexOf(clips[b.clip].captureRateBasis))
}

/** What an offer rests on, for the line beside it. @param said the rate that the clip says */
export const offerWords = ({ measured, sigma }: RateOffer, said: number): string =>
  `${measured.toFixed(1)} +- ${sigma.toFixed(1)} a second by the positions, not ${said.toFixed(0)}`
