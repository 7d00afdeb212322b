import type { FrameIndex } from '../../shared/contract/clip.ts'
import { clampTick, frameAt, playheadAfter, type ClipTime, type Loop } from '../../shared/walkthrough/motion.ts'

/** One pane's playhead. */
export interface Head {
  /** Where it stands, in the clip's ticks; always inside the clip. */
  readonly tick: number
  /** The frame on screen at that tick. */
  readonly frame: number
}

/** A tick that rounding put a hair before a whole one counts as that one. */
export const whole = (tick: number): number => (Math.abs(tick - Math.round(tick)) < 1e-3 ? Math.round(tick) : tick)

export const headAt = (frames: FrameIndex, tick: number): Head => {
  const held = clampTick(frames, whole(tick))
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

/** Where play begins: from the head, or from the beginning where the head is at the end or outside its loop. */
export function startOf(frames: FrameIndex, tick: number, loop: Loop | null): number {
  if (loop) return tick >= loop.from && tick < loop.to ? tick : loop.from
  return tick >= frames.ticks[frames.ticks.length - 1]! ? frames.ticks[0]! : tick
}

/** `playheadAfter`, but a tick that rounding put a hair before a loop's end is at its beginning, not in the frame beyond. */
export function playhead(clip: ClipTime, from: number, seconds: number, rate: number, loop: Loop | null): number {
  const tick = whole(playheadAfter(clip, from, seconds, rate, loop))
  return loop && tick >= loop.to && from < loop.to ? loop.from : tick
}
