import { frameAt } from '../../shared/walkthrough/motion.ts'
import { referenceFrame, referenceOf, type Stage, type StageClip, type StageClips } from '../../shared/walkthrough/stage.ts'
import { keepDecoderWorkers } from './decoderWorkers.ts'
import { FrameLoop, type FrameHost } from './frameLoop.ts'
import { Pane, type Coming, type PaneOptions } from './pane.ts'
import type { Picture } from './sharedPicture.ts'
import { WarmSources } from './warmSources.ts'

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
  /** The canvases of what stands beside or over each pane; without them references are not shown. */
  readonly references?: readonly [PaneOptions, PaneOptions]
  /**
   * Called at the head of each animation frame, such as the transport's `advance`; true while something moves.
   * A stage without `listen` needs none.
   */
  readonly advance?: () => boolean
  /** The stage's clock is performance.now: the animation frame's own time, which is steadier, may stand for it. */
  readonly steady?: boolean
  readonly host?: FrameHost
}

/** Two panes that show a stage's clips where its playheads are, and what stands beside them at the same instant. */
export interface Player {
  readonly panes: readonly [Pane, Pane]
  readonly references: readonly [Pane, Pane] | null
  /**
   * Adds a step to each animation frame, run after both panes were painted: a layer of marks that must be drawn in the
   * same frame as its picture. True asks for one more frame.
   */
  onFrame(step: (now: number) => boolean): () => void
  /** Opens clips that may soon be asked for, each at the frame it would show first; those of the call before go. */
  warm(clips: readonly { readonly clip: StageClip; readonly frame: number }[]): void
  /** Has decoders running for so many clips that may soon be asked for, whichever they are. */
  prepare(clips: number): void
  /** Has the steps run at the next animation frame. */
  wake(): void
  dispose(): void
}

/** Screen refreshes that are looked ahead while playing: a fifth of a second at 60 Hz. */
const foresight = 12
const refreshMs = 1000 / 60
/** Milliseconds for which a pane must go on showing one frame to count as resting on it while the clock runs. */
const stillForMs = 1000

/** A place for a picture: which clip and which of its frames belong on it. */
interface Seat {
  readonly video: Pane
  clipId(stage: Stage): string | null
  frame(stage: Stage): number | null
}

/** Puts the player together. The canvases stay the caller's; their sizes come from CSS. */
export function createPlayer({ store, media, panes: options, references: besides, advance, steady, host }: PlayerOptions): Player {
  const loop = new FrameLoop(host)
  const warmed = new WarmSources()
  const panes = [new Pane(0, loop.wake, options[0]), new Pane(1, loop.wake, options[1])] as const
  const references = besides ? [new Pane(0, loop.wake, besides[0]), new Pane(1, loop.wake, besides[1])] as const : null

  const paneSeat = (video: Pane): Seat => ({
    video,
    clipId: (stage) => stage.panes[video.id].clipId,
    frame: (stage) => {
      const { clipId, tick } = stage.panes[video.id]
      const clip = clipId === null ? undefined : store.clips[clipId]
      return clip && video.clip?.id === clipId ? frameAt(clip.frames, tick) : null
    },
  })
  const referenceSeat = (video: Pane): Seat => ({
    video,
    clipId: (stage) => referenceOf(stage, video.id)?.clipId ?? null,
    frame: (stage) => (video.clip !== null && video.clip.id === referenceOf(stage, video.id)?.clipId ? referenceFrame(stage, video.id, store.clips) : null),
  })
  const pairs: (readonly [Seat, Seat])[] = [[paneSeat(panes[0]), paneSeat(panes[1])]]
  if (references) pairs.push([referenceSeat(references[0]), referenceSeat(references[1])])
  const seats = pairs.flat()

  /** Has each place hold the stage's clip; two that changed places keep what they have decoded. */
  const open = (stage: Stage) => {
    const taken = seats.filter((seat) => seat.clipId(stage) !== null && (stage.layout === 'twin' || stage.active === seat.video.id))
    // What shows already is made small only once the others show too: until then they have the processors.
    const areThere = taken.every(({ video }) => video.shown !== null)
    for (const { video } of seats) {
      video.shared = taken.length > 1 && (video.shared || areThere || video.shown === null)
      video.crowded = taken.length > 2 && video.shared
    }
    for (const [left, right] of pairs) {
      const wanted = [left.clipId(stage), right.clipId(stage)]
      const held = [left.video.clip?.id ?? null, right.video.clip?.id ?? null]
      if (wanted[0] === held[0] && wanted[1] === held[1]) continue
      if (wanted[0] === held[1] && wanted[1] === held[0]) Pane.swap(left.video, right.video)
      for (const seat of [left, right]) seatClip(seat, seat.clipId(stage))
    }
  }
  const seatClip = ({ video }: Seat, clipId: string | null) => {
    if (clipId === (video.clip?.id ?? null)) return
    const clip = clipId === null ? undefined : store.clips[clipId]
    if (!clip) {
      video.close()
      return
    }
    const { original } = media
    // What goes wrong is told to the pane's listeners.
    video.open({
      id: clip.id, width: clip.width, height: clip.height, frames: clip.frames, url: media.reviewUrl(clip.id),
      ...(original ? { original: (frame: number, signal: AbortSignal) => original(clip.id, frame, signal) } : {}),
    }, warmed.take(clip.id, clip.frames.ticks.length)).catch(() => undefined)
  }

  const foresee = (at: number): ((seat: Seat) => Coming) => {
    const stages = Array.from({ length: foresight }, (_, k) => store.settled(at + (k + 1) * refreshMs))
    const later = store.settled(at + stillForMs)
    return (seat) => ({ frames: stages.flatMap((stage) => seat.frame(stage) ?? []), later: seat.frame(later) ?? -1 })
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
    for (const seat of seats) {
      const hidden = stage.layout === 'single' && stage.active !== seat.video.id
      if (!hidden) seat.video.update(seat.frame(stage), coming && coming(seat))
    }
    return moving || !store.listen
  })
  const off = store.listen?.(() => {
    const stage = store.settled()
    if (!stage.motion) {
      open(stage)
      for (const seat of seats) {
        const frame = seat.frame(stage)
        if (frame !== null) seat.video.expect(frame)
      }
    }
    loop.wake()
  })
  loop.wake()

  return {
    panes,
    references,
    onFrame: (step) => loop.add(step),
    warm: (clips) => warmed.hold(clips.map(({ clip, frame }) => ({ id: clip.id, url: media.reviewUrl(clip.id), frames: clip.frames.ticks.length, first: frame }))),
    prepare: keepDecoderWorkers,
    wake: loop.wake,
    dispose() {
      off?.()
      loop.end()
      warmed.dispose()
      keepDecoderWorkers(0)
      for (const { video } of seats) video.dispose()
    },
  }
}
