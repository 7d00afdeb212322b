import type { PositionName } from '../contract/pointsFile.ts'
import { sub3, unit3, type Vec3 } from '../geometry/vec.ts'
import { scaled, sigmaOf, type Uncertain } from '../signal/uncertain.ts'
import { measures } from '../swing/registry.ts'
import { isMissing, placeInSpace, type Swing } from '../swing/reading.ts'
import { shaftPoints } from '../swing/shaft.ts'
import { turnAxis } from '../swing/shaftAtLevel.ts'
import { axisOfSlope, usualSlope } from './atLevel.ts'
import type { Observation } from './fitChain.ts'

/** What the motion of the shaft says of it, beside its place on the one frame. */

/** The way the shaft turns round before a position, from both views: the sum of the cross products of its last directions. */
function turningBefore(swing: Swing, t: number): Vec3 | null {
  if (swing.views.length < 2 || swing.views.some((v) => !v.camera)) return null
  const shaft = shaftPoints(swing.views)
  if (!shaft) return null
  const directionAt = (dt: number): Vec3 | null => {
    const tail = placeInSpace(swing, shaft.tail, t + dt)
    const tip = placeInSpace(swing, shaft.tip, t + dt)
    return tail && tip && unit3(sub3(tip, tail))
  }
  const here = directionAt(0)
  if (!here) return null
  const back: Vec3[] = []
  for (let dt = 0; dt >= -0.4; dt -= 0.02) {
    const d = directionAt(dt)
    if (!d) break
    const turned = Math.acos(Math.max(-1, Math.min(1, d[0] * here[0] + d[1] * here[1] + d[2] * here[2])))
    if (turned > 1.25) break
    back.push(d)
  }
  const first = back.at(-1)
  const enough = first && Math.acos(Math.max(-1, Math.min(1, first[0] * here[0] + first[1] * here[1] + first[2] * here[2]))) > 0.2
  return enough ? unit3(turnAxis(back.toReversed())) : null
}

/** A measure of the one camera down the line, at the top; null where there is none. */
function alone(swing: Swing, at: PositionName, id: string): Uncertain | null {
  if (swing.views.length !== 1 || swing.views[0]!.name !== 'down-the-line' || at !== 'top') return null
  const outcome = measures.find((m) => m.id === id)?.read(swing, swing.views[0]!, at)
  return outcome && !isMissing(outcome) ? outcome.value : null
}

/** The shaft as one camera down the line reads it from its motion, as observations; its errors are the measures' own. */
export function shaftFromMotion(swing: Swing, at: PositionName): Observation[] {
  const read = (id: string, kind: 'azimuth' | 'elevation'): Observation[] => {
    const value = alone(swing, at, id)
    return value ? [{ kind, at: [scaled(value, Math.PI / 180)] }] : []
  }
  return [...read('shaft-azimuth', 'azimuth'), ...read('shaft-elevation', 'elevation')]
}

/** The axis that the shaft turns round, or its plane's slope alone: as filmed down the line, or a usual one. */
export interface TurningSeen {
  /** Of the shaft as fitted. */
  readonly axisOf: (shaft: Vec3) => Vec3 | null
  /** Other axes that the slope's own error allows, one deviation either way; null where its error is no matter. */
  readonly either: readonly [(shaft: Vec3) => Vec3 | null, (shaft: Vec3) => Vec3 | null] | null
  readonly isUsual: boolean
}

export function turningSeen(swing: Swing, at: PositionName, t: number): TurningSeen {
  const axis = turningBefore(swing, t)
  if (axis) return { axisOf: () => axis, either: null, isUsual: false }
  const slope = alone(swing, at, 'shaft-plane-slope')
  const { value, sigma } = slope ? { value: slope.value, sigma: sigmaOf(slope) } : usualSlope
  const of = (degrees: number) => (shaft: Vec3): Vec3 | null => axisOfSlope(shaft, degrees)
  return { axisOf: of(value), either: [of(value - sigma), of(value + sigma)], isUsual: !slope }
}
