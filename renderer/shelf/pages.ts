import type { Desk } from '../../shared/contract/operations.ts'
import type { ShelfItem, ShelfOrder, ShelfPage } from '../../shared/contract/shelf.ts'

export const pageSize = 60
/** Pages kept: what is in sight, and some way either side. Memory stays the same however long the list is. */
export const mostPages = 12

export interface ShelfQuery { readonly text: string; readonly order: ShelfOrder }

export interface PagesHeard {
  /** The first page of a query is there; what was found before gives way. */
  found(query: ShelfQuery, page: ShelfPage): void
  /** Another page of the same query is there. */
  more(): void
  failed(error: unknown): void
}

/** What a search finds, by pages, the least recently looked at forgotten first. The newest query wins. */
export class Pages {
  readonly #desk: Pick<Desk, 'call'>
  readonly #heard: PagesHeard
  readonly #pages = new Map<number, readonly ShelfItem[]>()
  readonly #asked = new Set<number>()
  #query: ShelfQuery = { text: '', order: 'newest' }
  #serial = 0

  constructor(desk: Pick<Desk, 'call'>, heard: PagesHeard) {
    this.#desk = desk
    this.#heard = heard
  }

  /** Asks anew, also for the same query; until the answer is there the old finds stay. */
  async ask(query: ShelfQuery, first = 0): Promise<void> {
    const serial = ++this.#serial
    try {
      const page = Math.floor(first / pageSize)
      const answer = await this.#fetch(query, page)
      if (serial !== this.#serial) return
      this.#query = query
      this.#pages.clear()
      this.#asked.clear()
      this.#pages.set(page, answer.items)
      this.#heard.found(query, answer)
    } catch (error) {
      if (serial === this.#serial) this.#heard.failed(error)
    }
  }

  /** The item at a place; undefined where its page is not there (yet). */
  at(index: number): ShelfItem | undefined {
    return this.#pages.get(Math.floor(index / pageSize))?.[index % pageSize]
  }

  /** What is kept of these keys. */
  known(keys: readonly string[]): readonly ShelfItem[] {
    const wanted = new Set(keys)
    return [...this.#pages.values()].flat().filter(({ key }) => wanted.has(key))
  }

  /** Fetches what is missing of the places from `first` to `last`, both within. */
  need(first: number, last: number): void {
    for (let page = Math.floor(first / pageSize); page <= Math.floor(last / pageSize); page++) {
      const here = this.#pages.get(page)
      if (here) {
        // The latest looked at stands last.
        this.#pages.delete(page)
        this.#pages.set(page, here)
      } else if (!this.#asked.has(page)) void this.#load(page)
    }
  }

  /** Puts changed items in the place of the old ones, without asking. */
  put(items: readonly ShelfItem[]): void {
    const changed = new Map(items.map((item) => [item.key, item]))
    for (const [page, list] of this.#pages) if (list.some(({ key }) => changed.has(key))) this.#pages.set(page, list.map((item) => changed.get(item.key) ?? item))
    this.#heard.more()
  }

  get kept(): number {
    return this.#pages.size
  }

  async #load(page: number): Promise<void> {
    const serial = this.#serial
    this.#asked.add(page)
    try {
      const { items } = await this.#fetch(this.#query, page)
      if (serial !== this.#serial) return
      this.#pages.set(page, items)
      for (const old of this.#pages.keys()) {
        if (this.#pages.size <= mostPages) break
        this.#pages.delete(old)
      }
      this.#heard.more()
    } catch (error) {
      if (serial === this.#serial) this.#heard.failed(error)
    } finally {
      if (serial === this.#serial) this.#asked.delete(page)
    }
  }

  #fetch({ text, order }: ShelfQuery, page: number): Promise<ShelfPage> {
    return this.#desk.call('shelf.search', { text, order, offset: page * pageSize, limit: pageSize })
  }
}
