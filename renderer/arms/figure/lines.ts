import type { ArmsPose, ForwardResult } from '../../../shared/arms/types.ts'
import { add3, scale3, type Vec2, type Vec3 } from '../../../shared/geometry/vec.ts'
import { drawSign, numberWords } from '../../../shared/picture/plate.ts'
import { inkColours, withAlpha } from '../../../shared/picture/palette.ts'
import type { ArcPlace } from '../armsRoom.ts'
import { toScreen, type EyeAxes, type Screen } from './eye.ts'

/** What is drawn over the solids: the target line, the shaft's angle to it, the elbow's arc and its handle, limits in words. */
export interface Lines {
  readonly pose: ForwardResult
  readonly now: ForwardResult
  readonly arc: readonly ArcPlace[]
  readonly azimuth: { readonly value: number; readonly sigma: number } | null
  readonly ghost: ArmsPose | null
  /** What the hand is over or holds. */
  readonly held: 'elbow' | 'shaft' | null
  readonly mirrored: boolean
}

const font = (size: number, weight = 500): string => `${weight} ${size}px Inter, system-ui, sans-serif`

export function drawLines(ctx: CanvasRenderingContext2D, axes: EyeAxes, screen: Screen, lines: Lines): void {
  const { pose, now, arc, azimuth, held, mirrored } = lines
  const see = (p: Vec3): Vec2 => {
    const [x, y] = toScreen(axes, screen, mirrored, p)
    return [x, y]
  }
  ctx.lineCap = 'round'
  ctx.lineJoin = 'round'
  drawTargetLine(ctx, see, pose)
  drawShaftAngle(ctx, see, pose, azimuth)
  drawArc(ctx, see, arc)
  const [ex, ey] = see(pose.trail.elbow)
  const [nx, ny] = see(now.trail.elbow)
  if (Math.hypot(ex - nx, ey - ny) > 8) {
    ctx.strokeStyle = withAlpha(inkColours.plain, 0.9)
    ctx.lineWidth = 1.5
    ctx.beginPath()
    ctx.arc(nx, ny, 5, 0, 2 * Math.PI)
    ctx.stroke()
    label(ctx, now.kind === 'sketch' ? 'now' : 'as filmed', [nx, ny + 16], 11, 'center')
  }
  ctx.lineWidth = held === 'elbow' ? 3.5 : 2
  ctx.strokeStyle = inkColours.plain
  ctx.beginPath()
  ctx.arc(ex, ey, held === 'elbow' ? 15 : 12, 0, 2 * Math.PI)
  ctx.stroke()
  if (held === 'shaft') {
    const [bx, by] = see(pose.club.end)
    ctx.beginPath()
    ctx.arc(bx, by, 13, 0, 2 * Math.PI)
    ctx.stroke()
  }
  drawLimits(ctx, see, screen, pose)
}

/** A level arrow toward the target under the figure, so that every view tells where it is. */
function drawTargetLine(ctx: CanvasRenderingContext2D, see: (p: Vec3) => Vec2, { chest }: ForwardResult): void {
  const [x, y, z] = chest.trailHip
  const [from, to] = [see([x - 0.55, y - 0.1, z + 0.3]), see([x + 0.75, y - 0.1, z + 0.3])]
  ctx.strokeStyle = withAlpha(inkColours.plain, 0.4)
  ctx.lineWidth = 1.5
  ctx.setLineDash([7, 6])
  line(ctx, from, to)
  ctx.setLineDash([])
  arrowHead(ctx, from, to)
  label(ctx, 'target', [to[0], to[1] - 12], 11, 'center', 0.75)
}

/** A level line along the target's through the butt, the shaft's own level projection, and the angle between them. */
function drawShaftAngle(ctx: CanvasRenderingContext2D, see: (p: Vec3) => Vec2, pose: ForwardResult, azimuth: Lines['azimuth']): void {
  const { butt, end } = pose.club
  const length = Math.hypot(end[0] - butt[0], end[1] - butt[1], end[2] - butt[2])
  const level = Math.hypot(end[0] - butt[0], end[2] - butt[2])
  const along: Vec3 = add3(butt, [length * 1.05, 0, 0])
  ctx.strokeStyle = withAlpha(inkColours.plain, 0.75)
  ctx.lineWidth = 1.5
  ctx.setLineDash([6, 5])
  line(ctx, see(butt), see(along))
  ctx.setLineDash([])
  arrowHead(ctx, see(butt), see(along))
  if (level < 0.05 * length) return
  const angle = (pose.readings.azimuthDeg * Math.PI) / 180
  const radius = length * 0.72
  const place = (a: number): Vec3 => add3(butt, [radius * Math.cos(a), 0, radius * Math.sin(a)])
  ctx.beginPath()
  ctx.moveTo(...see(butt))
  const steps = 24
  for (let i = 0; i <= steps; i++) ctx.lineTo(...see(place((angle * i) / steps)))
  ctx.closePath()
  ctx.fillStyle = withAlpha(inkColours.club, 0.26)
  ctx.fill()
  if (Math.abs(angle) > 0.01) {
    ctx.beginPath()
    for (let i = 0; i <= steps; i++) ctx[i === 0 ? 'moveTo' : 'lineTo'](...see(place((angle * i) / steps)))
    ctx.strokeStyle = inkColours.club
    ctx.lineWidth = 2
    ctx.stroke()
  }
  if (!azimuth) return
  // Beyond the club's end, or above the hands where the shaft points at the viewer.
  const from = see(butt)
  const to = see(add3(butt, scale3([Math.cos(angle / 2), 0, Math.sin(angle / 2)], length)))
  const seen = Math.hypot(to[0] - from[0], to[1] - from[1])
  const at: Vec2 = seen < 90 ? [from[0], from[1] - 64] : [to[0] + ((to[0] - from[0]) * 58) / seen, to[1] + ((to[1] - from[1]) * 34) / seen]
  label(ctx, `${numberWords(azimuth, '\u00b0')} ${Math.abs(azimuth.value) <= azimuth.sigma ? 'on the line' : azimuth.value > 0 ? 'across' : 'laid off'}`, at, 14, 'center', 1, true)
}

/** Where the trail elbow can be: solid where every joint stays in its range, dotted beyond. */
function drawArc(ctx: CanvasRenderingContext2D, see: (p: Vec3) => Vec2, arc: readonly ArcPlace[]): void {
  for (let i = 1; i < arc.length; i++) {
    const [a, b] = [arc[i - 1]!, arc[i]!]
    const isIn = a.reachable && b.reachable
    ctx.strokeStyle = withAlpha(inkColours.plain, isIn ? 0.85 : 0.35)
    ctx.lineWidth = isIn ? 2 : 1.5
    ctx.setLineDash(isIn ? [] : [2, 5])
    line(ctx, see(a.elbow), see(b.elbow))
  }
  ctx.setLineDash([])
  // Where the range ends, a stop across the arc.
  for (let i = 1; i < arc.length; i++) {
    const [a, b] = [arc[i - 1]!, arc[i]!]
    if (a.reachable === b.reachable) continue
    const [p, q] = [see(a.elbow), see(b.elbow)]
    const length = Math.hypot(q[0] - p[0], q[1] - p[1])
    if (length < 0.5) continue
    const [ux, uy] = [(q[0] - p[0]) / length, (q[1] - p[1]) / length]
    const at = a.reachable ? p : q
    ctx.strokeStyle = inkColours.plain
    ctx.lineWidth = 2.5
    line(ctx, [at[0] - uy * 7, at[1] + ux * 7], [at[0] + uy * 7, at[1] - ux * 7])
  }
}

function drawLimits(ctx: CanvasRenderingContext2D, see: (p: Vec3) => Vec2, screen: Screen, pose: ForwardResult): void {
  const seen = new Map<string, number>()
  for (const { side, joint, words } of pose.limits) {
    const arm = pose[side]
    const at = see(joint === 'elbowFlexion' || joint === 'pronation' ? arm.elbow : joint === 'wristFlexion' || joint === 'ulnarDeviation' ? arm.wrist : arm.shoulder)
    const key = at.map(Math.round).join()
    const n = seen.get(key) ?? 0
    seen.set(key, n + 1)
    ctx.strokeStyle = inkColours.plain
    ctx.lineWidth = 2.5
    ctx.beginPath()
    ctx.arc(at[0], at[1], 18, 0, 2 * Math.PI)
    ctx.stroke()
    const y = at[1] - 24 - 19 * n
    ctx.font = font(11.5)
    const wide = ctx.measureText(words).width + 24
    const x = Math.min(Math.max(at[0] + 16, 8), screen.width - wide - 8)
    drawSign(ctx as never, [x + 7, y], 14)
    label(ctx, words, [x + 18, y], 11.5, 'left', 1, true)
  }
}

function line(ctx: CanvasRenderingContext2D, a: Vec2, b: Vec2): void {
  ctx.beginPath()
  ctx.moveTo(a[0], a[1])
  ctx.lineTo(b[0], b[1])
  ctx.stroke()
}

function arrowHead(ctx: CanvasRenderingContext2D, from: Vec2, to: Vec2): void {
  const length = Math.hypot(to[0] - from[0], to[1] - from[1])
  if (length < 12) return
  const [ux, uy] = [(to[0] - from[0]) / length, (to[1] - from[1]) / length]
  ctx.fillStyle = ctx.strokeStyle
  ctx.beginPath()
  ctx.moveTo(to[0], to[1])
  ctx.lineTo(to[0] - ux * 9 - uy * 4, to[1] - uy * 9 + ux * 4)
  ctx.lineTo(to[0] - ux * 9 + uy * 4, to[1] - uy * 9 - ux * 4)
  ctx.closePath()
  ctx.fill()
}

function label(ctx: CanvasRenderingContext2D, text: string, [x, y]: Vec2, size: number, align: 'left' | 'center', alpha = 0.9, plate = false): void {
  ctx.font = font(size, plate ? 600 : 500)
  ctx.textAlign = 'left'
  ctx.textBaseline = 'middle'
  const wide = ctx.measureText(text).width
  const left = align === 'center' ? x - wide / 2 : x
  if (plate) {
    ctx.fillStyle = 'rgba(8, 10, 12, 0.72)'
    ctx.beginPath()
    ctx.roundRect(left - 5, y - size * 0.82, wide + 10, size * 1.64, 4)
    ctx.fill()
  }
  ctx.fillStyle = withAlpha(inkColours.plain, alpha)
  ctx.fillText(text, left, y)
}
