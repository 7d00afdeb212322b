import type { PositionName } from '../../contract/pointsFile.ts'
import { dot3, sub3, unit3, type Vec3 } from '../../geometry/vec.ts'
import { add, propagate, scaled, sigmaOf, subtract, withError, type Uncertain } from '../../signal/uncertain.ts'
import { positionAt, type Measure, type Outcome } from '../definition.ts'
import { isMissing, missing, spaceAt, type Missing, type Swing } from '../reading.ts'
import { turnAxis } from '../shaftAtLevel.ts'
import type { SwingView } from '../viewOf.ts'
import { basisOf, directionsOf, motionAbout, planeSlope, shaftAt, shaftOf } from './space.ts'

const down = ['lead-arm-level-down', 'shaft-level-down'] as const
/** The share of the trunk is no number where the plane runs nearly along it. */
const leastShareSigma = 0.5

/** The middle of two points in the world, three numbers. */
export function middleOf(swing: Swing, side: 'Hip' | 'Shoulder', t: Uncertain): Uncertain[] | Missing {
  const lead = spaceAt(swing, `lead${side}`, t)
  if (isMissing(lead)) return lead
  const trail = spaceAt(swing, `trail${side}`, t)
  if (isMissing(trail)) return trail
  return [scaled(add(lead.x, trail.x), 0.5), scaled(add(lead.y, trail.y), 0.5), scaled(add(lead.z, trail.z), 0.5)]
}

function onTrunk(swing: Swing, view: SwingView, at: PositionName): Outcome | Missing {
  const shaft = shaftOf(swing)
  if (isMissing(shaft)) return shaft
  const p = positionAt(swing, view.name, at)
  if (isMissing(p)) return p
  const m = motionAbout(swing, shaft, p.t)
  if (isMissing(m)) return m
  const ends = shaftAt(swing, shaft, p.t)
  if (isMissing(ends)) return ends
  const hips = middleOf(swing, 'Hip', p.t)
  if (isMissing(hips)) return hips
  const shoulders = middleOf(swing, 'Shoulder', p.t)
  if (isMissing(shoulders)) return shoulders
  const share = (v: ArrayLike<number>): number => {
    const n = unit3(turnAxis(directionsOf(v, m.count))) ?? [0, 1, 0]
    const at3 = (k: number): Vec3 => [v[k]!, v[k + 1]!, v[k + 2]!]
    const from = 6 * m.count
    const hip = at3(from + 3)
    return dot3(n, sub3(at3(from), hip)) / dot3(n, sub3(at3(from + 6), hip))
  }
  const inputs = [...m.inputs, ...ends.slice(0, 3), ...hips, ...shoulders]
  const [value] = propagate((v) => [share(v)], inputs)
  // A plane that the shaft leaves by some angle is off by that much over the way from the hands to the trunk, about a trunk's length.
  const whole = withError(value!, m.misfit / m.turn, swing.sources.of(`plane ${at}`))
  if (!Number.isFinite(whole.value) || sigmaOf(whole) > leastShareSigma) return missing('the plane of the shaft runs nearly along the trunk there')
  return { value: whole, basis: basisOf(swing, shaft, `${at} ${p.basis}; trunk from midway between the hips to midway between the shoulders`) }
}

/** Where the plane of the shaft on the way down lies, against address and against the body. */
export const planeOnBodyMeasures: readonly Measure[] = [
  {
    id: 'shaft-plane-slope-change', views: 'both', at: down, unit: 'deg', plane: 'world: X toward the target, Y up, Z from player to ball', sign: 'positive steeper than at address',
    definition: 'How much steeper the plane the shaft moves in is on the way down than the plane it lies in at address.',
    formula: 'shaft-plane-slope, here minus address',
    read: (swing, view, at) => {
      const here = planeSlope(swing, view, at as PositionName)
      if (isMissing(here)) return here
      const there = planeSlope(swing, view, 'address')
      return isMissing(there) ? there : { value: subtract(here.value, there.value), basis: here.basis }
    },
  },
  {
    id: 'shaft-plane-on-trunk', views: 'both', at: down, unit: 'share', plane: 'world: X toward the target, Y up, Z from player to ball', sign: '0 at the hips, 1 at the shoulders, above 1 over them',
    definition: 'Where the plane the shaft moves in on the way down meets the line from midway between the hips to midway between the shoulders.',
    formula: 'n.(hands - hips) / n.(shoulders - hips), n the axis of the shaft\'s turn',
    read: (swing, view, at) => onTrunk(swing, view, at as PositionName),
  },
]
