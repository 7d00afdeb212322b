import { createContext, use } from 'react'
import { useStore } from 'zustand'
import type { CompareState } from './compareState.ts'
import type { Comparison } from './comparison.ts'

const ComparisonContext = createContext<Comparison | null>(null)
export const ComparisonProvider = ComparisonContext.Provider

export function useComparison(): Comparison {
  const comparison = use(ComparisonContext)
  if (!comparison) throw new Error('A part of the comparison is used outside it.')
  return comparison
}
export const useCompare = <T,>(select: (state: CompareState) => T): T => useStore(useComparison().state, select)
