import { frameAt } from '../../shared/walkthrough/motion.ts'
import type { PaneId, Stage, StageClips } from '../../shared/walkthrough/stage.ts'
import { FrameLoop, type FrameHost } from './frameLoop.ts'
import { Pane, type Coming, type PaneOptions } from './pane.ts'
import type { Picture } from './videoLayer.ts'

/** A stage to be shown: the live one (StageStore fits), or a walkthrough's at the time its sound has got to. */
export interface ShownStage {
  /** The stage at a time of `now`, by default the present, with the playheads worked out. Pure in `at` for the near future. */
  settled(at?: number): Stage
  readonly clips: StageClips
  /** Milliseconds. */
  readonly now: () => number
  /** Tells of each change made by hand. A stage without it is looked at in every animation frame. */
  listen?(heard: () => void): () => void
}

/** Where the pictures come from. */
export interface PlayerMedia {
  reviewUrl(clipId: string): string
  /** The original's own pixels of a frame at rest, in display orientation; closed by the player. */
  original?(clipId: string, frame: number, signal: AbortSignal): Promise<Picture>
}

export interface PlayerOptions {
  readonly store: ShownStage
  readonly media: PlayerMedia
  /** The left pane's canvas and the right one's. */
  readonly panes: readonly [PaneOptions, PaneOptions]
  /**
   * Called at the head of each animation frame, such as the transport's `advance`; true while something moves.
   * A stage without `listen` needs none.
   */
  readonly advance?: () => boolean
  /** The stage's clock is performance.now: the animation frame's own time, which is steadier, may stand for it. */
  readonly steady?: boolean
  readonly host?: FrameHost
}

/** Two panes that show a stage's clips where its playheads are. */
export interface Player {
  readonly panes: readonly [Pane, Pane]
  /**
   * Adds a step to each animation frame, run after both panes were painted: a layer of marks that must be drawn in the
   * same frame as its picture. True asks for one more frame.
   */
  onFrame(step: (now: number) => boolean): () => void
  /** Has the steps run at the next animation frame. */
  wake(): void
  dispose(): void
}

/** Screen refreshes that are looked ahead while playing: a fifth of a second at 60 Hz. */
const foresight = 12
const refreshMs = 1000 / 60
/** Milliseconds for which a pane must go on showing one frame to count as resting on it while the clock runs. */
const stillForMs = 1000

/** Puts the player together. The canvases stay the caller's; their sizes come from CSS. */
export function createPlayer({ store, media, panes: options, advance, steady, host }: PlayerOptions): Player {
  const loop = new FrameLoop(host)
  const panes = [new Pane(0, loop.wake, options[0]), new Pane(1, loop.wake, options[1])] as const

  const frameIn = (stage: Stage, pane: PaneId): number | null => {
    const { clipId, tick } = stage.panes[pane]
    const clip = clipId === null ? undefined : store.clips[clipId]
    return clip && panes[pane].clip?.id === clipId ? frameAt(clip.frames, tick) : null
  }

  /** Has each pane hold the stage's clip; two that changed places keep what they have decoded. */
  const open = (stage: Stage) => {
    const [left, right] = [stage.panes[0].clipId, stage.panes[1].clipId]
    const held = panes.map((pane) => pane.clip?.id ?? null)
    if (left === held[0] && right === held[1]) return
    if (left === held[1] && right === held[0]) Pane.swap(panes[0], panes[1])
    for (const pane of panes) {
      const { clipId } = stage.panes[pane.id]
      if (clipId === (pane.clip?.id ?? null)) continue
      const clip = clipId === null ? undefined : store.clips[clipId]
      if (!clip) {
        pane.close()
        continue
      }
      const { original } = media
      // What goes wrong is told to the pane's listeners.
      pane.open({
        id: clip.id, width: clip.width, height: clip.height, frames: clip.frames, url: media.reviewUrl(clip.id),
        ...(original ? { original: (frame: number, signal: AbortSignal) => original(clip.id, frame, signal) } : {}),
      }).catch(() => undefined)
    }
  }

  const foresee = (at: number): [Coming, Coming] => {
    const stages = Array.from({ length: foresight }, (_, k) => store.settled(at + (k + 1) * refreshMs))
    const later = store.settled(at + stillForMs)
    const coming = (pane: PaneId): Coming => ({
      frames: stages.flatMap((stage) => frameIn(stage, pane) ?? []),
      later: frameIn(later, pane) ?? -1,
    })
    return [coming(0), coming(1)]
  }

  let lastAt = NaN
  loop.add((now) => {
    const moving = advance?.() ?? false
    let at = store.now()
    let stage = store.settled(at)
    if (steady && stage.motion) {
      at = Math.max(now, stage.motion.since)
      stage = store.settled(at)
    }
    open(stage)
    // A replay's clock that stands still is a stage at rest.
    const mayMove = store.listen ? stage.motion !== null : at !== lastAt
    lastAt = at
    const coming = mayMove ? foresee(at) : null
    for (const pane of panes) {
      const hidden = stage.layout === 'single' && stage.active !== pane.id
      if (!hidden) pane.update(frameIn(stage, pane.id), coming && coming[pane.id])
    }
    return moving || !store.listen
  })
  const off = store.listen?.(() => {
    const stage = store.settled()
    if (!stage.motion) {
      open(stage)
      for (const pane of panes) {
        const frame = frameIn(stage, pane.id)
        if (frame !== null) pane.expect(frame)
      }
    }
    loop.wake()
  })
  loop.wake()

  return {
    panes,
    onFrame: (step) => loop.add(step),
    wake: loop.wake,
    dispose() {
      off?.()
      loop.end()
      for (const pane of panes) pane.dispose()
    },
  }
}
