import { frameAt, throughTie, tickOf, type ClipTime } from '../../shared/walkthrough/motion.ts'
import { nearestTick } from './head.ts'

/** The clip that another is tied to, where it stands meanwhile, and the tied instants of both, ticks. */
export interface TiedTo {
  readonly clip: ClipTime
  readonly instant: number
  readonly there: number
  readonly here: number
}

/**
 * The frames on which a clip may rest at an instant, ticks: that which holds it and, where the next begins nearer, that
 * one; of two tied swings, each at its own instant, the one rests where the other is at it: beside its own frame as a rule.
 */
export function restingSpan(clip: ClipTime, instant: number, tied: TiedTo | null): { readonly from: number; readonly to: number } {
  const { frames } = clip
  const [from, to] = [tickOf(frames, frameAt(frames, instant)), nearestTick(frames, instant)]
  if (!tied) return { from, to }
  const other = tied.clip
  const rest = nearestTick(frames, throughTie(other, clip, tied.there, tied.here, tickOf(other.frames, frameAt(other.frames, tied.instant))))
  const isBeside = Math.abs(frameAt(frames, rest) - frameAt(frames, from)) === 1
  return isBeside ? { from: Math.min(from, rest), to: Math.max(from, rest) } : { from, to }
}

/** The longest frame of a clip, ticks: what rests at an instant spans two frames at most. */
export const longestFrame = ({ frames: { ticks } }: ClipTime): number => ticks.reduce((longest, tick, i) => (i > 0 ? Math.max(longest, tick - ticks[i - 1]!) : 0), 0)
