import { positionId, type DigitisedTable } from '../contract/digitising.ts'
import { positionNames, type PositionName } from '../contract/pointsFile.ts'
import { frameAt, ticksPerRealSecond, type ClipTime } from '../walkthrough/motion.ts'
import type { PhaseTie, TiePair } from '../walkthrough/phaseTie.ts'

/** Instants of a swing's positions on one clip, in its ticks, between frames where they are known so. */
export type PositionTicks = Readonly<Partial<Record<PositionName, number>>>

/**
 * Where each position lies on a clip: what the coach set stands; what lies between two frames is where it was found between
 * them, else midway; what was not set is where it was found.
 * @param found seconds of the clip's clock by the measurement @param zero the tick at which that clock is zero
 */
export function positionTicks(clip: ClipTime & { readonly id: string }, table: DigitisedTable, found: Partial<Record<PositionName, { readonly t: number }>> | null, zero: number): PositionTicks {
  const ticks: Partial<Record<PositionName, number>> = {}
  const { frames } = clip
  for (const name of positionNames) {
    const t = found?.[name]?.t
    const measured = t === undefined ? null : zero + t * ticksPerRealSecond(clip)
    const own = table[positionId(clip.id, name)]
    if (own?.kind === 'position') {
      if (own.falls === 'on') {
        ticks[name] = own.tick
        continue
      }
      const next = frames.ticks[frameAt(frames, own.tick) + 1] ?? frames.endTick
      ticks[name] = measured !== null && measured >= own.tick && measured <= next ? measured : (own.tick + next) / 2
    } else if (measured !== null && measured >= frames.ticks[0]! && measured < frames.endTick) ticks[name] = measured
  }
  return ticks
}

export interface PositionTie {
  readonly tie: PhaseTie
  readonly names: readonly PositionName[]
  /** Known on both clips, but out of order on one: left out. */
  readonly dropped: readonly PositionName[]
}

/** The tie by all positions that both have; null where they share none. */
export function tieByPositions(own: PositionTicks, reference: PositionTicks): PositionTie | null {
  const pairs: TiePair[] = []
  const names: PositionName[] = []
  const dropped: PositionName[] = []
  for (const name of positionNames) {
    const [a, b] = [own[name], reference[name]]
    if (a === undefined || b === undefined) continue
    const last = pairs.at(-1)
    if (last && !(a > last[0] && b > last[1])) {
      dropped.push(name)
      continue
    }
    pairs.push([a, b])
    names.push(name)
  }
  return pairs.length > 0 ? { tie: pairs, names, dropped } : null
}

/** The position known on both clips that lies nearest to a tick of the own one; null where they share none. */
export function nearestShared(own: PositionTicks, reference: PositionTicks, tick: number): PositionName | null {
  let best: PositionName | null = null
  for (const name of positionNames)
    if (own[name] !== undefined && reference[name] !== undefined && (best === null || Math.abs(own[name] - tick) < Math.abs(own[best]! - tick))) best = name
  return best
}
