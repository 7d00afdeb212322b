import type { PositionName } from '../../contract/pointsFile.ts'
import { divide, propagate, scaled, subtract, type Uncertain } from '../../signal/uncertain.ts'
import { positionAt, type Measure } from '../definition.ts'
import { hasSpace, isMissing, missing, planeAt, spaceAt, type Missing, type Swing } from '../reading.ts'
import { shaftPoints } from '../shaft.ts'
import type { SwingView } from '../viewOf.ts'

/** The time from one position to another, seconds, and what both rest on. */
function span(swing: Swing, view: SwingView, from: PositionName, to: PositionName): { value: Uncertain; basis: string } | Missing {
  const a = positionAt(swing, view.name, from)
  if (isMissing(a)) return a
  const b = positionAt(swing, view.name, to)
  if (isMissing(b)) return b
  return { value: subtract(b.t, a.t), basis: `${from} ${a.basis}; ${to} ${b.basis}` }
}

const timed = (id: string, from: PositionName, to: PositionName): Measure => ({
  id, views: 'swing', at: ['swing'], unit: 's', plane: 'none: time', sign: 'positive',
  definition: `The time from ${from} to ${to}.`,
  formula: `t(${to}) - t(${from})`,
  read: (swing, view) => span(swing, view, from, to),
})

/** The shaft's direction in radians: two angles of one plane, or a direction in space that a turn is taken between. */
function turnBetween(swing: Swing, view: SwingView, before: Uncertain, after: Uncertain): Uncertain | Missing {
  const shaft = shaftPoints(hasSpace(swing) ? swing.views : [view])
  if (!shaft) return missing(`the club is not digitised in the ${view.name} view`)
  const inputs: Uncertain[] = []
  for (const t of [before, after])
    for (const point of [shaft.tail, shaft.tip]) {
      const p = hasSpace(swing) ? spaceAt(swing, point, t) : planeAt(swing, view, point, t, 'shape')
      if (isMissing(p)) return p
      inputs.push(...('x' in p ? [p.x, p.y, p.z] : [p.u, p.v]))
    }
  const n = inputs.length / 4
  const [turn] = propagate((values) => {
    const d = [0, 1].map((k) => Array.from({ length: n }, (_, i) => values[(2 * k + 1) * n + i]! - values[2 * k * n + i]!))
    const dot = d[0]!.reduce((sum, a, i) => sum + a * d[1]![i]!, 0)
    const square = d[0]!.reduce((sum, a, i) => sum + d[0]!.slice(i + 1).reduce((rest, b, k) => rest + (a * d[1]![i + 1 + k]! - b * d[1]![i]!) ** 2, 0), 0)
    return [Math.atan2(Math.sqrt(square), dot)]
  }, inputs)
  return turn!
}

/** Half the span that the shaft's rate is a mean over, seconds: one frame at 120 a second. */
const rateHalf = 1 / 120

export const timeMeasures: readonly Measure[] = [
  timed('backswing-time', 'takeaway', 'top'),
  timed('downswing-time', 'top', 'impact'),
  {
    id: 'tempo-ratio', views: 'swing', at: ['swing'], unit: 'ratio', plane: 'none: time', sign: 'positive',
    definition: 'Backswing time over downswing time.',
    formula: '(t(top) - t(takeaway)) / (t(impact) - t(top))',
    read: (swing, view) => {
      const back = span(swing, view, 'takeaway', 'top')
      if (isMissing(back)) return back
      const down = span(swing, view, 'top', 'impact')
      if (isMissing(down)) return down
      if (!(down.value.value > 0)) return missing('the downswing takes no time')
      return { value: divide(back.value, down.value), basis: back.basis + down.basis.slice(down.basis.indexOf(';')) }
    },
  },
  {
    id: 'shaft-rate', views: ['face-on'], at: ['lead-arm-level-down', 'shaft-level-down', 'impact'], unit: 'deg/s',
    plane: 'in space where both cameras are known, else vertical along the target line as the face-on camera sees it', sign: 'a size, never negative',
    definition:
      'How fast the shaft turns, as a mean over 1/120 s on either side. A shutter of 1/500 s smears a shaft at 2000 degrees a second over 4 degrees, and a rolling shutter bends it: the error holds the second, not the first.',
    formula: 'angle between the shaft 1/120 s before and after, over 1/60 s',
    read: (swing, view, at) => {
      const p = positionAt(swing, view.name, at as PositionName)
      if (isMissing(p)) return p
      const shift = (dt: number): Uncertain => ({ value: p.t.value + dt, parts: p.t.parts })
      if (view.interval > 0.9 / 25) return missing('the frames are too far apart to see how fast the shaft turns')
      const turn = turnBetween(swing, view, shift(-rateHalf), shift(rateHalf))
      if (isMissing(turn)) return turn
      const where = hasSpace(swing) ? 'from both views' : 'as it looks face-on'
      return { value: scaled(turn, 180 / Math.PI / (2 * rateHalf)), basis: `the shaft ${where}; ${at} ${p.basis}` }
    },
  },
]
