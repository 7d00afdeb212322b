import type { StageEvent } from '../../shared/walkthrough/events.ts'
import type { LogRow } from '../../shared/walkthrough/log.ts'

export type Happening = 'mark' | 'move' | 'pane'
const kinds: Partial<Record<StageEvent['type'], Happening>> = {
  marks: 'mark', seek: 'move', play: 'move', stop: 'move', pane: 'pane', swap: 'pane', layout: 'pane', tie: 'pane', reference: 'pane', compare: 'pane',
}

/** What happens when, for the lanes under the waveform; of one kind at most one in each `every` milliseconds. */
export function happenings(rows: readonly LogRow[], every: number): { readonly atMs: number; readonly kind: Happening }[] {
  const found: { atMs: number; kind: Happening }[] = []
  const last: Partial<Record<Happening, number>> = {}
  for (const [atMs, event] of rows) {
    const kind = kinds[event.type]
    if (!kind || atMs - (last[kind] ?? -Infinity) < every) continue
    last[kind] = atMs
    found.push({ atMs, kind })
  }
  return found
}
