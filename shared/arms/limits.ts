import type { Ease } from './cost.ts'
import { at } from './joints.ts'
import { highestElevation, margins, touchWords } from './ranges.ts'
import type { JointName, LimitTouch, Side } from './types.ts'

const degrees = 180 / Math.PI
/** Past a limit by rounding is not past it. */
const rounding = 1e-9

interface Held {
  readonly joint: JointName
  readonly value: number
  readonly low: number
  readonly high: number
  readonly margin: number
}

function held(row: Float64Array, { limits }: Ease): Held[] {
  const one = (joint: JointName, k: number, [low, high]: readonly [number, number], margin: number): Held => ({ joint, value: row[k]!, low, high, margin: margin / degrees })
  // An arm that hangs has no plane; neither does one raised straight up.
  const hasPlane = Math.sin(row[at.elevation]!) > 0.3
  return [
    one('planeOfElevation', at.plane, [-Infinity, hasPlane ? limits.acrossChest : Infinity], margins.planeOfElevation),
    one('elevation', at.elevation, [-Infinity, highestElevation(row[at.plane]!) + limits.raisedMore], margins.elevation),
    one('rotation', at.rotation, limits.rotation, margins.rotation),
    one('elbowFlexion', at.elbow, limits.elbow, margins.elbowFlexion),
    one('pronation', at.pronation, limits.pronation, margins.pronation),
    one('wristFlexion', at.wristFlexion, limits.wristFlexion, margins.wristFlexion),
    one('ulnarDeviation', at.ulnar, limits.ulnar, margins.ulnarDeviation),
  ]
}

/** The joints of one arm within half their margin of a limit, or past it. A lead arm that is nearly straight is as it should be. */
export function limitsTouched(side: Side, row: Float64Array, ease: Ease): LimitTouch[] {
  return held(row, ease).flatMap(({ joint, value, low, high, margin }): LimitTouch[] => {
    const touch = (end: 'low' | 'high', limit: number, past: boolean): LimitTouch => ({
      side, joint, end, valueDeg: value * degrees, limitDeg: limit * degrees, beyond: past, words: touchWords(side, joint, end, value * degrees, limit * degrees),
    })
    if (value > high - margin / 2) return [touch('high', high, value > high + rounding)]
    if (joint === 'elbowFlexion' && side === 'lead') return []
    if (value < low + margin / 2) return [touch('low', low, value < low - rounding)]
    return []
  })
}

/** Whether any joint of the arm is past its limit. */
export const pastLimit = (row: Float64Array, ease: Ease): boolean =>
  held(row, ease).some(({ value, low, high }) => value > high + rounding || value < low - rounding)
