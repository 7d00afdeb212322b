import { applyEvent, type StageEvent } from '../../shared/walkthrough/events.ts'
import { emptyStage, playheads, type Stage, type StageClip, type StageClips } from '../../shared/walkthrough/stage.ts'

export type StageListener = (at: number, event: StageEvent, stage: Stage) => void

/**
 * The live stage, outside React. Whatever changes what is seen is an event that goes through `dispatch`, is stamped with
 * the clock and applied by the same function that replays a log; so a recording is nothing but the events heard here.
 */
export class StageStore {
  #stage: Stage
  #clips: StageClips
  readonly #listeners = new Set<StageListener>()
  /** Milliseconds; performance.now unless a walkthrough's sound or a test is the clock. */
  readonly now: () => number

  constructor(stage: Stage = emptyStage, clips: StageClips = {}, now: () => number = () => performance.now()) {
    this.#stage = stage
    this.#clips = clips
    this.now = now
  }

  /** The stage as last set by an event; a motion is not worked out in it. */
  get stage(): Stage {
    return this.#stage
  }
  get clips(): StageClips {
    return this.#clips
  }

  /** The stage with the playheads where the motion has brought them by now. */
  settled(at: number = this.now()): Stage {
    const stage = this.#stage
    if (!stage.motion) return stage
    const [left, right] = playheads(stage, this.#clips, at)
    return { ...stage, panes: [{ ...stage.panes[0], tick: left }, { ...stage.panes[1], tick: right }] }
  }

  /** Makes clips known before an event puts them into a pane. */
  know(clips: readonly StageClip[]): void {
    this.#clips = { ...this.#clips, ...Object.fromEntries(clips.map((clip) => [clip.id, clip])) }
  }

  dispatch(event: StageEvent): void {
    const at = this.now()
    this.#stage = applyEvent(this.#stage, event, at, this.#clips)
    for (const heard of this.#listeners) heard(at, event, this.#stage)
  }

  /** Hears of every event after it was applied, until the returned function is called. */
  listen(heard: StageListener): () => void {
    this.#listeners.add(heard)
    return () => this.#listeners.delete(heard)
  }
}
