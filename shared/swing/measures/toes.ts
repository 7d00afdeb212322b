import { meetPlane, type Camera } from '../../camera/projection.ts'
import { propagateThrough } from '../../camera/solve/cameraErrors.ts'
import { measured } from '../../signal/uncertain.ts'
import { near, positionAt, type Measure, type Outcome } from '../definition.ts'
import { isMissing, missing, type Missing, type Swing } from '../reading.ts'
import type { SwingView } from '../viewOf.ts'
import { placed } from './camera.ts'

const degrees = 180 / Math.PI
const ground = [0, 1, 0] as const

/** Where the line from trail toe to lead toe points on the ground, read through a camera that is known by more than that line. */
function toeAlignment(swing: Swing, view: SwingView): Outcome | Missing {
  const line = view.file.guides?.stanceLine
  if (!line) return missing(`the stance line, from trail toe to lead toe, is not marked in the ${view.name} view`)
  const address = positionAt(swing, view.name, 'address')
  if (isMissing(address)) return address
  if (!view.file.camera && !swing.views.some((each) => each.file.guides?.targetLine))
    return missing('the stance line itself stands in for the target line: mark the target line too')
  const p = placed(swing, view)
  if (isMissing(p)) return p
  const inputs = line.flatMap(([x, y], i) => [x, y].map((value, axis) => measured(value, view.sigmaPx, swing.sources.of(`stance line ${view.name} ${i} ${axis}`))))
  const turn = (camera: Camera, v: ArrayLike<number>): number | null => {
    const trail = meetPlane(camera, [v[0]!, v[1]!], ground, 0)
    const lead = meetPlane(camera, [v[2]!, v[3]!], ground, 0)
    return trail && lead ? near(Math.atan2(lead[2] - trail[2], lead[0] - trail[0]) * degrees, 0, 180) : null
  }
  const middle = turn(p.cameras[p.index]!, inputs.map(({ value }) => value))
  if (middle === null) return missing('the stance line does not lie on the ground that the camera sees')
  const [value] = propagateThrough((cameras, v) => [near(turn(cameras[p.index]!, v) ?? middle, middle, 180)], p.cameras, p.errors, inputs)
  return { value: value!, basis: `stance line as marked, on the ground; ${p.basis}` }
}

export const toeMeasures: readonly Measure[] = [
  {
    id: 'toe-alignment', views: ['face-on', 'down-the-line'], at: ['address'], unit: 'deg', plane: 'horizontal, on the ground',
    sign: '0 along the target line, positive with the lead side nearer the ball (closed)',
    definition: 'Where the line of the toes points against the target line; through a camera that is known, and not by the stance line alone.',
    formula: 'atan2(dZ, dX) from trail toe to lead toe',
    read: toeAlignment,
  },
]
