import { realSeconds, ticksPerRealSecond, type ClipTime, type Tie } from '../../../shared/walkthrough/motion.ts'
import type { PaneId } from '../../../shared/walkthrough/stage.ts'

/** The strip's window on time: seconds of the world at its left edge, and how many one CSS pixel stands for. */
export interface Axis {
  readonly start: number
  readonly perPx: number
}

/** The instant of a clip that stands at 0 s: its tied one; without a tie the one it was last tied at, else its first frame. */
export interface Lane {
  readonly clip: ClipTime
  readonly zero: number
}

export const laneOf = (clip: ClipTime, pane: PaneId, tie: Tie | null): Lane =>
  ({ clip, zero: tie ? (pane === 0 ? tie.left : tie.right) : clip.frames.ticks[0]! })

export const secondsAt = ({ clip, zero }: Lane, tick: number): number => realSeconds(clip, zero, tick)
export const tickAt = ({ clip, zero }: Lane, seconds: number): number => zero + seconds * ticksPerRealSecond(clip)

export const xOf = (axis: Axis, seconds: number): number => (seconds - axis.start) / axis.perPx
export const secondsOf = (axis: Axis, x: number): number => axis.start + x * axis.perPx

/** First and last second that any lane has. */
export function extent(lanes: readonly (Lane | null)[]): { readonly from: number; readonly to: number } {
  const real = lanes.filter((lane) => lane !== null)
  if (real.length === 0) return { from: 0, to: 1 }
  return {
    from: Math.min(...real.map((lane) => secondsAt(lane, lane.clip.frames.ticks[0]!))),
    to: Math.max(...real.map((lane) => secondsAt(lane, lane.clip.frames.endTick))),
  }
}

/** The whole of both clips with a little air, in so many pixels. */
export function fitted(lanes: readonly (Lane | null)[], width: number): Axis {
  const { from, to } = extent(lanes)
  const air = (to - from) * 0.02
  return { start: from - air, perPx: (to - from + 2 * air) / Math.max(width, 1) }
}

/** Closest in: 5 ms in a hundred pixels. */
const leastPerPx = 0.005 / 100

/** Zooms about a pixel, no farther out than the whole and never off the clips. */
export function zoomed(axis: Axis, lanes: readonly (Lane | null)[], width: number, factor: number, x: number): Axis {
  const whole = fitted(lanes, width)
  const perPx = Math.min(Math.max(axis.perPx / factor, leastPerPx), whole.perPx)
  return held({ start: secondsOf(axis, x) - x * perPx, perPx }, whole, width)
}

export const panned = (axis: Axis, lanes: readonly (Lane | null)[], width: number, px: number): Axis =>
  held({ ...axis, start: axis.start + px * axis.perPx }, fitted(lanes, width), width)

function held(axis: Axis, whole: Axis, width: number): Axis {
  const last = whole.start + whole.perPx * width - axis.perPx * width
  return { ...axis, start: Math.min(Math.max(axis.start, whole.start), Math.max(last, whole.start)) }
}

/** The axis moved as little as brings a second into sight. */
export function showing(axis: Axis, width: number, seconds: number): Axis {
  const margin = Math.min(24, width / 8) * axis.perPx
  if (seconds < axis.start + margin) return { ...axis, start: seconds - margin }
  const end = axis.start + width * axis.perPx - margin
  return seconds > end ? { ...axis, start: axis.start + seconds - end } : axis
}

/** Seconds between two written marks of the ruler, at least so many pixels apart: 1, 2 or 5 times a power of ten. */
export function rulerStep(perPx: number, leastPx = 64): number {
  const least = perPx * leastPx
  const power = 10 ** Math.floor(Math.log10(least))
  return power * ([1, 2, 5].find((one) => one * power >= least * 0.999) ?? 10)
}

/** A span's row so that none overlaps another in the same row: the first that is free. Spans in any order. */
export function rowsFor(spans: readonly { readonly from: number; readonly to: number }[], gap: number): number[] {
  const order = spans.map((_, i) => i).toSorted((a, b) => spans[a]!.from - spans[b]!.from)
  const ends: number[] = []
  const rows = Array.from({ length: spans.length }, () => 0)
  for (const i of order) {
    const { from, to } = spans[i]!
    const free = ends.findIndex((end) => end + gap <= from)
    const row = free < 0 ? ends.length : free
    ends[row] = to
    rows[i] = row
  }
  return rows
}
