import { frameAt } from '../../shared/walkthrough/motion.ts'
import { emptyStage, type PaneId, type Stage, type StageClips } from '../../shared/walkthrough/stage.ts'
import { headAt } from './head.ts'
import type { PaneMover } from './pane.ts'
import type { Heads, Side } from './transport.ts'

/** Where a stage comes from: the live one (StageStore), or a log that is played back. */
export interface StageSource {
  /** The stage at a time in milliseconds, motion worked out into the playheads. Pure in its argument between two events. */
  settled(at: number): Stage
  readonly clips: StageClips
  /** Milliseconds now, on the clock that `settled` counts by. */
  now(): number
  /** Tells of each event; without it the stage is looked at once an animation frame. */
  listen?(heard: () => void): () => void
}

/** Milliseconds of the window's time for which a clock may stand still and yet count as running: sound ticks coarsely. */
const runsOn = 200

export const sideOf = (pane: PaneId): Side => (pane === 0 ? 'left' : 'right')
const paneOf = (side: Side): PaneId => (side === 'left' ? 0 : 1)

/** Moves panes by a stage: their playheads are where the stage says, and nowhere else. */
export class StageHeads implements PaneMover {
  readonly #source: StageSource
  readonly #listeners = new Set<(heads: Heads) => void>()
  #heads: Heads = { left: null, right: null }
  #stage: Stage = emptyStage
  #at = NaN
  #ranAt = -Infinity

  constructor(source: StageSource) {
    this.#source = source
  }

  get heads(): Heads { return this.#heads }
  /** The stage as last looked at. */
  get stage(): Stage { return this.#stage }
  get isPlaying(): boolean { return this.#stage.motion !== null && this.#runs }
  isMoving(side: Side): boolean {
    const moving = this.#stage.motion?.moving
    return this.#runs && (moving === 'both' || moving === paneOf(side))
  }

  onMoved(listener: (heads: Heads) => void): () => void {
    this.#listeners.add(listener)
    return () => this.#listeners.delete(listener)
  }

  /** Looks at the stage anew. True where it differs from what was last seen. */
  update(): boolean {
    const at = this.#source.now()
    if (at !== this.#at) this.#ranAt = performance.now()
    this.#at = at
    const stage = this.#source.settled(at)
    if (stage === this.#stage) return false
    this.#stage = stage
    const before = this.#heads
    this.#heads = { left: this.#head(0), right: this.#head(1) }
    if (before.left?.frame !== this.#heads.left?.frame || before.right?.frame !== this.#heads.right?.frame)
      for (const listener of this.#listeners) listener(this.#heads)
    return true
  }

  foresee(side: Side, seconds: number): number | null {
    const pane = paneOf(side)
    const { clipId } = this.#stage.panes[pane]
    const clip = clipId === null ? undefined : this.#source.clips[clipId]
    if (!clip || !this.isMoving(side)) return null
    const then = this.#source.settled(this.#at + seconds * 1000).panes[pane]
    return then.clipId === clipId ? frameAt(clip.frames, then.tick) : null
  }

  // Which clip stands where, and in what order, is the stage's to say.
  setClip(): void {}
  swap(): void {}

  get #runs(): boolean { return performance.now() - this.#ranAt < runsOn }

  #head(pane: PaneId) {
    const { clipId, tick } = this.#stage.panes[pane]
    const clip = clipId === null ? undefined : this.#source.clips[clipId]
    return clip ? headAt(clip.frames, tick) : null
  }
}
