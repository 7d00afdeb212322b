import type { FrameIndex } from '../contract/clip.ts'
import { clampTick, frameAt, throughTie, tickOf, type ClipTime } from './motion.ts'

/** An instant of the pane's clip and one of the reference's that are the same instant of the swing, in ticks of each. */
export type TiePair = readonly [own: number, reference: number]

/**
 * How a reference goes with a pane: one pair or more, rising in both. Between two pairs time runs evenly; before the first
 * and after the last, as fast in the world as in the pane. So with one pair alone all of it is by real time.
 */
export type PhaseTie = readonly TiePair[]

export const rises = (tie: PhaseTie): boolean =>
  tie.every((pair, i) => i === 0 || (pair[0] > tie[i - 1]![0] && pair[1] > tie[i - 1]![1]))

/** Carries a tick from side `a` of the pairs to the other. Rising: a later tick never lands earlier. */
function carry(tie: PhaseTie, a: 0 | 1, from: ClipTime, to: ClipTime, tick: number): number {
  const b = a === 0 ? 1 : 0
  const first = tie[0]!
  const last = tie[tie.length - 1]!
  if (tick <= first[a]) return throughTie(from, to, first[a], first[b], tick)
  if (tick >= last[a]) return throughTie(from, to, last[a], last[b], tick)
  let i = 0
  while (tie[i + 1]![a] <= tick) i++
  const [low, high] = [tie[i]!, tie[i + 1]!]
  return low[b] + ((tick - low[a]) / (high[a] - low[a])) * (high[b] - low[b])
}

/** The reference's tick that goes with one of the pane's, held inside the reference's clip. */
export const toReference = (tie: PhaseTie, own: ClipTime, reference: ClipTime, tick: number): number =>
  clampTick(reference.frames, carry(tie, 0, own, reference, tick))

/** The pane's tick that goes with one of the reference's, held inside the pane's clip. */
export const fromReference = (tie: PhaseTie, own: ClipTime, reference: ClipTime, tick: number): number =>
  clampTick(own.frames, carry(tie, 1, reference, own, tick))

/** The frame that begins nearest to a tick; of two as near, the earlier. */
export function nearestFrame(frames: FrameIndex, tick: number): number {
  const before = frameAt(frames, tick)
  const next = frames.ticks[before + 1]
  return next !== undefined && next - tick < tick - frames.ticks[before]! ? before + 1 : before
}

/**
 * The reference's frame that goes with the frame on screen at a tick of the pane: a frame of the pane always has the same
 * one beside it, half a frame of the reference away at most, whether it is stepped to or played over.
 */
export const referenceFrameAt = (tie: PhaseTie, own: ClipTime, reference: ClipTime, tick: number): number =>
  nearestFrame(reference.frames, toReference(tie, own, reference, tickOf(own.frames, frameAt(own.frames, tick))))
