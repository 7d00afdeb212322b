import { meetPlane, type Camera } from '../../camera/projection.ts'
import { ballDiameter } from '../../camera/scale.ts'
import type { PointName } from '../../contract/pointsFile.ts'
import { exact, linear, measured, propagate, type Uncertain } from '../../signal/uncertain.ts'
import { positionAt, type Measure, type Outcome } from '../definition.ts'
import { hasSpace, isMissing, missing, pictureAt, spaceAt, type Missing, type Swing } from '../reading.ts'
import { usualDepth } from '../bodyDepth.ts'
import type { SwingView } from '../viewOf.ts'

const bothViews = ['face-on', 'down-the-line'] as const
const asGiven = 'camera matrix as given'
const noCamera = missing('the camera\'s place is not known: the view has no camera matrix')

const ofCamera = (read: (camera: Camera, view: SwingView, swing: Swing) => Outcome | Missing): Measure['read'] =>
  (swing, view) => (view.camera ? read(view.camera, view, swing) : noCamera)

/**
 * How far a line parallel to the target line (down the line) or square to it (face-on) through a landmark at address
 * is from the camera, metres, and what that rests on.
 */
function fromLine(swing: Swing, view: SwingView, camera: Camera, point: PointName): { value: Uncertain; basis: string } | Missing {
  const address = positionAt(swing, view.name, 'address')
  if (isMissing(address)) return address
  const space = hasSpace(swing) ? spaceAt(swing, point, address.t) : null
  if (space && !isMissing(space))
    return { value: linear(camera.place[2] - space.z.value, [space.z], [-1]), basis: `${point} at address from both views; ${asGiven}` }
  const seen = pictureAt(swing, view, point, address.t)
  if (isMissing(seen)) return seen
  const onGround = point === 'ball'
  // The ball lies on the ground; the hands are taken to hang over their usual place.
  const height: Uncertain = onGround ? exact(ballDiameter / 2) : exact(0)
  const depth = usualDepth(view.name, point)
  const sideways = measured(depth.at, depth.sigma, swing.sources.of(`depth ${view.name} ${point}`))
  const meet = (p: ArrayLike<number>) =>
    onGround ? meetPlane(camera, [p[0]!, p[1]!], [0, 1, 0], p[2]!) : meetPlane(camera, [p[0]!, p[1]!], [1, 0, 0], p[2]!)
  const inputs = [seen.x, seen.y, onGround ? height : sideways]
  if (!meet(inputs.map((u) => u.value))) return missing(`the sightline to the ${point} does not meet the ground`)
  const [z] = propagate((p) => [meet(p)?.[2] ?? 0], inputs)
  return { value: linear(camera.place[2] - z!.value, [z!], [-1]), basis: `${point} at address in this view; ${asGiven}` }
}

export const cameraMeasures: readonly Measure[] = [
  {
    id: 'camera-yaw', views: bothViews, at: ['swing'], unit: 'deg', plane: 'horizontal',
    sign: 'down the line: positive pointing toward the ball\'s side of the target line; face-on: positive pointing toward the target of square to it',
    definition: 'Where the camera\'s axis points, seen from above, against the line it should point along.',
    formula: 'down the line atan2(Z, X) of the axis; face-on the same + 90',
    read: ofCamera(({ axis }, view) => {
      if (Math.hypot(axis[0], axis[2]) < 0.2) return missing('the camera points straight up or down')
      const azimuth = (Math.atan2(axis[2], axis[0]) * 180) / Math.PI
      return { value: exact(view.name === 'face-on' ? azimuth + 90 : azimuth), basis: asGiven }
    }),
  },
  {
    id: 'camera-offset', views: bothViews, at: ['swing'], unit: 'mm', plane: 'horizontal',
    sign: 'down the line: positive toward the ball\'s side of the target line; face-on: positive toward the target of the middle of the stance',
    definition: 'How far the camera stands off its line: down the line, the target line through the ball (the clubhead at address stands in); face-on, the line square to it through the middle of the stance.',
    formula: 'down the line Z(camera) - Z(ball); face-on X(camera)',
    read: ofCamera((camera, view, swing) => {
      if (view.name === 'face-on') return { value: exact(1000 * camera.place[0]), basis: asGiven }
      const found = view.tracks.has('ball') ? fromLine(swing, view, camera, 'ball') : fromLine(swing, view, camera, 'clubhead')
      return isMissing(found) ? found : { value: linear(1000 * found.value.value, [found.value], [1000]), basis: found.basis }
    }),
  },
  {
    id: 'camera-offset-hand-line', views: ['down-the-line'], at: ['swing'], unit: 'mm', plane: 'horizontal',
    sign: 'positive toward the ball\'s side',
    definition: 'How far the camera stands off the hand line, the parallel to the target line through the hands at address.',
    formula: 'Z(camera) - Z(hands at address)',
    read: ofCamera((camera, view, swing) => {
      const found = fromLine(swing, view, camera, 'hands')
      return isMissing(found) ? found : { value: linear(1000 * found.value.value, [found.value], [1000]), basis: found.basis }
    }),
  },
  {
    id: 'camera-height', views: bothViews, at: ['swing'], unit: 'mm', plane: 'vertical', sign: 'positive above the ground',
    definition: 'How high the camera stands above the ground at the feet.', formula: 'Y(camera)',
    read: ofCamera((camera) => ({ value: exact(1000 * camera.place[1]), basis: asGiven })),
  },
  {
    id: 'camera-distance', views: bothViews, at: ['swing'], unit: 'mm', plane: 'horizontal', sign: 'a size, never negative',
    definition: 'How far the camera stands, over the ground, from the middle of the stance.', formula: 'hypot(X(camera), Z(camera))',
    read: ofCamera((camera) => ({ value: exact(1000 * Math.hypot(camera.place[0], camera.place[2])), basis: asGiven })),
  },
]
