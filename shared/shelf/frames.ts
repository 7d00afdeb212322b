import type { FrameIndex } from '../contract/clip.ts'

/** Some containers count in milliseconds, so that a time may be off by half a one at either end. */
const slackS = 0.0015

/**
 * The same pictures in two files: how many frames of `to` come before the first of `from`. Null where the frames of `from` do not
 * all stand in `to`, in order and as far apart as they were.
 */
export function framesBefore(from: FrameIndex, to: FrameIndex): number | null {
  const spare = to.ticks.length - from.ticks.length
  const at = (index: FrameIndex, i: number, first: number): number => (index.ticks[i]! - index.ticks[first]!) / index.timescale
  for (let before = 0; before <= spare; before++)
    if (from.ticks.every((_, i) => Math.abs(at(from, i, 0) - at(to, before + i, before)) <= slackS)) return before
  return null
}

/** Where a tick of `from` falls in `to`, which shows `before` frames ahead of it: the same share of the same frame, not rounded. */
export function carriedTick(from: FrameIndex, to: FrameIndex, before: number, tick: number): number {
  const [begin, end] = [from.ticks[0]!, from.endTick]
  const held = Math.min(Math.max(tick, begin), end)
  let frame = from.ticks.findLastIndex((one) => one <= held)
  if (frame < 0) frame = 0
  const part = (held - from.ticks[frame]!) / ((from.ticks[frame + 1] ?? from.endTick) - from.ticks[frame]!)
  const start = to.ticks[before + frame]!
  return start + part * ((to.ticks[before + frame + 1] ?? to.endTick) - start)
}
