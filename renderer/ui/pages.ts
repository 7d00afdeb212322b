/** One page of a list, and how long the whole list is. */
export interface Page<T> { readonly items: readonly T[]; readonly total: number }

export interface PagesHeard<Q, P> {
  /** The pages asked for with a query are there, here the first of them; what was found before gives way. */
  found(query: Q, page: P): void
  /** Another page of the same query is there. */
  more(): void
  failed(error: unknown): void
}

export interface PagesOptions<Q, P> {
  readonly pageSize: number
  /** Pages kept: what is in sight, and some way either side. Memory stays the same however long the list is. */
  readonly most: number
  readonly query: Q
  fetch(query: Q, offset: number, limit: number): Promise<P>
}

/** A long list on the desk, by pages, the least recently looked at forgotten first. The newest query wins. */
export class Pages<Q, T, P extends Page<T> = Page<T>> {
  readonly #options: PagesOptions<Q, P>
  readonly #heard: PagesHeard<Q, P>
  readonly #pages = new Map<number, readonly T[]>()
  readonly #asked = new Set<number>()
  #query: Q
  #serial = 0

  constructor(options: PagesOptions<Q, P>, heard: PagesHeard<Q, P>) {
    this.#options = options
    this.#heard = heard
    this.#query = options.query
  }

  /** Asks anew, also for the same query, for the places from `first` to `last` and for `others`; until the answer is there the old finds stay. */
  async ask(query: Q, first = 0, last = first, others: readonly number[] = []): Promise<void> {
    const serial = ++this.#serial
    try {
      const numbers = [...new Set([...this.#numbers(first, last), ...others.flatMap((place) => this.#numbers(place, place))])]
      const answers = await Promise.all(numbers.map((page) => this.#fetch(query, page)))
      if (serial !== this.#serial) return
      this.#query = query
      this.#pages.clear()
      this.#asked.clear()
      numbers.forEach((page, i) => this.#pages.set(page, answers[i]!.items))
      this.#heard.found(query, answers[0]!)
    } catch (error) {
      if (serial === this.#serial) this.#heard.failed(error)
    }
  }

  /** The item at a place; undefined where its page is not there (yet). */
  at(index: number): T | undefined {
    const { pageSize } = this.#options
    return this.#pages.get(Math.floor(index / pageSize))?.[index % pageSize]
  }

  get all(): readonly T[] {
    return [...this.#pages.values()].flat()
  }

  /** Fetches what is missing of the places from `first` to `last`, both within. */
  need(first: number, last: number): void {
    for (const page of this.#numbers(first, last)) {
      const here = this.#pages.get(page)
      if (here) {
        // The latest looked at stands last.
        this.#pages.delete(page)
        this.#pages.set(page, here)
      } else if (!this.#asked.has(page)) void this.#load(page)
    }
  }

  /** Puts others in the place of some of the items, without asking. */
  change(make: (item: T) => T): void {
    for (const [page, list] of this.#pages) this.#pages.set(page, list.map(make))
    this.#heard.more()
  }

  /** Pages kept now. */
  get kept(): number {
    return this.#pages.size
  }

  /** What is still on its way is heard of no more. */
  stop(): void {
    this.#serial++
    this.#asked.clear()
  }

  #numbers(first: number, last: number): number[] {
    const { pageSize } = this.#options
    const from = Math.floor(first / pageSize)
    return Array.from({ length: Math.floor(last / pageSize) - from + 1 }, (_, i) => from + i)
  }

  async #load(page: number): Promise<void> {
    const serial = this.#serial
    this.#asked.add(page)
    try {
      const { items } = await this.#fetch(this.#query, page)
      if (serial !== this.#serial) return
      this.#pages.set(page, items)
      for (const old of this.#pages.keys()) {
        if (this.#pages.size <= this.#options.most) break
        this.#pages.delete(old)
      }
      this.#heard.more()
    } catch (error) {
      if (serial === this.#serial) this.#heard.failed(error)
    } finally {
      if (serial === this.#serial) this.#asked.delete(page)
    }
  }

  #fetch(query: Q, page: number): Promise<P> {
    const { pageSize, fetch } = this.#options
    return fetch(query, page * pageSize, pageSize)
  }
}
