import type { Affine } from '../../shared/geometry/affine.ts'
import type { Mark, Marks } from '../../shared/markup/mark.ts'
import { marksAt } from '../../shared/markup/mark.ts'
import type { Canvas2D } from '../../shared/picture/canvas.ts'
import { drawPane, unitOf, type PaneView } from '../../shared/picture/drawInstant.ts'
import { paneTransform, type Rect, type Size } from '../../shared/picture/layout.ts'
import { paneBackground } from '../../shared/picture/palette.ts'
import { tickOf } from '../../shared/walkthrough/motion.ts'
import type { Pane as StagePaneState, PaneId, Stage, StageClip, StageClips } from '../../shared/walkthrough/stage.ts'
import { Pane, type PaneStats } from './pane.ts'
import { PlaybackError } from './protocol.ts'
import { sideOf, type StageHeads } from './stageHeads.ts'
import type { PaneState, StageMedia } from './stageView.ts'

/** One pane of a stage view: its three layers and what stands on them. Sizes and transforms are in device pixels. */
export class StagePane {
  readonly pane: PaneId
  readonly videoCanvas: HTMLCanvasElement
  readonly #box: HTMLElement
  readonly #video: Pane
  readonly #marks: Layer
  readonly #live: Layer
  readonly #media: StageMedia
  readonly #tellState: (state: PaneState) => void
  #clipId: string | null = null
  #state: PaneState = { kind: 'empty' }
  #rect: Rect | null = null
  #unit = 1
  #transform: Affine | null = null
  #painted = false
  #original: { readonly clipId: string; readonly frame: number; readonly picture: VideoFrame } | null = null

  constructor(pane: PaneId, root: HTMLElement, heads: StageHeads, media: StageMedia, tellState: (state: PaneState) => void) {
    this.pane = pane
    this.#media = media
    this.#tellState = tellState
    this.#box = document.createElement('div')
    Object.assign(this.#box.style, { position: 'absolute', overflow: 'hidden', background: paneBackground })
    this.#box.dataset.pane = String(pane)
    root.append(this.#box)
    this.videoCanvas = canvasIn(this.#box, 'video')
    this.#marks = new Layer(canvasIn(this.#box, 'marks'))
    this.#live = new Layer(canvasIn(this.#box, 'live'))
    // The stage view's own loop calls each frame: nothing needs to be woken.
    this.#video = new Pane(sideOf(pane), heads, () => undefined, { canvas: this.videoCanvas, ground: paneBackground, followSize: false })
    this.#video.onProblem((error) => {
      if (error.kind !== 'frame-damaged') this.#become({ kind: 'failed', error })
    })
  }

  get shown(): number | null { return this.#clipId === null ? null : this.#video.shown }
  get transform(): Affine | null { return this.#transform }
  get state(): PaneState { return this.#state }
  get original(): VideoFrame | null {
    const kept = this.#original
    return kept && kept.clipId === this.#clipId && kept.frame === this.#video.shown ? kept.picture : null
  }

  /** Opens what the stage has on its panes. Panes that changed places exchange what they hold; nothing is opened anew. */
  static open(panes: readonly [StagePane, StagePane], stage: Stage, clips: StageClips): void {
    const wanted = stage.panes.map(({ clipId }) => (clipId !== null && clips[clipId] ? clipId : null)) as [string | null, string | null]
    const [one, two] = panes
    if (one.#clipId !== two.#clipId && wanted[0] === two.#clipId && wanted[1] === one.#clipId) {
      Pane.swap(one.#video, two.#video)
      const [clipId, state] = [one.#clipId, one.#state]
      one.#clipId = two.#clipId
      two.#clipId = clipId
      one.#become(two.#state)
      two.#become(state)
      one.#forgetOriginal()
      two.#forgetOriginal()
    }
    for (const pane of panes) if (pane.#clipId !== wanted[pane.pane]) pane.#open(wanted[pane.pane], clips)
  }

  /** Places the pane. Null hides it. */
  layOut(rect: Rect | null, clip: StageClip | null, state: StagePaneState, size: Size, ratio: number): void {
    this.#rect = rect
    this.#box.style.display = rect ? '' : 'none'
    this.#transform = null
    if (!rect) return
    const { style } = this.#box
    style.left = `${rect.x / ratio}px`
    style.top = `${rect.y / ratio}px`
    style.width = `${rect.width / ratio}px`
    style.height = `${rect.height / ratio}px`
    const here = { x: 0, y: 0, width: rect.width, height: rect.height }
    this.#unit = unitOf(size)
    if (!clip) return
    this.#transform = paneTransform(here, clip, state)
    const { layer } = this.#video
    if (this.videoCanvas.width !== rect.width || this.videoCanvas.height !== rect.height) layer.setSize(rect.width, rect.height, 1)
    if (!sameMap(layer.transform, this.#transform)) layer.setTransform(this.#transform)
  }

  /** One animation frame; true where anything was drawn. */
  draw(stage: Stage, clips: StageClips): boolean {
    if (!this.#rect) return false
    this.#painted = false
    const before = this.#video.layer.paints
    this.#video.update()
    this.#painted = this.#video.layer.paints !== before
    const clip = this.#clipId === null ? undefined : clips[this.#clipId]
    const frame = this.shown
    const { width, height } = this.#rect
    if (!clip || frame === null || !this.#transform) {
      const one = this.#marks.clear(width, height)
      return this.#live.clear(width, height) || one || this.#painted
    }
    const { a, d, e, f } = this.#transform
    const map = [a, d, e, f, this.#unit]
    const view: PaneView = {
      pane: this.pane, clipId: clip.id, frame,
      rect: { x: 0, y: 0, width, height },
      place: { transform: this.#transform, rect: { x: 0, y: 0, width, height }, unit: this.#unit },
    }
    const marks = marksAt(stage.marks, clip.id, tickOf(clip.frames, frame)).filter((mark) => mark.id !== stage.draft?.id)
    const isMarked = this.#marks.draw(width, height, [...map, ...marks], (ctx) =>
      drawPane(ctx, view, { size: { width, height }, stage: { ...stage, marks: tableOf(marks), draft: null, pointer: null }, clips }, frame))
    const draft = stage.draft?.clipId === clip.id ? stage.draft : null
    const pointer = stage.pointer?.pane === this.pane ? stage.pointer : null
    const isLive = this.#live.draw(width, height, draft || pointer ? [...map, draft, pointer] : [], (ctx) =>
      drawPane(ctx, view, { size: { width, height }, stage: { ...stage, marks: {}, draft, pointer }, clips }, frame))
    return this.#painted || isMarked || isLive
  }

  stats(): Promise<PaneStats> { return this.#video.stats() }
  resetStats(): void { this.#video.resetStats() }

  dispose(): void {
    this.#forgetOriginal()
    this.#video.dispose()
    this.#box.remove()
  }

  #open(clipId: string | null, clips: StageClips): void {
    this.#clipId = clipId
    this.#forgetOriginal()
    if (clipId === null) {
      this.#video.close()
      this.#become({ kind: 'empty' })
      return
    }
    const clip = clips[clipId]!
    this.#become({ kind: 'opening' })
    const { original } = this.#media
    const fetched = original && (async (frame: number, signal: AbortSignal) => {
      const picture = await original(clipId, frame, signal)
      this.#forgetOriginal()
      // The layer closes its own; this one is kept for the magnifier, one for each pane.
      this.#original = { clipId, frame, picture: picture.clone() }
      return picture
    })
    const opening = this.#video.open({
      url: this.#media.reviewUrl(clipId), frames: clip.frames, captureRate: clip.captureRate, playRate: clip.playRate,
      width: clip.width, height: clip.height, ...(fetched ? { original: fetched } : {}),
    })
    const { clip: opened } = this.#video
    opening.then(
      () => { if (this.#video.clip === opened) this.#become({ kind: 'open' }) },
      (error: unknown) => {
        if (this.#video.clip !== opened) return
        const known = error instanceof PlaybackError ? error : new PlaybackError({ kind: 'cannot-read', frame: null, message: 'This clip could not be opened. Try it again.' })
        this.#become({ kind: 'failed', error: known })
      },
    )
  }

  #become(state: PaneState): void {
    this.#state = state
    this.#tellState(state)
  }

  #forgetOriginal(): void {
    this.#original?.picture.close()
    this.#original = null
  }
}

/** A canvas that is drawn again only when one of the parts that its drawing depends on is another. */
class Layer {
  readonly #canvas: HTMLCanvasElement
  readonly #context: CanvasRenderingContext2D
  #parts: readonly unknown[] = []
  #isBlank = true

  constructor(canvas: HTMLCanvasElement) {
    this.#canvas = canvas
    this.#context = canvas.getContext('2d')!
  }

  clear(width: number, height: number): boolean {
    return this.draw(width, height, [], () => undefined)
  }

  /** No parts: nothing to draw. */
  draw(width: number, height: number, parts: readonly unknown[], paint: (ctx: Canvas2D) => void): boolean {
    const isSized = this.#canvas.width === width && this.#canvas.height === height
    if (parts.length === 0 && this.#isBlank) return false
    if (isSized && parts.length === this.#parts.length && parts.every((part, i) => part === this.#parts[i])) return false
    this.#parts = parts
    if (isSized) {
      this.#context.setTransform(1, 0, 0, 1, 0, 0)
      this.#context.clearRect(0, 0, width, height)
    } else {
      this.#canvas.width = width
      this.#canvas.height = height
    }
    this.#isBlank = parts.length === 0
    if (!this.#isBlank) paint(this.#context)
    return true
  }
}

const tableOf = (marks: readonly Mark[]): Marks => Object.fromEntries(marks.map((mark) => [mark.id, mark]))
const sameMap = (one: Affine, two: Affine): boolean => one.a === two.a && one.b === two.b && one.c === two.c && one.d === two.d && one.e === two.e && one.f === two.f

function canvasIn(box: HTMLElement, layer: string): HTMLCanvasElement {
  const canvas = document.createElement('canvas')
  Object.assign(canvas.style, { position: 'absolute', inset: '0', width: '100%', height: '100%' })
  canvas.dataset.layer = layer
  box.append(canvas)
  return canvas
}
