import { apply, type Affine } from '../../shared/geometry/affine.ts'
import type { Mark } from '../../shared/markup/mark.ts'
import type { Rect, Size } from '../../shared/picture/layout.ts'

export const corners = ['top-left', 'top-right', 'bottom-left', 'bottom-right'] as const
export type Corner = (typeof corners)[number]

/** The plates on a clip at a tick, where they lie in the host, CSS pixels. */
export function platesAt(marks: Readonly<Record<string, Mark>>, clipId: string, tick: number, toHost: Affine): Rect[] {
  return Object.values(marks).flatMap((mark) => {
    const isPlate = mark.shape === 'plan' || mark.shape === 'figure' || mark.shape === 'misses'
    if (!isPlate || mark.clipId !== clipId || mark.hidden || (mark.span && (tick < mark.span.from || tick > mark.span.to))) return []
    const [[ax, ay], [bx, by]] = [apply(toHost, mark.points[0]!), apply(toHost, mark.points[1]!)]
    return [{ x: Math.min(ax, bx), y: Math.min(ay, by), width: Math.abs(ax - bx), height: Math.abs(ay - by) }]
  })
}

/** The first corner of a room in which a tag lies over none of the plates; the first of all where there is none such. */
export function tagCorner(tag: Size, room: Rect, plates: readonly Rect[]): Corner {
  return corners.find((corner) => {
    const x = corner.endsWith('left') ? room.x : room.x + room.width - tag.width
    const y = corner.startsWith('top') ? room.y : room.y + room.height - tag.height
    return plates.every((p) => p.x >= x + tag.width || p.x + p.width <= x || p.y >= y + tag.height || p.y + p.height <= y)
  }) ?? corners[0]
}
