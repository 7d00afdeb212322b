import type { Affine } from '../../shared/geometry/affine.ts'
import { marksAt, type Mark, type Marks } from '../../shared/markup/mark.ts'
import type { Canvas2D } from '../../shared/picture/canvas.ts'
import { drawPane, unitOf, type PaneView } from '../../shared/picture/drawInstant.ts'
import { paneTransform, type Rect, type Size } from '../../shared/picture/layout.ts'
import { paneBackground } from '../../shared/picture/palette.ts'
import { sameMap } from '../../shared/picture/views.ts'
import { tickOf } from '../../shared/walkthrough/motion.ts'
import type { Pane as PaneOfStage, PaneId, Stage, StageClip, StageClips } from '../../shared/walkthrough/stage.ts'
import type { Pane } from './pane.ts'

/** The three layers of one pane in the page: video, marks, and what is in the making. Sizes and maps are in device pixels. */
export class StageLayers {
  readonly pane: PaneId
  readonly videoCanvas: HTMLCanvasElement
  readonly #box: HTMLElement
  readonly #marksCanvas: HTMLCanvasElement
  readonly #marks: Layer
  readonly #live: Layer
  #rect: Rect | null = null
  #unit = 1
  #transform: Affine | null = null

  constructor(pane: PaneId, root: HTMLElement) {
    this.pane = pane
    this.#box = document.createElement('div')
    Object.assign(this.#box.style, { position: 'absolute', overflow: 'hidden', background: paneBackground })
    this.#box.dataset.pane = String(pane)
    root.append(this.#box)
    this.videoCanvas = canvasIn(this.#box, 'video')
    this.#marksCanvas = canvasIn(this.#box, 'marks')
    this.#marks = new Layer(this.#marksCanvas)
    this.#live = new Layer(canvasIn(this.#box, 'live'))
  }

  /** Puts an element between the video and the marks. */
  underMarks(element: HTMLElement): void {
    this.#box.insertBefore(element, this.#marksCanvas)
  }

  get rect(): Rect | null { return this.#rect }
  /** Image space to the pane's own device pixels; null where it shows no clip. */
  get transform(): Affine | null { return this.#transform }

  /** Places the pane in a picture of this size. No rectangle hides it. */
  layOut(rect: Rect | null, clip: StageClip | null, state: PaneOfStage, size: Size, ratio: number, video: Pane): void {
    this.#rect = rect
    this.#transform = null
    const { style } = this.#box
    style.display = rect ? '' : 'none'
    if (!rect) return
    style.left = `${rect.x / ratio}px`
    style.top = `${rect.y / ratio}px`
    style.width = `${rect.width / ratio}px`
    style.height = `${rect.height / ratio}px`
    this.#unit = unitOf(size)
    if (!clip) return
    this.#transform = paneTransform({ x: 0, y: 0, width: rect.width, height: rect.height }, clip, state)
    const { layer } = video
    if (this.videoCanvas.width !== rect.width || this.videoCanvas.height !== rect.height) layer.setSize(rect.width, rect.height, 1)
    if (!sameMap(layer.transform, this.#transform)) layer.setTransform(this.#transform)
  }

  /** Draws what has changed above the video. `frame` is the frame really on the screen; true where anything was drawn. */
  draw(stage: Stage, clips: StageClips, frame: number | null): boolean {
    if (!this.#rect) return false
    const { width, height } = this.#rect
    const { clipId } = stage.panes[this.pane]
    const clip = clipId === null ? undefined : clips[clipId]
    if (!clip || frame === null || !this.#transform) {
      const wasMarked = this.#marks.clear(width, height)
      return this.#live.clear(width, height) || wasMarked
    }
    const { a, d, e, f } = this.#transform
    const map = [a, d, e, f, this.#unit]
    const rect = { x: 0, y: 0, width, height }
    const view: PaneView = { pane: this.pane, clipId: clip.id, frame, rect, place: { transform: this.#transform, rect, unit: this.#unit } }
    const marks = marksAt(stage.marks, clip.id, tickOf(clip.frames, frame)).filter((mark) => mark.id !== stage.draft?.id)
    const isMarked = this.#marks.draw(width, height, marks.length ? [...map, ...marks] : [], (ctx) =>
      drawPane(ctx, view, { size: rect, stage: { ...stage, marks: tableOf(marks), draft: null, pointer: null }, clips }, frame))
    const draft = stage.draft?.clipId === clip.id ? stage.draft : null
    const pointer = stage.pointer?.pane === this.pane ? stage.pointer : null
    const isLive = this.#live.draw(width, height, draft || pointer ? [...map, draft, pointer] : [], (ctx) =>
      drawPane(ctx, view, { size: rect, stage: { ...stage, marks: {}, draft, pointer }, clips }, frame))
    return isMarked || isLive
  }
}

/** A canvas that is drawn again only when one of the parts that its drawing depends on is another. */
export class Layer {
  readonly #canvas: HTMLCanvasElement
  readonly #context: CanvasRenderingContext2D
  #parts: readonly unknown[] = []

  constructor(canvas: HTMLCanvasElement) {
    this.#canvas = canvas
    this.#context = canvas.getContext('2d')!
    canvas.style.display = 'none'
  }

  clear(width: number, height: number): boolean {
    return this.draw(width, height, [], () => undefined)
  }

  /** No parts: nothing to draw. Records are immutable, so identity stands for content. */
  draw(width: number, height: number, parts: readonly unknown[], paint: (ctx: Canvas2D) => void): boolean {
    if (parts.length === 0 && this.#parts.length === 0) return false
    const isSized = this.#canvas.width === width && this.#canvas.height === height
    if (isSized && parts.length === this.#parts.length && parts.every((part, i) => part === this.#parts[i])) return false
    this.#parts = parts
    // An empty layer over the picture would still have to be blended with it at every frame.
    this.#canvas.style.display = parts.length === 0 ? 'none' : ''
    if (parts.length === 0) return true
    if (isSized) {
      this.#context.setTransform(1, 0, 0, 1, 0, 0)
      this.#context.clearRect(0, 0, width, height)
    } else {
      this.#canvas.width = width
      this.#canvas.height = height
    }
    paint(this.#context)
    return true
  }
}

const tableOf = (marks: readonly Mark[]): Marks => Object.fromEntries(marks.map((mark) => [mark.id, mark]))

export function canvasIn(box: HTMLElement, layer: string): HTMLCanvasElement {
  const canvas = document.createElement('canvas')
  Object.assign(canvas.style, { position: 'absolute', inset: '0', width: '100%', height: '100%' })
  canvas.dataset.layer = layer
  box.append(canvas)
  return canvas
}
