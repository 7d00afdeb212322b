import type { GuideRecord } from '../../../shared/contract/digitising.ts'
import { haloColour, inkColours, pictureFont } from '../../../shared/picture/palette.ts'

/** Guides over a pane, in CSS pixels of the stage. */
type Place = readonly [number, number]

const stroke = (ctx: CanvasRenderingContext2D, isStrong: boolean, path: () => void): void => {
  for (const [width, colour] of [[isStrong ? 4.5 : 3, haloColour], [isStrong ? 2 : 1.25, inkColours.plain]] as const) {
    ctx.lineWidth = width
    ctx.strokeStyle = colour
    ctx.beginPath()
    path()
    ctx.stroke()
  }
}

export function drawGuide(ctx: CanvasRenderingContext2D, name: GuideRecord['name'], [a, b]: readonly [Place, Place], isChosen: boolean): void {
  ctx.setLineDash(name === 'ball' || name === 'known' ? [] : [7, 5])
  stroke(ctx, isChosen, () => {
    ctx.moveTo(a[0], a[1])
    ctx.lineTo(b[0], b[1])
  })
  ctx.setLineDash([])
  for (const end of [a, b]) drawCross(ctx, end)
}

/** A mat's corners, fewer than four while it is in the making; its sides' lengths in metres stand beside the first two. */
export function drawMat(ctx: CanvasRenderingContext2D, corners: readonly Place[], sides: readonly (number | null)[], isChosen: boolean): void {
  ctx.setLineDash([7, 5])
  stroke(ctx, isChosen, () => {
    corners.forEach(([x, y], i) => (i === 0 ? ctx.moveTo(x, y) : ctx.lineTo(x, y)))
    if (corners.length === 4) ctx.closePath()
  })
  ctx.setLineDash([])
  corners.forEach((corner) => drawCross(ctx, corner))
  const middle = corners.reduce(([x, y], [cx, cy]) => [x + cx / corners.length, y + cy / corners.length] as const, [0, 0] as Place)
  for (const i of [0, 1] as const) {
    const [a, b] = [corners[i], corners[i + 1]]
    const side = sides[i]
    if (!a || !b || typeof side !== 'number') continue
    const [x, y] = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]
    const away = Math.hypot(x - middle[0], y - middle[1]) || 1
    label(ctx, `${cm(side)} cm`, x + (16 * (x - middle[0])) / away, y + (13 * (y - middle[1])) / away)
  }
}

export const cm = (metres: number): string => String(Math.round(metres * 1000) / 10)

function label(ctx: CanvasRenderingContext2D, text: string, x: number, y: number): void {
  ctx.font = `11px ${pictureFont}`
  ctx.textAlign = 'center'
  ctx.textBaseline = 'middle'
  ctx.lineWidth = 3
  ctx.strokeStyle = haloColour
  ctx.strokeText(text, x, y)
  ctx.fillStyle = inkColours.plain
  ctx.fillText(text, x, y)
}

export function drawCross(ctx: CanvasRenderingContext2D, [x, y]: Place): void {
  for (const [width, colour] of [[3.5, haloColour], [1.5, inkColours.plain]] as const) {
    ctx.lineWidth = width
    ctx.strokeStyle = colour
    ctx.beginPath()
    ctx.moveTo(x - 5, y - 5)
    ctx.lineTo(x + 5, y + 5)
    ctx.moveTo(x + 5, y - 5)
    ctx.lineTo(x - 5, y + 5)
    ctx.stroke()
  }
}
