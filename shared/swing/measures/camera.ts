import { axisYaw, distanceOf, heightOf, lookBias, offMiddle, rollOf } from '../../camera/place/place.ts'
import { meetPlane, type Camera } from '../../camera/projection.ts'
import { propagateThrough, type CameraErrors } from '../../camera/solve/cameraErrors.ts'
import { ballDiameter } from '../../camera/scale.ts'
import type { PointName } from '../../contract/pointsFile.ts'
import { exact, measured, type Uncertain } from '../../signal/uncertain.ts'
import { positionAt, type Measure, type Outcome } from '../definition.ts'
import { hasSpace, isMissing, missing, pictureAt, sightlinesAt, type Missing, type Swing } from '../reading.ts'
import { usualDepth } from '../bodyDepth.ts'
import type { SwingView } from '../viewOf.ts'

const bothViews = ['face-on', 'down-the-line'] as const
const asGiven = 'camera matrix as given'

/** A view's camera, given or solved, with its errors. */
interface Placed {
  readonly cameras: readonly Camera[]
  readonly index: number
  readonly errors: CameraErrors | null
  readonly basis: string
}

/** The camera that a view is known to have been taken with, or why none is. */
export function placed(swing: Swing, view: SwingView): Placed | Missing {
  if (view.camera) {
    const cameras = swing.views.map((v) => v.camera ?? view.camera!)
    return { cameras, index: swing.views.indexOf(view), errors: swing.solved.errors, basis: view.file.camera ? asGiven : swing.solved.basis }
  }
  const alone = swing.solved.alone.get(view.name)
  if (alone) return { cameras: [alone.camera], index: 0, errors: alone.errors, basis: `${alone.solve.basis}; from this view alone` }
  return missing(`the camera's place is not known: the view has no camera matrix${swing.solved.why ? `. ${swing.solved.why}` : ''}`)
}

/** Something of the camera alone, in the measure's unit. */
const ofCamera = (read: (camera: Camera, view: SwingView) => number | null): Measure['read'] => (swing, view) => {
  const p = placed(swing, view)
  if (isMissing(p)) return p
  const middle = read(p.cameras[p.index]!, view)
  if (middle === null) return missing('the camera points straight up or down')
  const [value] = propagateThrough((cameras) => [read(cameras[p.index]!, view) ?? middle], p.cameras, p.errors, [])
  return { value: value!, basis: p.basis }
}

/**
 * How far the camera is from a line parallel to the target line through a landmark at address, metres, toward the
 * ball's side, and what that rests on.
 */
function fromLine(swing: Swing, view: SwingView, point: PointName): Outcome | Missing {
  const p = placed(swing, view)
  if (isMissing(p)) return p
  const address = positionAt(swing, view.name, 'address')
  if (isMissing(address)) return address
  const lines = hasSpace(swing) ? sightlinesAt(swing, point, address.t) : null
  if (lines && !isMissing(lines)) {
    const [value] = propagateThrough((cameras, v) => [1000 * (cameras[p.index]!.place[2] - lines.meet(cameras, v).point[2])], p.cameras, p.errors, lines.inputs)
    return { value: value!, basis: `${point} at address from both views; ${p.basis}` }
  }
  const seen = pictureAt(swing, view, point, address.t)
  if (isMissing(seen)) return seen
  // The ball lies on the ground; the hands are taken to hang over their usual place.
  const onGround = point === 'ball'
  const depth = usualDepth(view.name, point)
  const third: Uncertain = onGround ? exact(ballDiameter / 2) : measured(depth.at, depth.sigma, swing.sources.of(`depth ${view.name} ${point}`))
  const meet = (camera: Camera, v: ArrayLike<number>) => meetPlane(camera, [v[0]!, v[1]!], onGround ? [0, 1, 0] : [1, 0, 0], v[2]!)
  const middle = meet(p.cameras[p.index]!, [seen.x.value, seen.y.value, third.value])
  if (!middle) return missing(`the sightline to the ${point} does not meet ${onGround ? 'the ground' : 'the player'}`)
  const [value] = propagateThrough((cameras, v) => {
    const camera = cameras[p.index]!
    return [1000 * (camera.place[2] - (meet(camera, v) ?? middle)[2])]
  }, p.cameras, p.errors, [seen.x, seen.y, third])
  return { value: value!, basis: `${point} at address in this view; ${p.basis}` }
}

/** What the camera's place adds to the look of the shaft at the top, degrees. */
function bias(swing: Swing, view: SwingView): Outcome | Missing {
  const p = placed(swing, view)
  if (isMissing(p)) return p
  const top = positionAt(swing, view.name, 'top')
  if (isMissing(top)) return top
  const hands = pictureAt(swing, view, view.tracks.has('hands') ? 'hands' : 'butt', top.t)
  if (isMissing(hands)) return hands
  const [value] = propagateThrough((cameras, v) => [lookBias(cameras[p.index]!, [v[0]!, v[1]!])], p.cameras, p.errors, [hands.x, hands.y])
  return { value: value!, basis: `hands at the top in this view; top ${top.basis}; ${p.basis}` }
}

export const cameraMeasures: readonly Measure[] = [
  {
    id: 'camera-yaw', views: bothViews, at: ['swing'], unit: 'deg', plane: 'horizontal',
    sign: 'down the line: positive pointing toward the ball\'s side of the target line; face-on: positive pointing toward the target of square to it',
    definition: 'Where the camera\'s axis points, seen from above, against the line it should point along.',
    formula: 'down the line atan2(Z, X) of the axis; face-on the same + 90',
    read: ofCamera((camera, view) => axisYaw(view.name, camera)),
  },
  {
    id: 'camera-roll', views: bothViews, at: ['swing'], unit: 'deg', plane: 'the picture', sign: 'positive with the world\'s up leaning to the right',
    definition: 'How far the world\'s up leans in the middle of the picture.', formula: 'angle of the image of Y at the axis from straight up',
    read: ofCamera((camera) => rollOf(camera)),
  },
  {
    id: 'camera-offset', views: bothViews, at: ['swing'], unit: 'mm', plane: 'horizontal',
    sign: 'down the line: positive toward the ball\'s side of the target line; face-on: positive toward the target of the middle of the stance',
    definition: 'How far the camera stands off its line: down the line, the target line through the ball (the clubhead at address stands in); face-on, the line square to it through the middle of the stance.',
    formula: 'down the line Z(camera) - Z(ball); face-on X(camera)',
    read: (swing, view, at) =>
      view.name === 'face-on' ? ofCamera((camera) => 1000 * offMiddle(camera))(swing, view, at) : fromLine(swing, view, view.tracks.has('ball') ? 'ball' : 'clubhead'),
  },
  {
    id: 'camera-offset-hand-line', views: ['down-the-line'], at: ['swing'], unit: 'mm', plane: 'horizontal',
    sign: 'positive toward the ball\'s side',
    definition: 'How far the camera stands off the hand line, the parallel to the target line through the hands at address.',
    formula: 'Z(camera) - Z(hands at address)',
    read: (swing, view) => fromLine(swing, view, 'hands'),
  },
  {
    id: 'camera-height', views: bothViews, at: ['swing'], unit: 'mm', plane: 'vertical', sign: 'positive above the ground',
    definition: 'How high the camera stands above the ground at the feet.', formula: 'Y(camera)',
    read: ofCamera((camera) => 1000 * heightOf(camera)),
  },
  {
    id: 'camera-distance', views: bothViews, at: ['swing'], unit: 'mm', plane: 'horizontal', sign: 'a size, never negative',
    definition: 'How far the camera stands, over the ground, from the middle of the stance.', formula: 'hypot(X(camera), Z(camera))',
    read: ofCamera((camera) => 1000 * distanceOf(camera)),
  },
  {
    id: 'camera-look-bias', views: ['down-the-line'], at: ['top'], unit: 'deg', plane: 'horizontal', sign: 'positive makes the shaft look across the line, negative laid off',
    definition: 'What the camera\'s place alone adds to the look of the shaft at the top: how far a shaft along the target line seems turned.',
    formula: '-atan2(Z, X) of the sightline from the camera to the hands at the top',
    read: (swing, view) => bias(swing, view),
  },
]
