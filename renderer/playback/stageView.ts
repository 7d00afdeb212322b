import { apply, invert, scaleOf, type Affine } from '../../shared/geometry/affine.ts'
import { imagePoint, type ImagePoint, type Vec2 } from '../../shared/geometry/vec.ts'
import { clipOf, paneRects, type Rect, type Size } from '../../shared/picture/layout.ts'
import { paneBackground } from '../../shared/picture/palette.ts'
import { referenceViews } from '../../shared/picture/views.ts'
import { emptyStage, type PaneId, type Stage, type StageClip, type StageClips } from '../../shared/walkthrough/stage.ts'
import type { PaneClip, PaneStats } from './pane.ts'
import { createPlayer } from './player.ts'
import { PlaybackError } from './protocol.ts'
import { ReferenceLayers } from './referenceLayers.ts'
import { StageLayers } from './stageLayers.ts'

/** Where a stage comes from: the live one (StageStore fits), or a walkthrough's log. */
export interface StageSource {
  /** The stage at a time in milliseconds, motion worked out into the playheads. Pure in its argument between two events. */
  settled(at?: number): Stage
  readonly clips: StageClips
  readonly now: () => number
  /** Tells of each event; a stage without it is looked at in every animation frame. */
  listen?(heard: () => void): () => void
}

export interface StageMedia {
  /** Address of a clip's review copy. */
  reviewUrl(clipId: string): string
  /** The original's own pixels of a frame; the view closes what it is given. Without it the review copy stays at rest too. */
  original?(clipId: string, frame: number, signal: AbortSignal): Promise<VideoFrame>
}

export interface StageViewOptions {
  /** Filled by the view; its size comes from CSS. */
  readonly host: HTMLElement
  readonly store: StageSource
  readonly media: StageMedia
  /** Called at the head of each animation frame, such as the transport's `advance`; true while something moves. */
  readonly advance?: () => boolean
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

/** Where a reference lies, in CSS pixels of the host; it may be turned a little. */
export interface ReferencePlace {
  readonly rect: Rect
  readonly toHost: Affine
  readonly frame: number | null
  readonly state: PaneState
  readonly picture: HTMLCanvasElement
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
  /** The pane whose place is under a point of the window, with a clip in it or not. */
  paneAt(clientX: number, clientY: number): PaneId | null
  /** The point of a given pane's picture under a point of the window, wherever that lies. */
  imageAt(pane: PaneId, clientX: number, clientY: number): ImagePoint | null
  /** Null where the pane is hidden or shows no clip. */
  place(pane: PaneId): PanePlace | null
  /** Where a pane stands in CSS pixels of the host, with a clip in it or not. */
  rect(pane: PaneId): Rect | null
  /** Where a pane's reference shows, its frame on the screen, and how it stands; null without one. */
  reference(pane: PaneId): ReferencePlace | null
  /** The pane whose reference stands beside it under a point of the window. */
  referenceAt(clientX: number, clientY: number): PaneId | null
  /** The canvas with a pane's picture. */
  picture(pane: PaneId): HTMLCanvasElement
  /** The original's pixels of the frame shown, where they have come; the view's own, not to be closed. */
  original(pane: PaneId): VideoFrame | null
  state(pane: PaneId): PaneState
  onState(listener: (pane: PaneId, state: PaneState) => void): () => void
  /** Called at the end of each animation frame in which the stage, a pane's place or a picture changed. */
  onFrame(listener: () => void): () => void
  /** Opens clips that may soon stand on the stage; see Player. */
  warm(clips: readonly { readonly clip: StageClip; readonly frame: number }[]): void
  /** Has decoders running for so many clips that may soon stand on the stage; see Player. */
  prepare(clips: number): void
  stats(): Promise<readonly [PaneStats, PaneStats]>
  resetStats(): void
  dispose(): void
}

interface Original { readonly clipId: string; readonly frame: number; readonly picture: VideoFrame }

/**
 * Draws a stage into an element: for each pane a canvas for the video, one for the marks and one for what is in the making
 * (draft and pointer). All move in one animation-frame loop; a layer is drawn only when what it shows has changed, at most
 * once a frame, and marks are those of the frame that is really on the screen.
 */
export function createStageView({ host, store, media, advance }: StageViewOptions): StageView {
  const root = document.createElement('div')
  Object.assign(root.style, { position: 'absolute', inset: '0', overflow: 'hidden' })
  if (getComputedStyle(host).position === 'static') host.style.position = 'relative'
  host.append(root)

  const layers = [new StageLayers(0, root), new StageLayers(1, root)] as const
  const besides = [new ReferenceLayers(layers[0], root), new ReferenceLayers(layers[1], root)] as const
  const stateListeners = new Set<(pane: PaneId, state: PaneState) => void>()
  const frameListeners = new Set<() => void>()
  const states: [PaneState, PaneState] = [{ kind: 'empty' }, { kind: 'empty' }]
  const besideStates: [PaneState, PaneState] = [{ kind: 'empty' }, { kind: 'empty' }]
  const opened: [PaneClip | null, PaneClip | null] = [null, null]
  const originals = new Map<string, Original>()
  const shown: [number | null, number | null] = [null, null]
  const paints = [0, 0, 0, 0]
  let size: Size = { width: 0, height: 0 }
  let ratio = 1
  let rects: readonly [Rect | null, Rect | null] = [null, null]
  let stage: Stage = emptyStage
  let clips: StageClips = {}
  let isStale = true
  let changed = false

  const { original } = media
  const player = createPlayer({
    store, steady: store.listen !== undefined,
    media: {
      reviewUrl: (clipId) => media.reviewUrl(clipId),
      ...(original ? {
        original: async (clipId: string, frame: number, signal: AbortSignal) => {
          const picture = await original(clipId, frame, signal)
          // The layer closes its own; a copy of each clip's last one is kept for the magnifier.
          originals.get(clipId)?.picture.close()
          originals.set(clipId, { clipId, frame, picture: picture.clone() })
          return picture
        },
      } : {}),
    },
    panes: [
      { canvas: layers[0].videoCanvas, ground: paneBackground, followSize: false },
      { canvas: layers[1].videoCanvas, ground: paneBackground, followSize: false },
    ],
    references: [
      { canvas: besides[0].videoCanvas, ground: 'transparent', followSize: false },
      { canvas: besides[1].videoCanvas, ground: 'transparent', followSize: false },
    ],
    // Before the panes paint, so that picture and marks move in the same frame.
    advance: () => {
      const isMoving = advance?.() ?? false
      layOut()
      return isMoving
    },
  })

  const measure = (): void => {
    ratio = devicePixelRatio
    size = { width: Math.round(root.clientWidth * ratio), height: Math.round(root.clientHeight * ratio) }
    isStale = true
    player.wake()
  }
  const observer = new ResizeObserver(measure)
  observer.observe(root)
  measure()

  function layOut(): void {
    if (devicePixelRatio !== ratio) measure()
    const now = store.settled(store.now())
    changed = now !== stage || store.clips !== clips
    const isMoved = isStale || clips !== store.clips || now.layout !== stage.layout || now.active !== stage.active || now.references !== stage.references
      || ([0, 1] as const).some((pane) => !sameFrame(now.panes[pane], stage.panes[pane]))
    stage = now
    clips = store.clips
    if (!isMoved) return
    isStale = false
    changed = true
    rects = size.width < 4 || size.height < 4 ? [null, null] : paneRects(size, stage, clips)
    for (const layer of layers) layer.layOut(rects[layer.pane], clipOf(stage, layer.pane, clips), stage.panes[layer.pane], size, ratio, player.panes[layer.pane])
    const views = size.width < 4 || size.height < 4 ? [] : referenceViews({ size, stage, clips })
    for (const beside of besides) beside.layOut(views.find(({ pane }) => pane === beside.pane.pane) ?? null, ratio, player.references![beside.pane.pane])
  }

  const become = (pane: PaneId, state: PaneState): void => {
    states[pane] = state
    for (const listener of stateListeners) listener(pane, state)
  }
  /** Follows what the player has opened in a pane. */
  const follow = (pane: PaneId): void => {
    const { clip, opened: opening } = player.panes[pane]
    if (clip === opened[pane]) return
    opened[pane] = clip
    if (!clip || !opening) {
      become(pane, { kind: 'empty' })
      return
    }
    become(pane, { kind: 'opening' })
    opening.then(
      () => { if (opened[pane] === clip && states[pane].kind === 'opening') become(pane, { kind: 'open' }) },
      (error: unknown) => {
        if (opened[pane] === clip) become(pane, { kind: 'failed', error: error instanceof PlaybackError ? error : unknownFailure() })
      },
    )
    const wanted = new Set(opened.map((one) => one?.id))
    for (const [id, kept] of originals) {
      if (wanted.has(id)) continue
      kept.picture.close()
      originals.delete(id)
    }
  }
  const besideShown = (pane: PaneId): number | null => {
    const video = player.references![pane]
    return video.clip !== null && video.clip.id === besides[pane].view?.clipId ? video.shown : null
  }
  const besideOpened: [PaneClip | null, PaneClip | null] = [null, null]
  const followBeside = (pane: PaneId): void => {
    const { clip, opened: opening } = player.references![pane]
    if (clip === besideOpened[pane]) return
    besideOpened[pane] = clip
    besideStates[pane] = { kind: clip ? 'opening' : 'empty' }
    opening?.then(
      () => { if (besideOpened[pane] === clip) besideStates[pane] = { kind: 'open' } },
      (error: unknown) => {
        if (besideOpened[pane] === clip) besideStates[pane] = { kind: 'failed', error: error instanceof PlaybackError ? error : unknownFailure() }
      },
    ).finally(() => {
      changed = true
      for (const listener of frameListeners) listener()
    })
  }
  for (const pane of player.panes) {
    pane.onProblem((error) => {
      if (error.kind !== 'frame-damaged') become(pane.id, { kind: 'failed', error })
    })
  }

  player.onFrame(() => {
    let isDrawn = changed
    for (const layer of layers) {
      const { pane } = layer
      const video = player.panes[pane]
      follow(pane)
      const isThere = video.clip !== null && video.clip.id === stage.panes[pane].clipId
      shown[pane] = isThere ? video.shown : null
      if (video.layer.paints !== paints[pane]) isDrawn = true
      paints[pane] = video.layer.paints
      isDrawn = layer.draw(stage, clips, shown[pane]) || isDrawn
    }
    for (const beside of besides) {
      const { pane } = beside.pane
      const video = player.references![pane]
      followBeside(pane)
      if (video.layer.paints !== paints[2 + pane]) isDrawn = true
      paints[2 + pane] = video.layer.paints
      isDrawn = beside.draw(clips, { own: shown[pane], reference: besideShown(pane) }) || isDrawn
    }
    if (isDrawn) for (const listener of frameListeners) listener()
    return false
  })

  const local = (clientX: number, clientY: number): Vec2 => {
    const box = root.getBoundingClientRect()
    return [(clientX - box.left) * ratio, (clientY - box.top) * ratio]
  }
  const paneAt = (clientX: number, clientY: number): PaneId | null => {
    const [x, y] = local(clientX, clientY)
    return ([0, 1] as const).find((pane) => {
      const rect = rects[pane]
      return rect && x >= rect.x && y >= rect.y && x < rect.x + rect.width && y < rect.y + rect.height
    }) ?? null
  }
  const imageAt = (pane: PaneId, clientX: number, clientY: number): ImagePoint | null => {
    const rect = rects[pane]
    const { transform } = layers[pane]
    const back = transform && invert(transform)
    if (!rect || !back) return null
    const [x, y] = local(clientX, clientY)
    const [ix, iy] = apply(back, [x - rect.x, y - rect.y])
    return imagePoint(ix, iy)
  }
  const cssRect = (pane: PaneId): Rect | null => {
    const rect = rects[pane]
    return rect && { x: rect.x / ratio, y: rect.y / ratio, width: rect.width / ratio, height: rect.height / ratio }
  }

  return {
    shown: () => [shown[0], shown[1]],
    get stage() { return stage },
    paneAt, imageAt,
    rect: cssRect,
    hit(clientX, clientY) {
      const pane = paneAt(clientX, clientY)
      const at = pane === null ? null : imageAt(pane, clientX, clientY)
      return at && { pane: pane!, at }
    },
    place(pane) {
      const rect = cssRect(pane)
      const { transform } = layers[pane]
      if (!rect || !transform) return null
      const { a, b, c, d, e, f } = transform
      return {
        rect, scale: scaleOf(transform) / ratio,
        toHost: { a: a / ratio, b: b / ratio, c: c / ratio, d: d / ratio, e: e / ratio + rect.x, f: f / ratio + rect.y },
      }
    },
    reference(pane) {
      const { view } = besides[pane]
      if (!view) return null
      const { rect: { x, y, width, height }, place: { transform: { a, b, c, d, e, f } } } = view
      return {
        rect: { x: x / ratio, y: y / ratio, width: width / ratio, height: height / ratio }, frame: besideShown(pane), state: besideStates[pane],
        toHost: { a: a / ratio, b: b / ratio, c: c / ratio, d: d / ratio, e: e / ratio, f: f / ratio }, picture: besides[pane].videoCanvas,
      }
    },
    referenceAt(clientX, clientY) {
      const [x, y] = local(clientX, clientY)
      return ([0, 1] as const).find((pane) => {
        const { view } = besides[pane]
        if (!view || view.reference.look !== 'beside') return false
        const { rect } = view
        return x >= rect.x && y >= rect.y && x < rect.x + rect.width && y < rect.y + rect.height
      }) ?? null
    },
    picture: (pane) => layers[pane].videoCanvas,
    original(pane) {
      const kept = originals.get(stage.panes[pane].clipId ?? '')
      return kept && kept.frame === shown[pane] ? kept.picture : null
    },
    state: (pane) => states[pane],
    onState(listener) {
      stateListeners.add(listener)
      return () => stateListeners.delete(listener)
    },
    onFrame(listener) {
      frameListeners.add(listener)
      return () => frameListeners.delete(listener)
    },
    warm: player.warm,
    prepare: player.prepare,
    stats: () => Promise.all([player.panes[0].stats(), player.panes[1].stats()]),
    resetStats() {
      for (const pane of player.panes) pane.resetStats()
    },
    dispose() {
      observer.disconnect()
      player.dispose()
      for (const { picture } of originals.values()) picture.close()
      originals.clear()
      root.remove()
      stateListeners.clear()
      frameListeners.clear()
    },
  }
}

const unknownFailure = (): PlaybackError => new PlaybackError({ kind: 'cannot-read', frame: null, message: 'This clip could not be opened. Try it again.' })

const sameFrame = (one: Stage['panes'][0], two: Stage['panes'][0]): boolean =>
  one.clipId === two.clipId && one.zoom === two.zoom && one.centre === two.centre && one.mirror === two.mirror
