import { tieByPositions, type Instants } from '../camera/solve/timeTie.ts'
import { positionNames, type PositionName } from '../contract/pointsFile.ts'
import { positionTitle } from './digitised.ts'

/** What the positions that both clips of one swing have say of their tie. */
export interface TieCheck {
  /** Positions that both have. */
  readonly positions: readonly PositionName[]
  /** By how much the second clip is late against the tie, seconds. */
  readonly offset: number
  readonly offsetSigma: number
  /** Seconds of the second clock a second of the first, with its error; null where the positions do not tell it. */
  readonly rate: { readonly value: number; readonly sigma: number } | null
  /** Whether it is surely not 1: then clockRate.ts says which clip's frame rate would put it right. */
  readonly isRateOff: boolean
  /** What the clocks are to be taken to be apart, seconds: as tied, or wider where the positions contradict that. */
  readonly syncSigmaS: number
  /** A sentence with the number that shows it, or null where tie and positions agree. */
  readonly warning: string | null
}

/** Times its standard deviation by which a tie has to be off to be named. */
const sure = 3
/** The same of a rate: a wrong one is far off, and positions are set by eye. */
const surer = 5
/** A rate known no better than this is not told: clocks as far apart as that are another capture rate. */
const told = 0.05
const wide = 1

const list = (names: readonly PositionName[]): string => {
  const words = names.map((name) => positionTitle(name).replace(',', ''))
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)!}`
}
const ms = (seconds: number): string => (1000 * seconds).toFixed(0)

/**
 * Holds a tie against the positions that both clips have, on the one clock that the tie makes.
 * @param syncSigmaS how far apart the clocks may be as they are tied, seconds
 * Null where they share no position.
 */
export function checkTie(first: Instants, second: Instants, syncSigmaS: number): TieCheck | null {
  const free = tieByPositions(first, second, wide)
  if (!free) return null
  const positions = positionNames.filter((name) => free.positions.includes(name))
  const rate = free.rateSigma < told ? { value: free.rate, sigma: free.rateSigma } : null
  if (rate && Math.abs(rate.value - 1) > surer * rate.sigma)
    return {
      positions, offset: free.offset, offsetSigma: free.offsetSigma, rate, isRateOff: true, syncSigmaS: Math.max(syncSigmaS, Math.abs(free.offset)),
      warning: `By ${list(positions)} the clock of the second clip runs ${rate.value.toFixed(3)} +- ${rate.sigma.toFixed(3)} times as fast as the first\u2019s: the frame rate of one of them is not what it is said to be, or one of these is set wrong.`,
    }
  // With rates that agree, as those of two phones do, the offset is the mean over all of them.
  const held = tieByPositions(first, second) ?? free
  const isOff = Math.abs(held.offset) > sure * Math.hypot(held.offsetSigma, syncSigmaS)
  return {
    positions, offset: held.offset, offsetSigma: held.offsetSigma, rate, isRateOff: false, syncSigmaS: isOff ? Math.max(syncSigmaS, Math.abs(held.offset)) : syncSigmaS,
    warning: isOff ? `By ${list(positions)} the two clips are tied ${ms(Math.abs(held.offset))} +- ${ms(Math.max(0.001, held.offsetSigma))} ms apart, and ${ms(syncSigmaS)} ms were taken for granted: their clocks are let be as far apart. Put the tie right, or the positions.` : null,
  }
}

/** How well the clocks' rates are known to agree, for the line about the tie. */
export function rateWords({ rate, isRateOff, positions }: TieCheck): string {
  if (rate) {
    const known = `${rate.value.toFixed(3)} +- ${rate.sigma.toFixed(3)}`
    return isRateOff ? `the second clip's clock runs ${known} times as fast as the first's by ${list(positions)}` : `clocks run alike to ${known} by ${list(positions)}`
  }
  return `that the clocks run alike is taken for granted: ${positions.length < 2 ? `${list(positions)} alone does not tell` : `${list(positions)} are not known well enough to tell`}`
}
