import { createStore } from 'zustand/vanilla'
import type { Collection, ShelfItem, ShelfOrder, ShelfPage } from '../../shared/contract/shelf.ts'
import type { ShelfTerm } from '../../shared/shelf/query.ts'

export type ShelfSheet =
  | { readonly kind: 'collection'; readonly id: string | null; readonly keys: readonly string[] }
  | { readonly kind: 'gather'; readonly keys: readonly string[] }
  | { readonly kind: 'send'; readonly item: ShelfItem }

/** A step that can be taken back. */
export interface Step { readonly words: string; readonly back: () => Promise<unknown> }

export interface ShelfState {
  /** What stands in the box. */
  readonly typed: string
  /** Filters that were made chips. */
  readonly chips: readonly ShelfTerm[]
  readonly order: ShelfOrder
  readonly look: 'grid' | 'list'
  /** Null until the first answer is there. */
  readonly total: number | null
  /** Order and corrections of what is shown. */
  readonly shown: Pick<ShelfPage, 'order' | 'corrected'>
  /** Counts up when another page is there, and when all is another. */
  readonly changes: number
  readonly finds: number
  readonly fault: { readonly message: string; readonly remedy: string | null } | null
  /** Place that the keyboard is at. */
  readonly cursor: number
  /** Keys chosen, in the order in which they were. */
  readonly chosen: readonly string[]
  /** Those of them that are known in full; a choice of thousands is known by its keys alone. */
  readonly chosenItems: readonly ShelfItem[]
  readonly collections: readonly Collection[]
  readonly words: { readonly tags: readonly string[]; readonly clubs: readonly string[]; readonly students: readonly string[]; readonly total: number }
  readonly sheet: ShelfSheet | null
  readonly undo: readonly Step[]
}

export const noWords: ShelfState['words'] = { tags: [], clubs: [], students: [], total: 0 }

export const createShelfState = () => createStore<ShelfState>()(() => ({
  typed: '', chips: [], order: 'best', look: 'grid', total: null, shown: { order: 'newest', corrected: [] }, changes: 0, finds: 0, fault: null, cursor: 0,
  chosen: [], chosenItems: [], collections: [], words: noWords, sheet: null, undo: [],
}))
