import type { Swing } from './motion.ts'
import { degrees, dot, sub, unit, type Vec } from './vec.ts'

export const positionOrder = [
  'address',
  'takeaway',
  'shaft-level-back',
  'lead-arm-level-back',
  'top',
  'lead-arm-level-down',
  'shaft-level-down',
  'impact',
  'shaft-level-through',
  'finish',
] as const
export type PositionName = (typeof positionOrder)[number]

/** Instants of a swing in seconds from the takeaway, true to a microsecond: they are found on the motion itself, not on frames of it. */
export type SwingEvents = Readonly<Record<PositionName, number>>

/** The shaft's and the lead arm's rise over level, -1 to 1. */
const shaftRise = (swing: Swing, t: number): number => swing.poseAt(t).club.shaft[1]
const armRise = (swing: Swing, t: number): number => {
  const { shoulder, wrist } = swing.poseAt(t).lead
  return wrist[1] - shoulder[1]
}

export function eventsOf(swing: Swing): SwingEvents {
  const { top, impact, finish } = swing.times
  const shaft = (t: number) => shaftRise(swing, t)
  const arm = (t: number) => armRise(swing, t)
  return {
    address: -1 / 60,
    takeaway: 0,
    'shaft-level-back': crossing(shaft, 0, top * 0.8),
    'lead-arm-level-back': crossing(arm, 0, top),
    top,
    'lead-arm-level-down': crossing(arm, impact, top),
    'shaft-level-down': crossing(shaft, impact, top),
    impact,
    'shaft-level-through': crossing(shaft, impact, impact + 0.2),
    finish,
  }
}

/** The zero nearest to `from` on the way to `to`, by steps of a millisecond and halving. */
function crossing(f: (t: number) => number, from: number, to: number): number {
  const steps = Math.ceil(Math.abs(to - from) / 0.001)
  let a = from
  for (let i = 1; i <= steps; i++) {
    const b = from + ((to - from) * i) / steps
    if (f(a) <= 0 === f(b) <= 0) {
      a = b
      continue
    }
    let low = a
    let high = b
    for (let k = 0; k < 40; k++) {
      const middle = (low + high) / 2
      if (f(middle) <= 0 === f(a) <= 0) low = middle
      else high = middle
    }
    return (low + high) / 2
  }
  throw new RangeError('the motion never passes level there')
}

/** Shaft at an instant against the world: azimuth 0 along the target line and positive across it, elevation over level; degrees. */
export function shaftAngles(swing: Swing, t: number): { azimuthDeg: number; elevationDeg: number } {
  const s = swing.poseAt(t).club.shaft
  return { azimuthDeg: degrees(Math.atan2(s[2], s[0])), elevationDeg: degrees(Math.asin(s[1])) }
}

/** Forward inclination of the line from hips to shoulders against the plumb, in the plane square to the target line; degrees. */
export function inclinationDeg(swing: Swing, t: number): number {
  const { hips, shoulders } = swing.poseAt(t).trunk
  const up: Vec = unit(sub(shoulders, hips))
  return degrees(Math.atan2(up[2], dot(up, [0, 1, 0])))
}

/** Fastest the clubhead's centre moves, metres a second, and when. */
export function peakHeadSpeed(swing: Swing): { mS: number; t: number } {
  let best = { mS: 0, t: 0 }
  const step = 1e-4
  for (let t = swing.times.top; t < swing.times.impact + 0.1; t += 0.001) {
    const a = swing.poseAt(t - step).club.clubhead
    const b = swing.poseAt(t + step).club.clubhead
    const mS = Math.hypot(b[0] - a[0], b[1] - a[1], b[2] - a[2]) / (2 * step)
    if (mS > best.mS) best = { mS, t }
  }
  return best
}
