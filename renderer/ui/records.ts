/** So many records that nothing on the screen shows are kept, for a quick way back. */
const mostUnseen = 400
const mostAtOnce = 500

/**
 * Records of one kind by their ids, asked for as they are needed and kept. When the kind changes, only those that something on
 * the screen watches are asked for again; the others are forgotten. A record is undefined until the desk has told, null where
 * it is not in the library.
 */
export class Records<T extends { readonly id: string }> {
  readonly #ask: (ids: readonly string[]) => Promise<readonly T[]>
  readonly #failed: (error: unknown) => void
  readonly #known = new Map<string, T | null>()
  readonly #watched = new Map<string, Set<() => void>>()
  readonly #due = new Set<string>()
  #isAsking = false

  constructor(ask: (ids: readonly string[]) => Promise<readonly T[]>, failed: (error: unknown) => void) {
    this.#ask = ask
    this.#failed = failed
  }

  get(id: string): T | null | undefined {
    return this.#known.get(id)
  }

  /** How many are kept. */
  get size(): number {
    return this.#known.size
  }

  /** Has these kept up to date, and hears when one of them changes, until the returned function is called. */
  watch(ids: readonly string[], heard: () => void): () => void {
    for (const id of ids) {
      const there = this.#watched.get(id)
      if (there) there.add(heard)
      else this.#watched.set(id, new Set([heard]))
      if (!this.#known.has(id)) this.#want(id)
    }
    return () => {
      for (const id of ids) {
        const there = this.#watched.get(id)
        there?.delete(heard)
        if (there?.size === 0) this.#watched.delete(id)
      }
      this.#thin()
    }
  }

  /** Something of this kind has changed. */
  changed(): void {
    for (const id of this.#known.keys()) if (!this.#watched.has(id)) this.#known.delete(id)
    for (const id of this.#watched.keys()) this.#want(id)
  }

  #want(id: string): void {
    this.#due.add(id)
    if (this.#isAsking) return
    this.#isAsking = true
    // All that one step asks for goes in one question.
    queueMicrotask(() => void this.#run())
  }

  async #run(): Promise<void> {
    try {
      while (this.#due.size > 0) {
        const ids = [...this.#due].slice(0, mostAtOnce)
        for (const id of ids) this.#due.delete(id)
        const found = new Map((await this.#ask(ids)).map((record) => [record.id, record]))
        const heard = new Set<() => void>()
        for (const id of ids) {
          const now = found.get(id) ?? null
          if (this.#known.has(id) && JSON.stringify(this.#known.get(id)) === JSON.stringify(now)) continue
          this.#known.set(id, now)
          for (const one of this.#watched.get(id) ?? []) heard.add(one)
        }
        for (const one of heard) one()
      }
    } catch (error) {
      this.#failed(error)
    } finally {
      this.#isAsking = false
    }
  }

  #thin(): void {
    if (this.#known.size <= mostUnseen + this.#watched.size) return
    for (const id of this.#known.keys()) {
      if (this.#known.size <= mostUnseen + this.#watched.size) return
      if (!this.#watched.has(id)) this.#known.delete(id)
    }
  }
}
