import type { ComponentType } from 'react'
import type { StageStore } from '../playback/stageStore.ts'
import { EmptyState } from '../ui/EmptyState.tsx'

/** Holds the room's place until it is built. */
export function BenchRoom({ recorder: _recorder }: { readonly recorder: ComponentType<{ readonly store: StageStore; readonly context: null; readonly onRecorded: (walkthroughId: string) => void }> }) {
  return <EmptyState title="The Bench is not here yet"><p>Clips can be taken in and paired in Arrivals meanwhile.</p></EmptyState>
}
