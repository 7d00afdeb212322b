import { apply } from '../geometry/affine.ts'
import type { ImagePoint, Vec2 } from '../geometry/vec.ts'
import type { PointName } from '../contract/pointsFile.ts'
import { inkOfPoint, skeleton, type PointInk } from '../swing/placing.ts'
import type { Canvas2D } from './canvas.ts'
import type { MarkPlace } from './drawMark.ts'
import { haloColour, inkColours } from './palette.ts'

/** Points of one frame, in image space. */
export type FramePoints = Readonly<Partial<Record<PointName, ImagePoint>>>

/**
 * Draws the points of a frame as small open rings, so that what they mark stays in sight, and the lines between those that
 * belong together. All of an ink are one path: a frame costs a dozen strokes however many points it has.
 */
export function drawPoints(ctx: Canvas2D, points: FramePoints, { transform, unit }: MarkPlace, chosen: PointName | null = null): void {
  const at = new Map<PointName, Vec2>()
  for (const [name, point] of Object.entries(points) as [PointName, ImagePoint][]) at.set(name, apply(transform, point))
  if (at.size === 0) return
  const radius = Math.max(6 * unit, 3.5)
  const width = Math.max(2 * unit, 1.25)
  const lines = new Map<PointInk, (readonly [Vec2, Vec2])[]>()
  const rings = new Map<PointInk, Vec2[]>()
  for (const [from, to] of linesOf(at)) {
    const ends = shortened(at.get(from)!, at.get(to)!, radius)
    if (ends) push(lines, inkOfLine(from, to), ends)
  }
  for (const [name, place] of at) push(rings, inkOfPoint(name), place)
  ctx.save()
  ctx.lineCap = 'round'
  ctx.setLineDash([])
  const trace = (ink: PointInk): void => {
    ctx.beginPath()
    for (const [[ax, ay], [bx, by]] of lines.get(ink) ?? []) {
      ctx.moveTo(ax, ay)
      ctx.lineTo(bx, by)
    }
    for (const [x, y] of rings.get(ink) ?? []) {
      ctx.moveTo(x + radius, y)
      ctx.arc(x, y, radius, 0, 2 * Math.PI)
    }
    ctx.stroke()
  }
  const inks = [...new Set([...lines.keys(), ...rings.keys()])]
  ctx.lineWidth = width + 2
  ctx.strokeStyle = haloColour
  for (const ink of inks) trace(ink)
  ctx.lineWidth = width
  for (const ink of inks) {
    ctx.strokeStyle = inkColours[ink]
    trace(ink)
  }
  const own = chosen && at.get(chosen)
  if (own) {
    for (const [w, colour] of [[width + 3, haloColour], [width + 0.5, inkColours.plain]] as const) {
      ctx.lineWidth = w
      ctx.strokeStyle = colour
      ctx.beginPath()
      ctx.arc(own[0], own[1], radius * 1.7, 0, 2 * Math.PI)
      ctx.stroke()
    }
  }
  ctx.restore()
}

/** A shaft is drawn once, by its longest pair; a spine that has no ends of its own by what stands for it is not drawn. */
function* linesOf(at: ReadonlyMap<PointName, Vec2>): Generator<readonly [PointName, PointName]> {
  for (const [from, to] of skeleton) {
    if (!at.has(from) || !at.has(to)) continue
    if (from === 'hands' && at.has('butt')) continue
    if (to === 'shaftEnd' && at.has('clubhead')) continue
    yield [from, to]
  }
}

const inkOfLine = (from: PointName, to: PointName): PointInk => {
  const [a, b] = [inkOfPoint(from), inkOfPoint(to)]
  return a === b ? a : 'body'
}

/** The line between two rings, from rim to rim; null where the rings touch. */
function shortened(a: Vec2, b: Vec2, radius: number): readonly [Vec2, Vec2] | null {
  const length = Math.hypot(b[0] - a[0], b[1] - a[1])
  if (length <= 2 * radius) return null
  const k = radius / length
  return [[a[0] + (b[0] - a[0]) * k, a[1] + (b[1] - a[1]) * k], [b[0] - (b[0] - a[0]) * k, b[1] - (b[1] - a[1]) * k]]
}

function push<K, V>(map: Map<K, V[]>, key: K, value: V): void {
  const list = map.get(key)
  if (list) list.push(value)
  else map.set(key, [value])
}
