import type { FrameIndex } from '../contract/clip.ts'

/** What the maths of time needs to know of a clip. */
export interface ClipTime {
  readonly frames: FrameIndex
  readonly captureRate: number
  readonly playRate: number
}

/** Index of the frame on screen at a tick: the last one that has begun; the first before the beginning. Binary search. */
export function frameAt(frames: FrameIndex, tick: number): number {
  const { ticks } = frames
  let low = 0
  let high = ticks.length - 1
  while (low < high) {
    const middle = (low + high + 1) >> 1
    if (ticks[middle]! <= tick) low = middle
    else high = middle - 1
  }
  return low
}

/** The tick at which a frame begins; the nearest frame's where the index is outside. */
export function tickOf(frames: FrameIndex, index: number): number {
  return frames.ticks[Math.min(Math.max(Math.round(index), 0), frames.ticks.length - 1)]!
}

/** Ticks of file time that pass in one second of the world: timescale times capture rate over play rate. */
export const ticksPerRealSecond = (clip: ClipTime): number => (clip.frames.timescale * clip.captureRate) / clip.playRate

/** Seconds of the world between two ticks of one clip. */
export const realSeconds = (clip: ClipTime, fromTick: number, toTick: number): number =>
  (toTick - fromTick) / ticksPerRealSecond(clip)

/** A span of the reference clip that repeats, in its ticks; from < to. */
export interface Loop {
  readonly from: number
  readonly to: number
}

/**
 * Where the playhead stands after `seconds` of playing at `rate` times the speed of the world, having begun at `fromTick`.
 * With a loop, positions run round it. Without one, the playhead holds at the last frame's tick (and at the first going back).
 */
export function playheadAfter(clip: ClipTime, fromTick: number, seconds: number, rate: number, loop: Loop | null): number {
  const first = clip.frames.ticks[0]!
  const last = clip.frames.ticks[clip.frames.ticks.length - 1]!
  const raw = fromTick + seconds * rate * ticksPerRealSecond(clip)
  if (loop && loop.to > loop.from) {
    const length = loop.to - loop.from
    if (raw < loop.to && raw >= Math.min(fromTick, loop.from)) return raw
    return loop.from + ((((raw - loop.from) % length) + length) % length)
  }
  return Math.min(Math.max(raw, first), last)
}

/** Two instants, one of each clip, that are shown together. */
export interface Tie {
  readonly left: number
  readonly right: number
}

/** The tick of the other clip that lies as far from its tied instant, in time of the world, as `tick` does in this one. */
export function throughTie(from: ClipTime, to: ClipTime, fromTied: number, toTied: number, tick: number): number {
  return toTied + realSeconds(from, fromTied, tick) * ticksPerRealSecond(to)
}

/** A tick held inside the clip: from the first frame's to the last frame's. */
export function clampTick(frames: FrameIndex, tick: number): number {
  return Math.min(Math.max(tick, frames.ticks[0]!), frames.ticks[frames.ticks.length - 1]!)
}
