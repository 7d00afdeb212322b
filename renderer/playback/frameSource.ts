import { takeDecoderWorker } from './decoderWorkers.ts'
import { PlaybackError, type DecoderStats, type FromWorker, type OpenedCopy, type PictureSize, type ToWorker } from './protocol.ts'
import { SharedPicture, type Picture } from './sharedPicture.ts'

/** Bytes of decoded pictures one clip's worker may hold: about 70 frames of 720 x 1280. */
export const defaultBudget = 96 * 1024 * 1024

export interface FrameSourceOptions {
  /** Address of the review copy; it answers Range requests. */
  readonly url: string
  /** Entries of the clip's frame index. */
  readonly frames: number
  readonly budgetBytes?: number
  /** Makes the worker; the real one when left out. */
  readonly makeWorker?: () => Worker
}

/** How long answers took, in milliseconds, newest last; at most 2,000 of each are kept. */
export interface SourceTimings {
  /** From a want to the arrival of its frame, where it was not at hand already. */
  readonly waits: readonly number[]
  /** Wants whose frame was at hand. */
  readonly atHand: number
}

const mostTimings = 2000

/**
 * The page's handle on one clip's frames. Holds those of the present want (the frame itself and the frames ahead), so
 * that the next picture is there when its refresh comes; the rest stay with the worker.
 */
export class FrameSource {
  /** Resolves once the copy is open; rejects with a PlaybackError. */
  readonly opened: Promise<OpenedCopy>
  readonly frames: number
  readonly #worker: Worker
  readonly #ready = new Map<number, SharedPicture>()
  #listed = new Set<number>()
  #serial = 0
  #wanted: { index: number, ahead: string, at: number, answered: boolean } | null = null
  #waits: number[] = []
  #atHand = 0
  #disposed = false
  #failed = false
  #replies = new Map<number, (stats: DecoderStats) => void>()
  #onReady: ((index: number, again: boolean) => void) | null = null
  #onPassing: ((index: number, picture: SharedPicture, serial: number) => void) | null = null
  #onProblem: ((error: PlaybackError, fatal: boolean) => void) | null = null

  constructor(options: FrameSourceOptions) {
    this.frames = options.frames
    this.#worker = options.makeWorker?.() ?? takeDecoderWorker()
    this.opened = new Promise((resolve, reject) => {
      const fail = (error: PlaybackError, fatal: boolean) => {
        if (fatal) {
          this.#failed = true
          reject(error)
        }
        if (!this.#disposed) this.#onProblem?.(error, fatal)
      }
      this.#worker.onerror = (event) => fail(new PlaybackError({
        kind: 'decoder-failed', frame: null, message: `The player's worker could not run (${event.message || 'it did not load'}). Open the clip again.`,
      }), true)
      this.#worker.onmessage = ({ data }: MessageEvent<FromWorker>) => {
        if (data.type === 'frame') this.#take(data.serial, data.index, data.frame)
        else if (data.type === 'opened') resolve(data.copy)
        else if (data.type === 'problem') fail(new PlaybackError(data.problem), data.fatal)
        else if (data.type === 'stats') this.#answerStats(data.reply, data.stats)
        else this.#worker.terminate()
      }
    })
    // Whoever listens for problems is told; a promise nobody waits for must not add an unhandled rejection.
    this.opened.catch(() => undefined)
    // The worker would take a relative address as relative to its own file.
    this.#post({ type: 'open', url: new URL(options.url, document.baseURI).href, frames: options.frames, budgetBytes: options.budgetBytes ?? defaultBudget })
  }

  /** A frame of the present want has come; `again` where it takes the place of the same frame at another size. */
  set onReady(listener: ((index: number, again: boolean) => void) | null) { this.#onReady = listener }
  /** A frame wanted a moment ago has come, and nothing newer has: the listener owns it. */
  set onPassing(listener: ((index: number, picture: SharedPicture, serial: number) => void) | null) { this.#onPassing = listener }
  set onProblem(listener: ((error: PlaybackError, fatal: boolean) => void) | null) { this.#onProblem = listener }

  /** Whether the copy cannot be played. */
  get failed(): boolean { return this.#failed }
  get timings(): SourceTimings { return { waits: this.#waits, atHand: this.#atHand } }
  /** Number of the newest want; rises with each. */
  get serial(): number { return this.#serial }

  resetTimings(): void {
    this.#waits = []
    this.#atHand = 0
  }

  /**
   * Wants frame `index` now and those of `ahead` after it, in their order. Replaces the want before it; frames of
   * neither are closed. The same want again costs nothing.
   */
  want(index: number, ahead: readonly number[]): void {
    if (this.#disposed) return
    const list = ahead.join()
    if (this.#wanted?.index === index && this.#wanted.ahead === list) return
    const now = performance.now()
    const moved = this.#wanted?.index !== index
    this.#listed = new Set([index, ...ahead])
    for (const [at, frame] of this.#ready) {
      if (this.#listed.has(at)) continue
      frame.close()
      this.#ready.delete(at)
    }
    const atHand = this.#ready.has(index)
    if (moved && atHand) this.#atHand++
    this.#wanted = { index, ahead: list, at: moved ? now : this.#wanted!.at, answered: moved ? atHand : this.#wanted!.answered }
    this.#post({ type: 'want', serial: ++this.#serial, index, ahead })
  }

  has(index: number): boolean { return this.#ready.has(index) }

  /** A frame that is at hand, for the caller to close; null where it is not. */
  take(index: number): SharedPicture | null { return this.#ready.get(index)?.share() ?? null }

  /** Frames come as small as this from now on, or whole (null). Those at hand come again. */
  resize(size: PictureSize | null): void {
    if (this.#disposed) return
    for (const picture of this.#ready.values()) picture.close()
    this.#ready.clear()
    this.#post({ type: 'size', size })
  }

  /** The worker's counters; null once disposed. */
  stats(): Promise<DecoderStats | null> {
    if (this.#disposed) return Promise.resolve(null)
    const reply = this.#replies.size === 0 ? 1 : Math.max(...this.#replies.keys()) + 1
    return new Promise((resolve) => {
      this.#replies.set(reply, resolve)
      this.#post({ type: 'stats', reply })
    })
  }

  dispose(): void {
    if (this.#disposed) return
    this.#disposed = true
    for (const frame of this.#ready.values()) frame.close()
    this.#ready.clear()
    // The worker closes what it holds and says so; frames already on their way are closed as they come.
    this.#worker.postMessage({ type: 'dispose' } satisfies ToWorker)
  }

  #post(message: ToWorker): void {
    this.#worker.postMessage(message)
  }

  #take(serial: number, index: number, frame: Picture): void {
    if (this.#disposed) {
      frame.close()
      return
    }
    if (!this.#listed.has(index)) {
      if (this.#onPassing) this.#onPassing(index, new SharedPicture(frame), serial)
      else frame.close()
      return
    }
    const before = this.#ready.get(index)
    before?.close()
    this.#ready.set(index, new SharedPicture(frame))
    if (this.#wanted?.index === index && !this.#wanted.answered) {
      this.#wanted.answered = true
      this.#waits.push(performance.now() - this.#wanted.at)
      if (this.#waits.length > mostTimings) this.#waits.shift()
    }
    this.#onReady?.(index, before !== undefined)
  }

  #answerStats(reply: number, stats: DecoderStats): void {
    this.#replies.get(reply)?.(stats)
    this.#replies.delete(reply)
  }
}
