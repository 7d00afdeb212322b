import type { Vec2 } from '../../shared/geometry/vec.ts'
import type { Rect, Size } from '../../shared/picture/layout.ts'

export interface LoupeRoom {
  /** The point that is magnified, in CSS pixels of the host. */
  readonly at: Vec2
  /** The magnifier's diameter. */
  readonly size: number
  readonly host: Size
  /** Where the picture shows. */
  readonly picture: Rect
  /** Where the other pane's picture shows; it is looked at as well. */
  readonly beside: Rect | null
  /** What has to stay in sight beside the point: the other ends of the mark in hand. */
  readonly keep: readonly Vec2[]
  /** Where its middle stood before, so that it does not hop to and fro. */
  readonly before: Vec2 | null
}

/** Between the point and the magnifier's rim: room for the pointer and for what lies next to the point. */
const gap = 44

/**
 * Where the magnifier's middle stands: inside the host, never over the point, off the picture where there is bare ground
 * beside it, else toward the picture's edge, since the player stands in its middle; over none of what has to stay in sight.
 */
export function loupePlace(room: LoupeRoom): Vec2 {
  const { at, size, host, picture } = room
  const radius = size / 2
  const reach = radius + gap
  const inside = ([x, y]: Vec2): boolean => x >= radius && y >= radius && x <= host.width - radius && y <= host.height - radius
  const level = Math.min(Math.max(at[1], radius), host.height - radius)
  const bare: Vec2[] = [[picture.x - radius - 4, level], [picture.x + picture.width + radius + 4, level]]
  const around = Array.from({ length: 16 }, (_, i): Vec2 => [at[0] + Math.cos((i * Math.PI) / 8) * reach, at[1] + Math.sin((i * Math.PI) / 8) * reach])
  const places = [...bare, ...around].filter((place) => inside(place) && Math.hypot(place[0] - at[0], place[1] - at[1]) >= reach - 1e-6)
  const costs = places.map((place) => cost(place, room))
  const best = places[costs.indexOf(Math.min(...costs))]
  // A host too small for it anywhere: in the corner that is farthest from the point.
  return best ?? [at[0] > host.width / 2 ? radius : host.width - radius, at[1] > host.height / 2 ? radius : host.height - radius]
}

function cost(place: Vec2, { at, size, picture, beside, keep, before }: LoupeRoom): number {
  const radius = size / 2
  const over = (from: number, length: number, middle: number): number => Math.max(0, Math.min(from + length, middle + radius) - Math.max(from, middle - radius)) / size
  const covers = [picture, ...(beside ? [beside] : [])].reduce((sum, rect) => sum + over(rect.x, rect.width, place[0]) * over(rect.y, rect.height, place[1]), 0)
  const hidden = keep.filter(([x, y]) => Math.hypot(x - at[0], y - at[1]) > 8 && Math.hypot(x - place[0], y - place[1]) < radius + 8).length
  const off = Math.hypot((place[0] - picture.x) / picture.width - 0.5, (place[1] - picture.y) / picture.height - 0.5)
  const away = Math.hypot(place[0] - at[0], place[1] - at[1]) / size
  const hop = before ? Math.min(1, Math.hypot(place[0] - before[0], place[1] - before[1]) / size) : 0
  return 6 * hidden + 4 * covers - 2 * Math.min(off, 1) + 0.8 * away + 1.2 * hop
}
