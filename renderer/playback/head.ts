import type { FrameIndex } from '../../shared/contract/clip.ts'
import { clampTick, frameAt } from '../../shared/walkthrough/motion.ts'

/** One pane's playhead. */
export interface Head {
  /** Where it stands, in the clip's ticks; always inside the clip. */
  readonly tick: number
  /** The frame on screen at that tick. */
  readonly frame: number
}

export const headAt = (frames: FrameIndex, tick: number): Head => {
  const held = clampTick(frames, tick)
  return { tick: held, frame: frameAt(frames, held) }
}

/** The mean length of a frame in ticks. */
export const frameLength = (frames: FrameIndex): number => (frames.endTick - frames.ticks[0]!) / frames.ticks.length

export const frameOutside = (frames: FrameIndex, tick: number): boolean => tick < frames.ticks[0]! || tick >= frames.endTick

/** The beginning of the frame that began nearest to a tick. */
export function nearestTick(frames: FrameIndex, tick: number): number {
  const before = frameAt(frames, tick)
  const next = frames.ticks[before + 1]
  return next !== undefined && next - tick < tick - frames.ticks[before]! ? next : frames.ticks[before]!
}
