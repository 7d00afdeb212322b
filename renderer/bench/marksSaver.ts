import { emptyDiff, isEmpty, squash, type RecordsDiff } from '../../shared/markup/diff.ts'
import type { Mark } from '../../shared/markup/mark.ts'

export interface Saving {
  readonly state: 'saved' | 'waiting' | 'failed'
  /** What went wrong at the last try, while the changes wait for the next. */
  readonly error: unknown
}

/** Milliseconds between two savings while changes keep coming. */
const pause = 300
/** Milliseconds until it is tried again after a refusal. */
const retry = 4000

/**
 * Puts changes of the marks on disk: the first one at once, what follows gathered every 300 ms, in order and never two at
 * a time. What the desk refuses is kept and tried again.
 */
export class MarksSaver<R = Mark> {
  readonly #apply: (diff: RecordsDiff<R>) => Promise<unknown>
  readonly #tell: (saving: Saving) => void
  #pending: RecordsDiff<R> = emptyDiff()
  #timer: ReturnType<typeof setTimeout> | null = null
  #running: Promise<void> | null = null
  #lastAt = -Infinity

  constructor(apply: (diff: RecordsDiff<R>) => Promise<unknown>, tell: (saving: Saving) => void) {
    this.#apply = apply
    this.#tell = tell
  }

  add(diff: RecordsDiff<R>): void {
    this.#pending = squash(this.#pending, diff)
    this.#tell({ state: 'waiting', error: null })
    if (!this.#timer && !this.#running) this.#plan(Math.max(0, this.#lastAt + pause - performance.now()))
  }

  /** Saves what waits now. Resolves once nothing is on its way; what failed still waits. */
  async flush(): Promise<void> {
    if (this.#running) await this.#running
    if (this.#timer) clearTimeout(this.#timer)
    this.#timer = null
    if (isEmpty(this.#pending)) return
    this.#running = this.#save()
    await this.#running
  }

  #plan(after: number): void {
    this.#timer = setTimeout(() => {
      this.#timer = null
      void this.flush()
    }, after)
  }

  async #save(): Promise<void> {
    const diff = this.#pending
    this.#pending = emptyDiff()
    this.#lastAt = performance.now()
    let wait = pause
    try {
      await this.#apply(diff)
      this.#tell({ state: isEmpty(this.#pending) ? 'saved' : 'waiting', error: null })
    } catch (error) {
      this.#pending = squash(diff, this.#pending)
      this.#tell({ state: 'failed', error })
      wait = retry
    }
    this.#running = null
    if (!isEmpty(this.#pending) && !this.#timer) this.#plan(wait)
  }
}
