import type { Edits, Take } from '../../shared/walkthrough/edits.ts'
import type { SentError } from '../desk/taskMessages.ts'
import type { ProbedClip } from './openClips.ts'
import type { PlannedSegment } from './segmentKey.ts'
import type { SegmentLook } from './segmentRender.ts'

/** What a worker is born with. */
export interface SegmentWork {
  readonly takes: readonly Take[]
  readonly edits: Edits
  readonly clips: Readonly<Record<string, ProbedClip>>
  readonly look: SegmentLook
  /** Two whole numbers shared by all: pictures done so far, and whether to stop. */
  readonly shared: SharedArrayBuffer
}
export interface ToSegmentWorker {
  readonly segment: PlannedSegment
  /** File to write. */
  readonly path: string
}
export type FromSegmentWorker = { readonly type: 'done' } | { readonly type: 'failed'; readonly error: SentError }

export const doneAt = 0
export const stopAt = 1
