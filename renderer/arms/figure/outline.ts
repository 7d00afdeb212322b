import type { Vec2 } from '../../../shared/geometry/vec.ts'
import type { Dash } from './pen.ts'

/** Lines as triangles whose edges fade out, so that they are smooth where nothing smooths them. */

/** The pieces of a line that a dash leaves of it. */
export function dashed(points: readonly Vec2[], [on, off]: Dash): Vec2[][] {
  const out: Vec2[][] = []
  let piece: Vec2[] = []
  /** Left of the part that is being drawn, or left open. */
  let left = on
  let isOn = true
  const first = points[0]
  if (first) piece.push(first)
  for (let i = 1; i < points.length; i++) {
    const [ax, ay] = points[i - 1]!
    const [bx, by] = points[i]!
    const length = Math.hypot(bx - ax, by - ay)
    let done = 0
    while (length - done > left) {
      done += left
      const at: Vec2 = [ax + ((bx - ax) * done) / length, ay + ((by - ay) * done) / length]
      if (isOn) {
        piece.push(at)
        out.push(piece)
        piece = []
      } else piece = [at]
      isOn = !isOn
      left = isOn ? on : off
    }
    left -= length - done
    if (isOn) piece.push([bx, by])
  }
  if (piece.length > 1) out.push(piece)
  return out
}

/**
 * A line of some width as triangles, three corners each.
 * @param put called for each corner, with how opaque it is there, 0 to 1
 * @param feather over what width its edge fades out
 */
export function widened(points: readonly Vec2[], width: number, feather: number, put: (x: number, y: number, share: number) => void): void {
  const line = points.filter(([x, y], i) => i === 0 || Math.hypot(x - points[i - 1]![0], y - points[i - 1]![1]) > 1e-6)
  if (line.length < 2) return
  const isClosed = line.length > 3 && Math.hypot(line[0]![0] - line.at(-1)![0], line[0]![1] - line.at(-1)![1]) < 1e-3
  const inner = Math.max(0, (width - feather) / 2)
  const outer = (width + feather) / 2
  // A line thinner than its own fading edge is fainter instead.
  const share = Math.min(1, width / feather)
  const normals = line.slice(1).map(([x, y], i): Vec2 => {
    const [ax, ay] = line[i]!
    const length = Math.hypot(x - ax, y - ay)
    return [-(y - ay) / length, (x - ax) / length]
  })
  /** Across the line at a corner, longer where it bends, so that its width stays; cut short at a sharp one. */
  const across = line.map((_, i): Vec2 => {
    const a = normals[i - 1] ?? (isClosed ? normals.at(-1)! : normals[0]!)
    const b = normals[i] ?? (isClosed ? normals[0]! : normals.at(-1)!)
    const [x, y] = [a[0] + b[0], a[1] + b[1]]
    const squared = x * x + y * y
    if (squared < 0.1) return b
    const k = Math.min(2, 2 / squared)
    return [x * k, y * k]
  })
  const rims: readonly (readonly [at: number, share: number])[] = [[-outer, 0], [-inner, share], [inner, share], [outer, 0]]
  for (let i = 1; i < line.length; i++) {
    const [a, b, m, n] = [line[i - 1]!, line[i]!, across[i - 1]!, across[i]!]
    for (let r = 1; r < rims.length; r++) {
      const [[low, faint], [high, strong]] = [rims[r - 1]!, rims[r]!]
      if (high === low) continue
      const corner = (p: Vec2, to: Vec2, off: number, opaque: number): void => put(p[0] + to[0] * off, p[1] + to[1] * off, opaque)
      corner(a, m, low, faint)
      corner(b, n, low, faint)
      corner(b, n, high, strong)
      corner(a, m, low, faint)
      corner(b, n, high, strong)
      corner(a, m, high, strong)
    }
  }
}
