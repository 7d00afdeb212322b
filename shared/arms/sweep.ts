import { elbowRadius } from './elbowMove.ts'
import { forward, kindWords } from './forward.ts'
import { inverse } from './inverse.ts'
import type { ArmsModel } from './model.ts'
import type { Spread } from './spread.ts'
import { turnsBack } from './turnsBack.ts'
import { isArmsRefusal, type ForwardResult, type Slope, type SweepResult, type SweepRow, type Wanted } from './types.ts'

const degrees = 180 / Math.PI
const usualStep = 2
/** Rows go on so far past the reachable stretch, to show what lies beyond. */
const usualBeyond = 12

export interface SweepOptions {
  /** Degrees of swivel between rows. */
  readonly stepDeg?: number
  readonly beyondDeg?: number
  /** What is wanted of the shaft: gives the target's row. */
  readonly wanted?: Wanted
  readonly spread?: Spread
}

const rowOf = (pose: ForwardResult): SweepRow => ({
  elbowOutCm: pose.readings.elbowOutCm, swivelDeg: pose.readings.swivelDeg, azimuthDeg: pose.readings.azimuthDeg,
  azimuthAtLevelDeg: pose.readings.azimuthAtLevelDeg, reachable: pose.reachable,
})

/** What ends the reachable stretch one way, in words. */
function endWords(model: ArmsModel, way: 'low' | 'high', at: number): string {
  const past = model.branch.at((at + (way === 'high' ? 0.5 : -0.5)) / degrees)
  if ('reason' in past)
    return past.reason === 'fold' ? 'past it the shaft would have to jump' : past.reason === 'limit' ? 'past it a joint would be far past its limit' : past.reason === 'reach' ? 'past it a hand comes out of reach' : 'past it the elbow would stand over the arm'
  const pose = forward(model, past.swivel * degrees)
  const limits = isArmsRefusal(pose) ? [] : pose.limits.filter((l) => l.beyond)
  return limits.length ? limits.map((l) => l.words).join(' and ') : 'a joint at its limit'
}

function slopeWords(perCm: number, sigma: number): string {
  const size = Math.abs(perCm).toFixed(1)
  const way = perCm >= 0 ? 'less across' : 'farther across'
  return `A centimetre in is ${size} \u00b1 ${sigma.toFixed(1)} degrees ${way}: model, chest and hands held.`
}

/** At now, by a degree either way (one way at the end of the branch). */
function slopeAt(model: ArmsModel, now: ForwardResult, spread: Spread | undefined): Slope | null {
  if (spread?.slopes) {
    const { perCm, perDegree, perOutCm } = spread.slopes
    return { perCm, perDegree, perOutCm, words: slopeWords(perCm.value, perCm.sigma) }
  }
  const high = forward(model, now.readings.swivelDeg + 1)
  const low = forward(model, now.readings.swivelDeg - 1)
  const a = isArmsRefusal(low) ? now : low
  const b = isArmsRefusal(high) ? now : high
  const turn = b.readings.swivelDeg - a.readings.swivelDeg
  if (!(turn > 0)) return null
  const rise = b.readings.azimuthDeg - a.readings.azimuthDeg
  const azimuth = rise - 360 * Math.round(rise / 360)
  const arcCm = (100 * elbowRadius(now) * turn) / degrees
  const out = b.readings.elbowOutCm - a.readings.elbowOutCm
  const known = (value: number) => ({ value, sigma: NaN })
  return {
    perCm: known(azimuth / arcCm), perDegree: known(azimuth / turn), perOutCm: Math.abs(out) > 0.3 * arcCm ? known(azimuth / out) : null,
    words: `A centimetre in is ${Math.abs(azimuth / arcCm).toFixed(1)} degrees ${azimuth >= 0 ? 'less' : 'farther'} across: model, chest and hands held; its error was not asked for.`,
  }
}

/** Elbow against shaft over the connected branch. */
export function sweep(model: ArmsModel, { stepDeg = usualStep, beyondDeg = usualBeyond, wanted, spread }: SweepOptions = {}): SweepResult | null {
  const now = forward(model, model.swivelDeg)
  if (isArmsRefusal(now)) return null
  const low = model.branch.lastWithin('low') * degrees
  const high = model.branch.lastWithin('high') * degrees
  const own = [low, now.readings.swivelDeg, high]
  const grid: number[] = []
  for (let k = Math.ceil((low - beyondDeg) / stepDeg); k * stepDeg <= high + beyondDeg; k++)
    if (own.every((s) => Math.abs(s - k * stepDeg) > 1e-3)) grid.push(k * stepDeg)
  const rows = [...new Set([...own, ...grid])].toSorted((a, b) => a - b).flatMap((swivelDeg) => {
    const pose = forward(model, swivelDeg)
    return isArmsRefusal(pose) ? [] : [rowOf(pose)]
  })
  const target = wanted ? inverse(model, wanted, spread ?? null) : null
  return {
    kind: model.kind, rows, now: rowOf(now), target: target?.found ? rowOf(target.pose) : null,
    range: { swivelDeg: [low, high], low: endWords(model, 'low', low), high: endWords(model, 'high', high) },
    turns: turnsBack(rows, elbowRadius(now), model.swivelDeg),
    slope: now.reachable ? slopeAt(model, now, spread) : null,
    basis: kindWords[model.kind],
  }
}
