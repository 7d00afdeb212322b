import type { OriginalFrame, OriginalFrameRequest } from './originalFrame.ts'
import type { Probed } from './probe.ts'
import type { Remuxed, RemuxRequest } from './remux.ts'
import type { ReviewCopy, ReviewCopyRequest, TakeInProgress } from './reviewCopy.ts'
import type { Loudness, Normalised, NormaliseTarget } from './sound.ts'
import type { MediaErrorKind } from './mediaError.ts'

/** What the media process can be asked to do: the question and the answer of each. */
export interface MediaCalls {
  probe: { ask: { path: string }, answer: Probed }
  reviewCopy: { ask: Omit<ReviewCopyRequest, 'onProgress' | 'signal'>, answer: ReviewCopy }
  remux: { ask: Omit<RemuxRequest, 'onProgress' | 'signal'>, answer: Remuxed }
  originalFrame: { ask: OriginalFrameRequest & { pane: string }, answer: OriginalFrame }
  release: { ask: { path?: string }, answer: null }
  loudness: { ask: { path: string }, answer: Loudness }
  normaliseSpeech: { ask: { path: string, out: string, target: Partial<NormaliseTarget> }, answer: Normalised }
  usage: { ask: Record<never, never>, answer: MediaUsage }
}

/** What the media process uses: bytes of memory now, seconds of processor time since it began. */
export interface MediaUsage { memoryBytes: number, cpuSeconds: number }

export type MediaCallName = keyof MediaCalls

export type ToMedia =
  | { [Name in MediaCallName]: { id: number, call: Name, ask: MediaCalls[Name]['ask'] } }[MediaCallName]
  | { id: number, abort: true }

export type FromMedia =
  | { id: number, progress: TakeInProgress }
  | { id: number, answer: unknown }
  | { id: number, error: { kind: MediaErrorKind, path: string, detail: string } }
