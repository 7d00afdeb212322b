import type { Desk } from '../../shared/contract/operations.ts'
import type { ShelfItem, ShelfOrder, ShelfPage } from '../../shared/contract/shelf.ts'
import { Pages as ListPages, type PagesHeard as Heard } from '../ui/pages.ts'

export const pageSize = 60
export const mostPages = 12

export interface ShelfQuery { readonly text: string; readonly order: ShelfOrder }
export type PagesHeard = Heard<ShelfQuery, ShelfPage>

/** What a search finds, by pages. */
export class Pages extends ListPages<ShelfQuery, ShelfItem, ShelfPage> {
  constructor(desk: Pick<Desk, 'call'>, heard: PagesHeard) {
    super({ pageSize, most: mostPages, query: { text: '', order: 'newest' }, fetch: ({ text, order }, offset, limit) => desk.call('shelf.search', { text, order, offset, limit }) }, heard)
  }

  /** What is kept of these keys. */
  known(keys: readonly string[]): readonly ShelfItem[] {
    const wanted = new Set(keys)
    return this.all.filter(({ key }) => wanted.has(key))
  }

  /** Puts changed items in the place of the old ones, without asking. */
  put(items: readonly ShelfItem[]): void {
    const changed = new Map(items.map((item) => [item.key, item]))
    this.change((item) => changed.get(item.key) ?? item)
  }
}
