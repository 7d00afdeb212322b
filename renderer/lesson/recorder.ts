import type { LogHeader, LogRow } from '../../shared/walkthrough/log.ts'
import type { StageEvent } from '../../shared/walkthrough/events.ts'
import { clipsShown, type Stage, type StageClips } from '../../shared/walkthrough/stage.ts'
import type { StageStore } from '../playback/stageStore.ts'
import { Saver, type Append } from './saver.ts'
import type { SoundPiece, SoundSource } from './soundSource.ts'

/**
 * What a recorder may do next:
 *
 * | from        | by      | to          |
 * | ----------- | ------- | ----------- |
 * | idle        | start   | counting-in |
 * | counting-in | (time)  | recording   |
 * | counting-in | stop    | idle        |
 * | recording   | pause   | paused      |
 * | recording   | (lost)  | paused      |
 * | recording   | stop    | finishing   |
 * | paused      | resume  | recording   |
 * | paused      | stop    | finishing   |
 * | finishing   | (saved) | idle        |
 */
export type RecorderState = 'idle' | 'counting-in' | 'recording' | 'paused' | 'finishing'

/** What the recorder needs of the world. */
export interface RecorderDeps {
  readonly store: StageStore
  readonly sampleRate: number
  /** Makes the walkthrough on the desk; what it resolves to appends to it. */
  readonly begin: (header: LogHeader) => Promise<Append>
  readonly onFault: (fault: unknown) => void
  readonly wait?: (ms: number) => Promise<void>
}

/**
 * One take: turns pieces of sound and events of the stage into a log whose time 0 is the first sample. Sound is the clock:
 * an event's time is where the sound had got to, counted in samples, plus what has passed since that piece began, so that no
 * drift between the sound card and the system adds up. While paused neither sound nor events are kept; on resuming, the whole
 * stage is written down, so that the log is in step with what the coach did meanwhile.
 */
export class Take {
  readonly #deps: RecorderDeps
  readonly #stopListening: () => void
  #saver: Saver | null = null
  #samples = 0
  #anchor: { readonly at: number; readonly logMs: number } | null = null
  #lastMs = 0
  #keeping = true
  #resync = false
  /** Clips that the log knows. */
  #known: ReadonlySet<string> = new Set()

  constructor(deps: RecorderDeps) {
    this.#deps = deps
    this.#stopListening = deps.store.listen((at, event) => this.#hear(at, event))
  }

  get sampleRate(): number {
    return this.#deps.sampleRate
  }
  get isPaused(): boolean {
    return !this.#keeping
  }
  /** Milliseconds of sound kept. */
  get durationMs(): number {
    return (this.#samples * 1000) / this.#deps.sampleRate
  }
  /** Milliseconds of sound on the disk. */
  get savedMs(): number {
    return ((this.#saver?.savedSamples ?? 0) * 1000) / this.#deps.sampleRate
  }

  sound(piece: SoundPiece): void {
    if (!this.#keeping) return
    const logMs = this.durationMs
    this.#anchor = { at: piece.at, logMs }
    if (this.#saver === null) this.#open(piece.at)
    if (this.#resync) {
      this.#resync = false
      this.#row(piece.at, { type: 'stage', stage: this.#deps.store.stage })
    }
    this.#samples += piece.samples.length
    this.#saver!.addSound(piece.samples)
  }

  pause(): void {
    this.#keeping = false
    this.#anchor = null
  }

  resume(): void {
    if (this.#keeping) return
    this.#keeping = true
    this.#resync = this.#saver !== null
  }

  chapter(title: string): void {
    this.#deps.store.dispatch({ type: 'chapter', title })
  }

  /** Puts what is held on the disk; resolves when it is there. */
  flush(): Promise<void> {
    return this.#saver?.flush() ?? Promise.resolve()
  }

  /** Ends the take. Resolves once all of it is on the disk; false where no sound ever came. */
  async finish(): Promise<boolean> {
    this.#keeping = false
    this.#stopListening()
    if (this.#saver === null) return false
    await this.#saver.flush()
    return true
  }

  #open(at: number): void {
    const { store } = this.#deps
    const initial = this.#onLogClock(store.stage, at)
    // Only what is shown: other clips that the window has had open are none of this lesson's.
    const clips = this.#clipsOf(clipsShown(initial))
    this.#known = new Set(Object.keys(clips))
    const begun = this.#deps.begin({ format: 'crossbearing-walkthrough', version: 1, clips, initial })
    begun.catch(this.#deps.onFault)
    this.#saver = new Saver(async (piece) => (await begun)(piece), this.#deps.onFault, this.#deps.wait)
  }

  #hear(at: number, event: StageEvent): void {
    if (!this.#keeping || this.#saver === null || this.#resync) return
    this.#row(at, event)
  }

  #row(at: number, event: StageEvent): void {
    // Microseconds are finer than anything that is seen or heard, and keep the log short.
    const ms = Math.round(this.#logMs(at) * 1000) / 1000
    this.#lastMs = Math.max(this.#lastMs, ms)
    this.#makeKnown(event)
    const row: LogRow = [this.#lastMs, event.type === 'stage' ? { type: 'stage', stage: this.#onLogClock(event.stage, at) } : event]
    this.#saver!.addRow(row)
  }

  /** A clip that comes onto a pane, or beside one, while recording is written down before the event that shows it. */
  #makeKnown(event: StageEvent): void {
    const shown = event.type === 'stage' ? clipsShown(event.stage)
      : event.type === 'pane' && event.patch.clipId ? [event.patch.clipId]
      : event.type === 'reference' && event.reference ? [event.reference.clipId] : []
    const fresh = shown.filter((id) => !this.#known.has(id))
    if (fresh.length === 0) return
    this.#known = new Set([...this.#known, ...fresh])
    this.#saver!.addRow([this.#lastMs, { type: 'clips', clips: this.#clipsOf(fresh) }])
  }

  #clipsOf(ids: readonly string[]): StageClips {
    const { clips } = this.#deps.store
    return Object.fromEntries(ids.flatMap((id) => (clips[id] ? [[id, clips[id]] as const] : [])))
  }

  #logMs(at: number): number {
    return Math.max(0, this.#anchor ? this.#anchor.logMs + (at - this.#anchor.at) : this.durationMs)
  }

  /** A stage whose motion counts on the log's clock instead of the window's. */
  #onLogClock(stage: Stage, at: number): Stage {
    if (!stage.motion) return stage
    return { ...stage, motion: { ...stage.motion, since: this.#logMs(at) - (at - stage.motion.since) } }
  }
}

/** Feeds a take from a source and flushes it four times a second; owns neither. */
export function drive(take: Take, source: SoundSource, onLost: (why: string) => void): () => void {
  source.onPiece = (piece) => take.sound(piece)
  source.onLost = (why) => {
    take.pause()
    onLost(why)
  }
  const timer = setInterval(() => void take.flush(), 250)
  return () => {
    clearInterval(timer)
    source.onPiece = () => {}
    source.onLost = () => {}
  }
}
