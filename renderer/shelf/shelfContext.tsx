import { createContext, use } from 'react'
import { useStore } from 'zustand'
import type { Shelf } from './shelf.ts'
import type { ShelfState } from './shelfState.ts'

const Context = createContext<Shelf | null>(null)
export const ShelfProvider = Context.Provider

export function useShelf(): Shelf {
  const shelf = use(Context)
  if (!shelf) throw new Error('A part of the Shelf is used outside it.')
  return shelf
}
export const useShelfState = <T,>(select: (state: ShelfState) => T): T => useStore(useShelf().state, select)
