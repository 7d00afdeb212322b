import { lerp2, type Vec2 } from '../geometry/vec.ts'
import { figureJoints, type Figure, type FigureJoint, type FigurePart, type FigurePose } from '../markup/figure.ts'
import type { Ink, Mark } from '../markup/mark.ts'
import type { Canvas2D } from './canvas.ts'
import type { MarkPlace } from './drawMark.ts'
import type { Rect } from './layout.ts'
import { haloColour, inkColours, withAlpha } from './palette.ts'
import { drawPlate, drawSign, numberWords, plateFont, rectOf, type PlateLine } from './plate.ts'

/** One pose with its joints on the canvas, in the order of `figureJoints`. */
export interface PlacedPose {
  readonly pose: FigurePose
  readonly joints: readonly Vec2[]
}

const at = (placed: PlacedPose, joint: FigureJoint): Vec2 => placed.joints[figureJoints.indexOf(joint)]!

const chains: Readonly<Record<Exclude<FigurePart, 'thorax'>, readonly FigureJoint[]>> = {
  leadArm: ['leadShoulder', 'leadElbow', 'leadWrist'], trailArm: ['trailShoulder', 'trailElbow', 'trailWrist'], club: ['butt', 'clubhead'],
}
const partInks: Readonly<Record<FigurePart, Ink>> = { thorax: 'body', leadArm: 'lead', trailArm: 'trail', club: 'club' }

/**
 * Poses of one body over one another: another swing's as a thin ghost, the filmed one whole, the wanted one hollow, so that the
 * two are told apart without their colours; from the filmed trail elbow an arrow leads to the wanted one.
 * @param width of an arm's stroke, canvas pixels
 */
export function drawFigure(ctx: Canvas2D, poses: readonly PlacedPose[], width: number): void {
  ctx.lineCap = 'round'
  ctx.lineJoin = 'round'
  for (const placed of poses) {
    for (const part of placed.pose.order) if (part === 'thorax') drawThorax(ctx, placed, width)
      else drawChain(ctx, placed, part, width)
  }
  drawElbowArrow(ctx, poses, width)
  for (const placed of poses)
    for (const joint of placed.pose.atLimit) {
      const [x, y] = at(placed, joint)
      drawSign(ctx, [x - width * 1.5, y - width * 1.9], width * 2.1)
    }
}

function drawThorax(ctx: Canvas2D, placed: PlacedPose, width: number): void {
  const { kind } = placed.pose
  const colour = kind === 'reference' ? inkColours.reference : inkColours.body
  const corners = (['leadShoulder', 'trailShoulder', 'trailHip', 'leadHip'] as const).map((joint) => at(placed, joint))
  ctx.beginPath()
  corners.forEach(([x, y], i) => (i === 0 ? ctx.moveTo(x, y) : ctx.lineTo(x, y)))
  ctx.closePath()
  // The wanted pose stands on the filmed chest: drawn once is enough.
  if (kind === 'wanted') return
  ctx.fillStyle = withAlpha(colour, kind === 'reference' ? 0.08 : 0.16)
  ctx.fill()
  ctx.setLineDash([])
  for (const [stroke, extra] of [[haloColour, width * 0.3], [withAlpha(colour, kind === 'reference' ? 0.7 : 0.95), 0]] as const) {
    ctx.strokeStyle = stroke
    ctx.lineWidth = width * (kind === 'reference' ? 0.3 : 0.4) + extra
    ctx.stroke()
  }
}

function drawChain(ctx: Canvas2D, placed: PlacedPose, part: Exclude<FigurePart, 'thorax'>, width: number): void {
  const { kind } = placed.pose
  const points = chains[part].map((joint) => at(placed, joint))
  const isClub = part === 'club'
  const own = inkColours[kind === 'reference' ? 'reference' : partInks[part]]
  const wide = width * (isClub ? 0.55 : 1) * (kind === 'reference' ? 0.55 : 1)
  const trace = (): void => {
    ctx.beginPath()
    points.forEach(([x, y], i) => (i === 0 ? ctx.moveTo(x, y) : ctx.lineTo(x, y)))
    ctx.stroke()
  }
  const layers: readonly (readonly [colour: string, width: number])[] = [
    // The blue of a reference is dark: a light rim makes it seen on any ground.
    [kind === 'reference' ? withAlpha(inkColours.plain, 0.65) : haloColour, wide + width * 0.34],
    [own, wide],
    ...(kind === 'wanted' ? [['rgba(11, 13, 15, 0.9)', wide * 0.46] as const] : []),
  ]
  ctx.setLineDash([])
  for (const [colour, stroke] of layers) {
    ctx.strokeStyle = colour
    ctx.fillStyle = colour
    ctx.lineWidth = stroke
    trace()
    if (isClub) {
      const [x, y] = points[1]!
      ctx.beginPath()
      ctx.arc(x, y, wide * 0.75 + stroke / 2, 0, 2 * Math.PI)
      ctx.fill()
    }
  }
  if (isClub || kind === 'reference') return
  // Elbow and wrist as joints: a light dot, so that a bent arm is read as two bones.
  for (const [x, y] of points.slice(1)) {
    ctx.fillStyle = withAlpha(inkColours.plain, 0.95)
    ctx.beginPath()
    ctx.arc(x, y, wide * 0.27, 0, 2 * Math.PI)
    ctx.fill()
  }
}

function drawElbowArrow(ctx: Canvas2D, poses: readonly PlacedPose[], width: number): void {
  const [from, to] = (['filmed', 'wanted'] as const).map((kind) => poses.find(({ pose }) => pose.kind === kind))
  if (!from || !to) return
  const [a, b] = [at(from, 'trailElbow'), at(to, 'trailElbow')]
  const length = Math.hypot(b[0] - a[0], b[1] - a[1])
  if (length < width * 1.2) return
  const [ux, uy] = [(b[0] - a[0]) / length, (b[1] - a[1]) / length]
  const barb = Math.min(width * 1.1, length * 0.5)
  const base = lerp2(a, b, 1 - barb / length)
  for (const [colour, stroke] of [[haloColour, width * 0.62], [inkColours.plain, width * 0.28]] as const) {
    ctx.strokeStyle = colour
    ctx.fillStyle = colour
    ctx.lineWidth = stroke
    ctx.beginPath()
    ctx.moveTo(a[0], a[1])
    ctx.lineTo(base[0], base[1])
    ctx.stroke()
    ctx.beginPath()
    ctx.moveTo(b[0], b[1])
    ctx.lineTo(base[0] - uy * barb * 0.55, base[1] + ux * barb * 0.55)
    ctx.lineTo(base[0] + uy * barb * 0.55, base[1] - ux * barb * 0.55)
    ctx.closePath()
    ctx.stroke()
    ctx.fill()
  }
}

/** The figure laid over the student's own frame: the mark's points are the joints of its poses, one after another. */
export function drawArms(ctx: Canvas2D, mark: Mark, points: readonly Vec2[], width: number): void {
  if (!mark.figure) return
  const n = figureJoints.length
  const placed = mark.figure.poses.map((pose, i): PlacedPose => ({ pose, joints: points.slice(i * n, (i + 1) * n) })).filter(({ joints }) => joints.length === n)
  drawFigure(ctx, placed, width)
}

const unitWords = { deg: '\u00b0', cm: ' cm' } as const
export const poseWords = { reference: 'reference', filmed: 'as filmed', wanted: 'as wanted', sketch: 'sketch' } as const

/** Columns of a figure's numbers: as filmed, and as wanted where it is. */
export function figureLines(figure: Figure): { readonly heading: PlateLine | null; readonly lines: readonly PlateLine[] } {
  const isBoth = figure.rows.some(({ filmed, wanted }) => filmed && wanted)
  const only = figure.poses.some(({ kind }) => kind === 'sketch') ? 'sketch' : figure.rows.some(({ filmed }) => filmed) ? 'as filmed' : 'as wanted'
  const words = (row: Figure['rows'][number], which: 'filmed' | 'wanted'): string => (row[which] ? numberWords(row[which], unitWords[row.unit]) : '\u2013')
  return {
    heading: { ink: null, name: '', numbers: isBoth ? ['as filmed', 'as wanted'] : [only] },
    lines: figure.rows.map((row) => ({ ink: null, name: row.name, numbers: isBoth ? [words(row, 'filmed'), words(row, 'wanted')] : [words(row, row.filmed ? 'filmed' : 'wanted')] })),
  }
}

/** A plate in a corner with the figure as the room shows it, the sentence and the numbers. Scales with its box. */
export function drawFigurePlate(ctx: Canvas2D, mark: Mark, points: readonly Vec2[], { transform, unit }: MarkPlace): void {
  const plate = rectOf(points as [Vec2, Vec2])
  const { figure } = mark
  const room = drawPlate(ctx, plate, unit, figure ? { verdict: wrapped(figure.verdict), ...figureLines(figure), warnings: figure.limits } : { verdict: [], heading: null, lines: [], warnings: [] })
  if (!figure || !room) return
  const { drawing, size } = room
  const placed = placePoses(figure.poses, { ...drawing, y: drawing.y + (figure.seen ? size * 1.1 : 0), height: drawing.height - (figure.seen ? size * 1.1 : 0) }, transform.a < 0)
  drawFigure(ctx, placed, Math.max(2, size * 0.5, Math.min(drawing.width, drawing.height) * 0.028))
  if (!figure.seen) return
  ctx.font = plateFont(size * 0.85, 400)
  ctx.textAlign = 'left'
  ctx.textBaseline = 'middle'
  ctx.fillStyle = withAlpha(inkColours.plain, 0.8)
  ctx.fillText(figure.seen, drawing.x, drawing.y + size * 0.45)
}

/** Lays poses from their own square into a rectangle, as large as all of them fit; a mirrored picture mirrors them. */
export function placePoses(poses: readonly FigurePose[], { x, y, width, height }: Rect, mirrored: boolean): PlacedPose[] {
  const all = poses.flatMap(({ joints }) => joints ?? [])
  if (all.length === 0) return []
  const [left, right] = [Math.min(...all.map((p) => p[0])), Math.max(...all.map((p) => p[0]))]
  const [top, bottom] = [Math.min(...all.map((p) => p[1])), Math.max(...all.map((p) => p[1]))]
  const edge = Math.min(width, height) * 0.06
  const scale = Math.min((width - 2 * edge) / Math.max(right - left, 1e-6), (height - 2 * edge) / Math.max(bottom - top, 1e-6))
  const sign = mirrored ? -1 : 1
  const lay = ([px, py]: readonly [number, number]): Vec2 => [x + width / 2 + sign * scale * (px - (left + right) / 2), y + height / 2 + scale * (py - (top + bottom) / 2)]
  return poses.flatMap((pose) => (pose.joints ? [{ pose, joints: pose.joints.map(lay) }] : []))
}

/** Up to two lines, broken at a colon, else at a comma where it is long. */
export function wrapped(verdict: string): string[] {
  if (verdict === '') return []
  const colon = verdict.indexOf(': ')
  const cut = colon >= 0 ? colon : verdict.length > 34 ? verdict.search(/[,;] /) : -1
  return cut < 0 ? [verdict] : [verdict.slice(0, cut + 1), verdict.slice(cut + 2)]
}
