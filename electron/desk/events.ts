import type { DeskEvent } from '../../shared/contract/operations.ts'

/** Whoever listens hears of every event, in order; one that throws does not keep the others from hearing. */
export class EventHub {
  readonly #listeners = new Set<(event: DeskEvent) => void>()
  readonly #log: (line: string) => void

  constructor(log: (line: string) => void) {
    this.#log = log
  }

  listen(heard: (event: DeskEvent) => void): () => void {
    this.#listeners.add(heard)
    return () => void this.#listeners.delete(heard)
  }

  tell(event: DeskEvent): void {
    for (const heard of this.#listeners) {
      try {
        heard(event)
      } catch (error) {
        this.#log(`a listener failed: ${String(error)}`)
      }
    }
  }

  changed(...what: Extract<DeskEvent, { type: 'changed' }>['what'][]): void {
    for (const each of what) this.tell({ type: 'changed', what: each })
  }
}
