import { apply, invert, scaleOf, type Affine } from '../../shared/geometry/affine.ts'
import { imagePoint, type ImagePoint, type Vec2 } from '../../shared/geometry/vec.ts'
import { clipOf, paneRects, type Rect, type Size } from '../../shared/picture/layout.ts'
import type { PaneId, Stage } from '../../shared/walkthrough/stage.ts'
import type { PaneStats } from './pane.ts'
import type { PlaybackError } from './protocol.ts'
import { StageHeads, type StageSource } from './stageHeads.ts'
import { StagePane } from './stagePane.ts'

export type { StageSource } from './stageHeads.ts'

export interface StageViewOptions {
  /** Filled by the view; its size comes from CSS. */
  readonly host: HTMLElement
  readonly store: StageSource
  readonly media: StageMedia
}

export interface StageMedia {
  /** Address of a clip's review copy. */
  reviewUrl(clipId: string): string
  /** The original's own pixels of a frame; the view closes what it is given. Without it the review copy stays at rest too. */
  original?(clipId: string, frame: number, signal: AbortSignal): Promise<VideoFrame>
}

/** How a pane stands; `failed` says in its error what to do. */
export type PaneState =
  | { readonly kind: 'empty' | 'opening' | 'open' }
  | { readonly kind: 'failed'; readonly error: PlaybackError }

/** Where a pane lies, in CSS pixels of the host. */
export interface PanePlace {
  readonly rect: Rect
  /** Image space to CSS pixels of the host. */
  readonly toHost: Affine
  /** CSS pixels in a pixel of the original. */
  readonly scale: number
}

export interface Hit {
  readonly pane: PaneId
  readonly at: ImagePoint
}

export interface StageView {
  /** The frame whose pixels are on the screen in each pane; null where there are none. */
  shown(): readonly [number | null, number | null]
  /** The stage of the last animation frame. */
  readonly stage: Stage
  /** The pane under a point of the window and the point of the picture there (it may lie outside the picture). */
  hit(clientX: number, clientY: number): Hit | null
  /** The point of a given pane's picture under a point of the window, wherever that lies. */
  imageAt(pane: PaneId, clientX: number, clientY: number): ImagePoint | null
  place(pane: PaneId): PanePlace | null
  /** The canvas with a pane's picture, in device pixels of the place's rect. */
  picture(pane: PaneId): HTMLCanvasElement
  /** The original's pixels of the frame shown, while the pane shows them; the view's own, not to be closed. */
  original(pane: PaneId): VideoFrame | null
  state(pane: PaneId): PaneState
  onState(listener: (pane: PaneId, state: PaneState) => void): () => void
  /** Called at the end of each animation frame in which the stage or the panes' places changed, or a picture was painted. */
  onFrame(listener: () => void): () => void
  stats(): Promise<readonly [PaneStats, PaneStats]>
  resetStats(): void
  dispose(): void
}

/**
 * Draws a stage: for each pane a canvas for the video, one for the marks and one for what is in the making (draft and
 * pointer). One animation-frame loop; a layer is drawn only when what it shows has changed, at most once a frame.
 */
export function createStageView({ host, store, media }: StageViewOptions): StageView {
  const heads = new StageHeads(store)
  const root = document.createElement('div')
  Object.assign(root.style, { position: 'absolute', inset: '0', overflow: 'hidden' })
  if (getComputedStyle(host).position === 'static') host.style.position = 'relative'
  host.append(root)

  const stateListeners = new Set<(pane: PaneId, state: PaneState) => void>()
  const frameListeners = new Set<() => void>()
  const tellState = (pane: PaneId) => (state: PaneState): void => {
    for (const listener of stateListeners) listener(pane, state)
  }
  const panes = [new StagePane(0, root, heads, media, tellState(0)), new StagePane(1, root, heads, media, tellState(1))] as const
  let size: Size = { width: 0, height: 0 }
  let ratio = 1
  let rects: readonly [Rect | null, Rect | null] = [null, null]
  let isLaidOut = false
  let handle = 0

  const measure = (): void => {
    ratio = devicePixelRatio
    const { clientWidth, clientHeight } = root
    size = { width: Math.round(clientWidth * ratio), height: Math.round(clientHeight * ratio) }
    isLaidOut = false
  }
  const observer = new ResizeObserver(measure)
  observer.observe(root)
  measure()

  const run = (): void => {
    handle = requestAnimationFrame(run)
    // A room that does not show has no size and costs nothing.
    if (size.width < 2 || size.height < 2) return
    if (devicePixelRatio !== ratio) measure()
    const isNew = heads.update()
    const { stage } = heads
    if (isNew || !isLaidOut) {
      StagePane.open(panes, stage, store.clips)
      rects = paneRects(size, stage, store.clips)
      for (const pane of panes) pane.layOut(rects[pane.pane], clipOf(stage, pane.pane, store.clips), stage.panes[pane.pane], size, ratio)
    }
    let isDrawn = isNew || !isLaidOut
    isLaidOut = true
    for (const pane of panes) isDrawn = pane.draw(stage, store.clips) || isDrawn
    if (isDrawn) for (const listener of frameListeners) listener()
  }
  // A playhead moved by hand asks for its frame at once: waiting for the animation frame would cost up to a refresh.
  const unlisten = store.listen?.(() => {
    if (size.width >= 2 && heads.update()) isLaidOut = false
  })
  handle = requestAnimationFrame(run)

  const local = (clientX: number, clientY: number): Vec2 => {
    const box = root.getBoundingClientRect()
    return [(clientX - box.left) * ratio, (clientY - box.top) * ratio]
  }
  const imageAt = (pane: PaneId, clientX: number, clientY: number): ImagePoint | null => {
    const rect = rects[pane]
    const back = panes[pane].transform && invert(panes[pane].transform)
    if (!rect || !back) return null
    const [x, y] = local(clientX, clientY)
    const [ix, iy] = apply(back, [x - rect.x, y - rect.y])
    return imagePoint(ix, iy)
  }

  return {
    shown: () => [panes[0].shown, panes[1].shown],
    get stage() { return heads.stage },
    imageAt,
    hit(clientX, clientY) {
      const [x, y] = local(clientX, clientY)
      for (const pane of [0, 1] as const) {
        const rect = rects[pane]
        if (!rect || x < rect.x || y < rect.y || x >= rect.x + rect.width || y >= rect.y + rect.height) continue
        const at = imageAt(pane, clientX, clientY)
        return at && { pane, at }
      }
      return null
    },
    place(pane) {
      const rect = rects[pane]
      const { transform } = panes[pane]
      if (!rect || !transform) return null
      const { a, b, c, d, e, f } = transform
      return {
        rect: { x: rect.x / ratio, y: rect.y / ratio, width: rect.width / ratio, height: rect.height / ratio },
        toHost: { a: a / ratio, b: b / ratio, c: c / ratio, d: d / ratio, e: (e + rect.x) / ratio, f: (f + rect.y) / ratio },
        scale: scaleOf(transform) / ratio,
      }
    },
    picture: (pane) => panes[pane].videoCanvas,
    original: (pane) => panes[pane].original,
    state: (pane) => panes[pane].state,
    onState(listener) {
      stateListeners.add(listener)
      return () => stateListeners.delete(listener)
    },
    onFrame(listener) {
      frameListeners.add(listener)
      return () => frameListeners.delete(listener)
    },
    stats: () => Promise.all([panes[0].stats(), panes[1].stats()]),
    resetStats() {
      for (const pane of panes) pane.resetStats()
    },
    dispose() {
      cancelAnimationFrame(handle)
      unlisten?.()
      observer.disconnect()
      for (const pane of panes) pane.dispose()
      root.remove()
      stateListeners.clear()
      frameListeners.clear()
    },
  }
}
