import { cross2, distance2, dot2, length2, sub2, type ImagePoint, type Vec2 } from '../../geometry/vec.ts'
import { figureJoints } from '../figure.ts'
import type { Mark } from '../mark.ts'
import type { ToolContext } from './tool.ts'

type Place = Pick<ToolContext, 'unit' | 'mirror'>

/** How far a point lies from what is drawn of a mark, in pixels of the original; 0 within a text's plate. */
export function distanceTo(mark: Mark, at: ImagePoint, place: Place): number {
  const [a, b] = mark.points as [Vec2, Vec2]
  switch (mark.shape) {
    case 'line': {
      const direction = sub2(b, a)
      const length = length2(direction)
      return length === 0 ? distance2(a, at) : Math.abs(cross2(direction, sub2(at, a))) / length
    }
    case 'box':
      return toPath([a, [b[0], a[1]], b, [a[0], b[1]], a], at)
    case 'circle':
      return Math.min(Math.abs(distance2(a, at) - distance2(a, b)), distance2(a, at))
    case 'dot':
      return Math.max(0, distance2(a, at) - mark.weight * 1.4 * place.unit)
    case 'fan':
      return toSegment(a, b, at)
    case 'arms':
      return toArms(mark.points, at)
    case 'plan':
    case 'figure':
    case 'misses':
      return Math.hypot(Math.max(Math.min(a[0], b[0]) - at[0], 0, at[0] - Math.max(a[0], b[0])), Math.max(Math.min(a[1], b[1]) - at[1], 0, at[1] - Math.max(a[1], b[1])))
    case 'text':
      return toPlate(mark, at, place)
    case 'segment':
    case 'arrow':
    case 'angle':
    case 'polyline':
    case 'freehand':
      return toPath(mark.points, at)
  }
}

const bones = ([['leadShoulder', 'leadElbow', 'leadWrist'], ['trailShoulder', 'trailElbow', 'trailWrist'], ['leadShoulder', 'trailShoulder', 'trailHip', 'leadHip', 'leadShoulder'], ['butt', 'clubhead']] as const)
  .map((chain) => chain.map((joint) => figureJoints.indexOf(joint)))

/** To the nearest bone of any pose. */
function toArms(points: readonly Vec2[], at: Vec2): number {
  let least = Infinity
  for (let from = 0; from + figureJoints.length <= points.length; from += figureJoints.length)
    for (const chain of bones) least = Math.min(least, toPath(chain.map((i) => points[from + i]!), at))
  return least
}

/** The topmost mark within reach of a point, or null. */
export function markAt(marks: readonly Mark[], at: ImagePoint, { reach, ...place }: Place & { readonly reach: number }): Mark | null {
  return marks.findLast((mark) => !mark.hidden && distanceTo(mark, at, place) <= reach) ?? null
}

/** Distance to a run of segments. */
export function toPath(points: readonly Vec2[], at: Vec2): number {
  let least = points.length === 1 ? distance2(points[0]!, at) : Infinity
  for (let i = 1; i < points.length; i++) least = Math.min(least, toSegment(points[i - 1]!, points[i]!, at))
  return least
}

function toSegment(a: Vec2, b: Vec2, at: Vec2): number {
  const direction = sub2(b, a)
  const squared = dot2(direction, direction)
  const along = squared === 0 ? 0 : Math.min(Math.max(dot2(sub2(at, a), direction) / squared, 0), 1)
  return distance2([a[0] + direction[0] * along, a[1] + direction[1] * along], at)
}

/** The plate's size is estimated from the letters: a tool has no canvas to measure on. A mirrored pane turns its side. */
function toPlate(mark: Mark, at: Vec2, { unit, mirror }: Place): number {
  const lines = mark.text.split('\n')
  const size = unit * 30
  const width = Math.max(...lines.map((line) => line.length)) * size * 0.56 + size * 0.92
  const height = lines.length * size * 1.28 + size * 0.36
  const [x, y] = mark.points[0]!
  const [left, right] = mirror ? [x - width, x] : [x, x + width]
  return Math.hypot(Math.max(left - at[0], 0, at[0] - right), Math.max(y - at[1], 0, at[1] - y - height))
}
