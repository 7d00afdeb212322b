import { tickOf } from '../../shared/walkthrough/motion.ts'
import type { Canvas2D } from '../../shared/picture/canvas.ts'
import { drawReferenceInk, hasInk } from '../../shared/picture/drawReference.ts'
import type { Rect } from '../../shared/picture/layout.ts'
import { paneBackground } from '../../shared/picture/palette.ts'
import { pictureAlpha, sameMap, seenRect, type ReferenceView } from '../../shared/picture/views.ts'
import type { StageClips } from '../../shared/walkthrough/stage.ts'
import type { Pane } from './pane.ts'
import { canvasIn, Layer, type StageLayers } from './stageLayers.ts'

/**
 * What stands beside or over one pane in the page: the reference's picture, and the comparison's lines above it. Beside, it is
 * a box of its own; over the pane, its picture lies in the pane's box between video and marks.
 */
export class ReferenceLayers {
  readonly pane: StageLayers
  readonly videoCanvas: HTMLCanvasElement
  readonly #root: HTMLElement
  readonly #box = document.createElement('div')
  readonly #lines: Layer
  /** The student's own lines, where the reference stands beside. */
  readonly #ownLines: Layer
  #view: ReferenceView | null = null

  constructor(pane: StageLayers, root: HTMLElement) {
    this.pane = pane
    this.#root = root
    Object.assign(this.#box.style, { position: 'absolute', overflow: 'hidden', display: 'none' })
    this.#box.dataset.reference = String(pane.pane)
    this.videoCanvas = canvasIn(this.#box, 'reference')
    this.#lines = new Layer(canvasIn(this.#box, 'reference-lines'))
    const ownCanvas = document.createElement('canvas')
    Object.assign(ownCanvas.style, { position: 'absolute', inset: '0', width: '100%', height: '100%' })
    ownCanvas.dataset.layer = 'own-lines'
    pane.underMarks(ownCanvas)
    this.#ownLines = new Layer(ownCanvas)
    root.append(this.#box)
  }

  get view(): ReferenceView | null { return this.#view }

  /** Places the picture; sizes and maps are in device pixels, none hides it. */
  layOut(view: ReferenceView | null, ratio: number, video: Pane): void {
    this.#view = view
    const { style } = this.#box
    style.display = view ? '' : 'none'
    if (!view) return
    const { rect, reference } = view
    const isBeside = reference.look === 'beside'
    if (isBeside && this.#box.parentElement !== this.#root) this.#root.append(this.#box)
    else if (!isBeside && this.#box.parentElement === this.#root) this.pane.underMarks(this.#box)
    const place = isBeside ? rect : { ...rect, x: 0, y: 0 }
    style.left = `${place.x / ratio}px`
    style.top = `${place.y / ratio}px`
    style.width = `${rect.width / ratio}px`
    style.height = `${rect.height / ratio}px`
    style.background = isBeside ? paneBackground : 'transparent'
    const alpha = pictureAlpha(reference)
    const seen = seenRect(view)
    const canvas = this.videoCanvas.style
    canvas.display = alpha > 0 && seen.width > 0 ? '' : 'none'
    canvas.opacity = alpha < 1 ? String(alpha) : ''
    canvas.clipPath = seen.width < rect.width ? `inset(0 0 0 ${(seen.x - rect.x) / ratio}px)` : ''
    const { layer } = video
    if (this.videoCanvas.width !== rect.width || this.videoCanvas.height !== rect.height) layer.setSize(rect.width, rect.height, 1)
    const map = shifted(view, rect).place.transform
    if (!sameMap(layer.transform, map)) layer.setTransform(map)
  }

  /** Draws the lines where they have changed. @param frames those really on the screen; true where anything was drawn */
  draw(clips: StageClips, frames: { readonly own: number | null; readonly reference: number | null }): boolean {
    const view = this.#view
    if (!view) return false
    const { rect, own, reference } = view
    const { own: ownFrame, reference: frame } = frames
    const [ownClip, clip] = [clips[own.clipId], clips[view.clipId]]
    const isDrawn = hasInk(reference) && ownFrame !== null && frame !== null && ownClip && clip
    const parts = isDrawn ? [reference, tickOf(ownClip.frames, ownFrame), tickOf(clip.frames, frame), ...mapParts(view), ...mapParts(own), rect.x, rect.y] : []
    const paint = (to: Rect) => (ctx: Canvas2D): void => drawReferenceInk(ctx, shifted(view, to), clips, { own: ownFrame!, reference: frame! })
    const isNew = this.#lines.draw(rect.width, rect.height, parts, paint(rect))
    return this.#ownLines.draw(own.rect.width, own.rect.height, reference.look === 'beside' ? parts : [], paint(own.rect)) || isNew
  }
}

const mapParts = ({ place: { transform: { a, b, c, d, e, f } } }: { readonly place: ReferenceView['place'] }): number[] => [a, b, c, d, e, f]

/** The same view on a canvas whose corner is the rectangle's. */
function shifted(view: ReferenceView, { x, y }: Rect): ReferenceView {
  const move = <V extends { readonly rect: Rect; readonly place: ReferenceView['place'] }>(one: V): V => {
    const rect = { ...one.rect, x: one.rect.x - x, y: one.rect.y - y }
    const { transform } = one.place
    return { ...one, rect, place: { ...one.place, rect, transform: { ...transform, e: transform.e - x, f: transform.f - y } } }
  }
  return { ...move(view), own: move(view.own) }
}
