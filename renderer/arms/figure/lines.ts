import type { ArmsPose, ForwardResult } from '../../../shared/arms/types.ts'
import { add3, scale3, type Vec2, type Vec3 } from '../../../shared/geometry/vec.ts'
import { numberWords } from '../../../shared/picture/plate.ts'
import { inkColours } from '../../../shared/picture/palette.ts'
import type { ArcPlace } from '../armsRoom.ts'
import { toScreen, type EyeAxes, type Screen } from './eye.ts'
import type { Labels } from './labels.ts'
import { ring, type Ink, type Pen } from './pen.ts'

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

/** The pen and the words of one drawing, and where a world point is on the screen. */
interface Sheet {
  readonly pen: Pen
  readonly labels: Pick<Labels, 'put'>
  readonly see: (p: Vec3) => Vec2
}

const plain = (alpha: number): Ink => ({ colour: inkColours.plain, alpha })
const ofClub = (alpha: number): Ink => ({ colour: inkColours.club, alpha })

export function drawLines(pen: Pen, labels: Pick<Labels, 'put'>, axes: EyeAxes, screen: Screen, lines: Lines): void {
  const { pose, now, arc, azimuth, held, mirrored } = lines
  const see = (p: Vec3): Vec2 => {
    const [x, y] = toScreen(axes, screen, mirrored, p)
    return [x, y]
  }
  const sheet: Sheet = { pen, labels, see }
  drawTargetLine(sheet, pose)
  drawShaftAngle(sheet, pose, azimuth)
  drawArc(sheet, arc)
  const [ex, ey] = see(pose.trail.elbow)
  const [nx, ny] = see(now.trail.elbow)
  if (Math.hypot(ex - nx, ey - ny) > 8) {
    ring(pen, [nx, ny], 5, plain(0.9), 1.5)
    // On the far side of it, clear of the ring that the hand holds.
    const apart = Math.hypot(ex - nx, ey - ny)
    labels.put(now.kind === 'sketch' ? 'now' : 'as filmed', [nx + (36 * (nx - ex)) / apart, ny + (17 * (ny - ey)) / apart], { size: 11, align: 'center' })
  }
  ring(pen, [ex, ey], held === 'elbow' ? 15 : 12, plain(1), held === 'elbow' ? 3.5 : 2)
  if (held === 'shaft') ring(pen, see(pose.club.end), 13, plain(1), 3.5)
  drawLimits(sheet, screen, pose, mirrored)
}

/** A level arrow toward the target under the figure, so that every view tells where it is. */
function drawTargetLine({ pen, labels, see }: Sheet, { chest }: ForwardResult): void {
  const [x, y, z] = chest.trailHip
  const [from, to] = [see([x - 0.55, y - 0.1, z + 0.3]), see([x + 0.75, y - 0.1, z + 0.3])]
  pen.stroke([from, to], plain(0.4), 1.5, [7, 6])
  arrowHead(pen, from, to, plain(0.4))
  labels.put('target', [to[0], to[1] - 12], { size: 11, align: 'center', alpha: 0.75 })
}

/** A level line along the target's through the butt, the shaft's own level projection, and the angle between them. */
function drawShaftAngle({ pen, labels, see }: Sheet, pose: ForwardResult, azimuth: Lines['azimuth']): void {
  const { butt, end } = pose.club
  const length = Math.hypot(end[0] - butt[0], end[1] - butt[1], end[2] - butt[2])
  const level = Math.hypot(end[0] - butt[0], end[2] - butt[2])
  const [from, along] = [see(butt), see(add3(butt, [length * 1.05, 0, 0]))]
  pen.stroke([from, along], plain(0.75), 1.5, [6, 5])
  arrowHead(pen, from, along, plain(0.75))
  if (level < 0.05 * length) return
  const angle = (pose.readings.azimuthDeg * Math.PI) / 180
  const radius = length * 0.72
  const steps = 24
  const rim = Array.from({ length: steps + 1 }, (_, i): Vec2 => {
    const a = (angle * i) / steps
    return see(add3(butt, [radius * Math.cos(a), 0, radius * Math.sin(a)]))
  })
  pen.fill([from, ...rim], ofClub(0.26))
  if (Math.abs(angle) > 0.01) pen.stroke(rim, ofClub(1), 2)
  if (!azimuth) return
  // Beyond the club's end, or above the hands where the shaft points at the viewer.
  const to = see(add3(butt, scale3([Math.cos(angle / 2), 0, Math.sin(angle / 2)], length)))
  const seen = Math.hypot(to[0] - from[0], to[1] - from[1])
  const at: Vec2 = seen < 90 ? [from[0], from[1] - 64] : [to[0] + ((to[0] - from[0]) * 58) / seen, to[1] + ((to[1] - from[1]) * 34) / seen]
  labels.put(`${numberWords(azimuth, '\u00b0')} ${Math.abs(azimuth.value) <= azimuth.sigma ? 'on the line' : azimuth.value > 0 ? 'across' : 'laid off'}`, at, { size: 14, align: 'center', plate: true })
}

/** Where the trail elbow can be: solid where every joint stays in its range, dotted beyond. */
function drawArc({ pen, see }: Sheet, arc: readonly ArcPlace[]): void {
  const places = arc.map(({ elbow }) => see(elbow))
  const isIn = (i: number): boolean => arc[i - 1]!.reachable && arc[i]!.reachable
  for (let i = 1, from = 0; i < arc.length; i++) {
    if (i + 1 < arc.length && isIn(i + 1) === isIn(i)) continue
    pen.stroke(places.slice(from, i + 1), plain(isIn(i) ? 0.85 : 0.35), isIn(i) ? 2 : 1.5, isIn(i) ? undefined : [2, 5])
    from = i
  }
  // Where the range ends, a stop across the arc.
  for (let i = 1; i < arc.length; i++) {
    const [a, b] = [arc[i - 1]!, arc[i]!]
    if (a.reachable === b.reachable) continue
    const [p, q] = [places[i - 1]!, places[i]!]
    const length = Math.hypot(q[0] - p[0], q[1] - p[1])
    if (length < 0.5) continue
    const [ux, uy] = [(q[0] - p[0]) / length, (q[1] - p[1]) / length]
    const at = a.reachable ? p : q
    pen.stroke([[at[0] - uy * 7, at[1] + ux * 7], [at[0] + uy * 7, at[1] - ux * 7]], plain(1), 2.5)
  }
}

function drawLimits({ pen, labels, see }: Sheet, screen: Screen, pose: ForwardResult, mirrored: boolean): void {
  const seen = new Map<string, number>()
  for (const { side, joint, words } of pose.limits) {
    const arm = pose[side]
    const at = see(joint === 'elbowFlexion' || joint === 'pronation' ? arm.elbow : joint === 'wristFlexion' || joint === 'ulnarDeviation' ? arm.wrist : arm.shoulder)
    const key = at.map(Math.round).join()
    const n = seen.get(key) ?? 0
    seen.set(key, n + 1)
    ring(pen, at, 18, plain(1), 2.5)
    // About how wide the words come out: enough to keep them on the screen.
    const wide = 6.2 * words.length + 34
    const along = Math.min(Math.max((mirrored ? screen.width - at[0] : at[0]) + 16, 8), Math.max(8, screen.width - wide - 8))
    labels.put(words, [mirrored ? screen.width - along : along, at[1] - 24 - 22 * n], { size: 11.5, align: mirrored ? 'right' : 'left', plate: true, sign: true })
  }
}

function arrowHead(pen: Pen, from: Vec2, to: Vec2, ink: Ink): void {
  const length = Math.hypot(to[0] - from[0], to[1] - from[1])
  if (length < 12) return
  const [ux, uy] = [(to[0] - from[0]) / length, (to[1] - from[1]) / length]
  pen.fill([to, [to[0] - ux * 9 - uy * 4, to[1] - uy * 9 + ux * 4], [to[0] - ux * 9 + uy * 4, to[1] - uy * 9 - ux * 4]], ink)
}
