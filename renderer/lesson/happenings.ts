import type { StageEvent } from '../../shared/walkthrough/events.ts'
import type { Log } from '../../shared/walkthrough/log.ts'

export interface Chapter {
  readonly atMs: number
  readonly title: string
}

/** Where chapters begin, in order; one without a title is numbered. */
export function chapters(log: Log): Chapter[] {
  return log.rows.flatMap(([atMs, event]) => (event.type === 'chapter' ? [{ atMs, title: event.title }] : [])).map(({ atMs, title }, i) => ({ atMs, title: title || `Chapter ${i + 1}` }))
}

export type Happening = 'mark' | 'move' | 'pane'
const kinds: Partial<Record<StageEvent['type'], Happening>> = {
  marks: 'mark', seek: 'move', play: 'move', stop: 'move', pane: 'pane', swap: 'pane', layout: 'pane', tie: 'pane', reference: 'pane', compare: 'pane',
}

/** What happens when, for the strip under the waveform; of one kind at most one in each `every` milliseconds. */
export function happenings(log: Log, every: number): { readonly atMs: number; readonly kind: Happening }[] {
  const found: { atMs: number; kind: Happening }[] = []
  const last: Partial<Record<Happening, number>> = {}
  for (const [atMs, event] of log.rows) {
    const kind = kinds[event.type]
    if (!kind || atMs - (last[kind] ?? -Infinity) < every) continue
    last[kind] = atMs
    found.push({ atMs, kind })
  }
  return found
}
