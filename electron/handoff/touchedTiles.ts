import type { Canvas2D } from '../../shared/picture/canvas.ts'
import type { Size } from '../../shared/picture/layout.ts'

/** Side of a tile in pixels; even, as chroma wants it. */
export const tileSide = 64

type Point = readonly [number, number]

/**
 * A Canvas 2D context that passes everything on to another and notes which tiles of the canvas may have got ink. Reading a
 * whole canvas back costs more than drawing it, and marks are mostly lines: only the tiles they cross are read.
 * Whatever draws through it must leave the transform at the identity (`setTransform` is refused).
 */
export class TouchedTiles implements Canvas2D {
  readonly #ctx: Canvas2D
  readonly #columns: number
  readonly #rows: number
  readonly #touched = new Set<number>()
  #path: Point[][] = []

  constructor(ctx: Canvas2D, size: Size) {
    this.#ctx = ctx
    this.#columns = Math.ceil(size.width / tileSide)
    this.#rows = Math.ceil(size.height / tileSide)
  }

  /** Left top corners of the tiles touched since the last clear, row by row. */
  get corners(): Point[] {
    return [...this.#touched].sort((a, b) => a - b).map((tile) => [(tile % this.#columns) * tileSide, Math.floor(tile / this.#columns) * tileSide])
  }

  /** Wipes the touched tiles clean and forgets them. */
  clear(): void {
    for (const [x, y] of this.corners) this.#ctx.clearRect(x, y, tileSide, tileSide)
    this.#touched.clear()
  }

  /** Notes a box, grown by a margin that covers smoothed edges and the neighbours that chroma is averaged over. */
  #touchBox(left: number, top: number, right: number, bottom: number, margin: number): void {
    const grow = margin + 3
    if (![left, top, right, bottom].every(Number.isFinite)) return
    const c0 = Math.max(0, Math.floor((left - grow) / tileSide))
    const c1 = Math.min(this.#columns - 1, Math.floor((right + grow) / tileSide))
    const r0 = Math.max(0, Math.floor((top - grow) / tileSide))
    const r1 = Math.min(this.#rows - 1, Math.floor((bottom + grow) / tileSide))
    for (let row = r0; row <= r1; row++) for (let column = c0; column <= c1; column++) this.#touched.add(row * this.#columns + column)
  }

  /** Notes a straight stroke in pieces no longer than half a tile, so that a diagonal does not take its whole box. */
  #touchStroke(from: Point, to: Point, margin: number): void {
    const pieces = Math.min(4096, Math.max(1, Math.ceil(Math.hypot(to[0] - from[0], to[1] - from[1]) / (tileSide / 2))))
    for (let i = 0; i < pieces; i++) {
      const [ax, ay] = [from[0] + ((to[0] - from[0]) * i) / pieces, from[1] + ((to[1] - from[1]) * i) / pieces]
      const [bx, by] = [from[0] + ((to[0] - from[0]) * (i + 1)) / pieces, from[1] + ((to[1] - from[1]) * (i + 1)) / pieces]
      this.#touchBox(Math.min(ax, bx), Math.min(ay, by), Math.max(ax, bx), Math.max(ay, by), margin)
    }
  }

  #touchPathBox(): void {
    const points = this.#path.flat()
    if (points.length === 0) return
    const xs = points.map((p) => p[0])
    const ys = points.map((p) => p[1])
    const least = (values: number[]): number => values.reduce((a, b) => Math.min(a, b))
    const most = (values: number[]): number => values.reduce((a, b) => Math.max(a, b))
    this.#touchBox(least(xs), least(ys), most(xs), most(ys), 0)
  }

  #add(point: Point): void {
    const run = this.#path[this.#path.length - 1]
    if (run) run.push(point)
    else this.#path.push([point])
  }

  beginPath(): void {
    this.#path = []
    this.#ctx.beginPath()
  }
  closePath(): void {
    const run = this.#path[this.#path.length - 1]
    if (run?.[0]) this.#path.push([...run.slice(-1), run[0]], [run[0]])
    this.#ctx.closePath()
  }
  moveTo(x: number, y: number): void {
    this.#path.push([[x, y]])
    this.#ctx.moveTo(x, y)
  }
  lineTo(x: number, y: number): void {
    this.#add([x, y])
    this.#ctx.lineTo(x, y)
  }
  quadraticCurveTo(cx: number, cy: number, x: number, y: number): void {
    // The curve lies in the triangle of its three points; along the two sides with the pieces' boxes is near enough for
    // short curves, and the box of the triangle covers long ones.
    const run = this.#path[this.#path.length - 1]
    const from = run?.[run.length - 1] ?? ([cx, cy] as const)
    for (const t of [0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1]) {
      const u = 1 - t
      this.#add([u * u * from[0] + 2 * u * t * cx + t * t * x, u * u * from[1] + 2 * u * t * cy + t * t * y])
    }
    this.#ctx.quadraticCurveTo(cx, cy, x, y)
  }
  arc(x: number, y: number, radius: number, start: number, end: number, anticlockwise?: boolean): void {
    // The whole circle is noted, whatever part is drawn. With 256 pieces the sagitta is under 0.1 pixel up to 1300 of radius.
    for (let i = 0; i <= 256; i++) this.#add([x + radius * Math.cos((i * Math.PI) / 128), y + radius * Math.sin((i * Math.PI) / 128)])
    this.#ctx.arc(x, y, radius, start, end, anticlockwise)
  }
  rect(x: number, y: number, width: number, height: number): void {
    this.#path.push([[x, y], [x + width, y], [x + width, y + height], [x, y + height], [x, y]])
    this.#ctx.rect(x, y, width, height)
  }
  roundRect(x: number, y: number, width: number, height: number, radius: number): void {
    this.#path.push([[x, y], [x + width, y], [x + width, y + height], [x, y + height], [x, y]])
    this.#ctx.roundRect(x, y, width, height, radius)
  }
  stroke(): void {
    // A mitred corner may stand out by ten half widths (the default limit); round and bevelled ones by one.
    const margin = this.#ctx.lineWidth * (this.#ctx.lineJoin === 'miter' ? 5 : 0.75)
    for (const run of this.#path) for (let i = 1; i < run.length; i++) this.#touchStroke(run[i - 1]!, run[i]!, margin)
    this.#ctx.stroke()
  }
  fill(): void {
    this.#touchPathBox()
    this.#ctx.fill()
  }
  fillRect(x: number, y: number, width: number, height: number): void {
    this.#touchBox(x, y, x + width, y + height, 0)
    this.#ctx.fillRect(x, y, width, height)
  }
  fillText(text: string, x: number, y: number): void {
    const size = Number.parseFloat(/([\d.]+)px/.exec(this.#ctx.font)?.[1] ?? '20')
    const { width } = this.#ctx.measureText(text)
    this.#touchBox(x - width - size, y - 1.5 * size, x + width + size, y + 1.5 * size, 0)
    this.#ctx.fillText(text, x, y)
  }
  setTransform(): void {
    throw new Error('the overlay is drawn without a transform')
  }

  save(): void { this.#ctx.save() }
  restore(): void { this.#ctx.restore() }
  clip(): void { this.#ctx.clip() }
  clearRect(x: number, y: number, width: number, height: number): void { this.#ctx.clearRect(x, y, width, height) }
  measureText(text: string): { readonly width: number } { return this.#ctx.measureText(text) }
  setLineDash(segments: number[]): void { this.#ctx.setLineDash(segments) }
  get lineWidth(): number { return this.#ctx.lineWidth }
  set lineWidth(value: number) { this.#ctx.lineWidth = value }
  get lineCap(): Canvas2D['lineCap'] { return this.#ctx.lineCap }
  set lineCap(value: Canvas2D['lineCap']) { this.#ctx.lineCap = value }
  get lineJoin(): Canvas2D['lineJoin'] { return this.#ctx.lineJoin }
  set lineJoin(value: Canvas2D['lineJoin']) { this.#ctx.lineJoin = value }
  get globalAlpha(): number { return this.#ctx.globalAlpha }
  set globalAlpha(value: number) { this.#ctx.globalAlpha = value }
  get font(): string { return this.#ctx.font }
  set font(value: string) { this.#ctx.font = value }
  get strokeStyle(): unknown { return this.#ctx.strokeStyle }
  set strokeStyle(colour: string) { this.#ctx.strokeStyle = colour }
  get fillStyle(): unknown { return this.#ctx.fillStyle }
  set fillStyle(colour: string) { this.#ctx.fillStyle = colour }
  get textBaseline(): Canvas2D['textBaseline'] { return this.#ctx.textBaseline }
  set textBaseline(value: Canvas2D['textBaseline']) { this.#ctx.textBaseline = value }
  get textAlign(): Canvas2D['textAlign'] { return this.#ctx.textAlign }
  set textAlign(value: Canvas2D['textAlign']) { this.#ctx.textAlign = value }
}
