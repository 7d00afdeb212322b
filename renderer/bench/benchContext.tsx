import { createContext, use, useEffect } from 'react'
import { useStore } from 'zustand'
import type { TransportState } from '../playback/index.ts'
import type { Bench } from './bench.ts'
import type { Hands } from './benchKeys.ts'
import type { BenchState } from './benchState.ts'
import type { Drawing } from './drawing.ts'
import type { Opening } from './opening.ts'

/** What stands behind the room, outside React. */
export interface BenchParts {
  readonly bench: Bench
  readonly drawing: Drawing
  readonly opening: Opening
  readonly hands: Hands
}

const PartsContext = createContext<BenchParts | null>(null)
export const BenchProvider = PartsContext.Provider

export function useParts(): BenchParts {
  const parts = use(PartsContext)
  if (!parts) throw new Error('A part of the Bench is used outside it.')
  return parts
}
export const useBench = <T,>(select: (state: BenchState) => T): T => useStore(useParts().bench.state, select)
export const useTransport = <T,>(select: (state: TransportState) => T): T => useStore(useParts().bench.transport.state, select)

/** What a test may look at from outside: it puts an empty object on the window before the page loads. */
interface TestHandle { bench?: Bench; renders?: number }
const testHandle = (): TestHandle | undefined => (globalThis as { crossbearingTest?: TestHandle }).crossbearingTest

export function tellTest(bench: Bench): void {
  const handle = testHandle()
  if (handle) handle.bench = bench
}

/** Counts renderings of the Bench's parts where a test asks for it: scrubbing must cause none. */
export function useRenderCount(): void {
  useEffect(() => {
    const handle = testHandle()
    if (handle) handle.renders = (handle.renders ?? 0) + 1
  })
}
