/**
 * What the page and the decoder's worker say to each other. Frames are named by their place in the frame index,
 * never by a time: the worker decodes packet i, and packet i is frame i.
 */
import type { Picture } from './sharedPicture.ts'

/** Why a clip, or one frame of it, cannot be shown. */
export type PlaybackErrorKind =
  /** The review copy could not be fetched or is not a file that can be read. */
  | 'cannot-read'
  /** The review copy does not hold one packet for each entry of the frame index, in order. */
  | 'index-mismatch'
  /** This computer has no decoder for the review copy. */
  | 'not-decodable'
  /** The decoder failed, was started again, and failed again. */
  | 'decoder-failed'
  /** One frame (and what hangs on it) is damaged; the rest of the clip plays. */
  | 'frame-damaged'

export interface PlaybackProblem {
  readonly kind: PlaybackErrorKind
  /** One sentence that says what happened and what to do. */
  readonly message: string
  /** The damaged frame, where one is to blame. */
  readonly frame: number | null
}

export class PlaybackError extends Error {
  readonly kind: PlaybackErrorKind
  readonly frame: number | null
  constructor({ kind, message, frame }: PlaybackProblem) {
    super(message)
    this.name = 'PlaybackError'
    this.kind = kind
    this.frame = frame
  }

  toProblem(): PlaybackProblem {
    return { kind: this.kind, message: this.message, frame: this.frame }
  }
}

/** What a review copy turned out to be. */
export interface OpenedCopy {
  readonly frames: number
  readonly width: number
  readonly height: number
  /** Every frame stands alone. */
  readonly allKeys: boolean
  /** How long the index of packets took, in milliseconds. */
  readonly indexMs: number
}

/** Device pixels. */
export interface PictureSize { readonly width: number, readonly height: number }

/** Counters of one worker, for measuring. Bytes are of decoded pictures the worker holds. */
export interface DecoderStats {
  readonly decoded: number
  readonly restarts: number
  readonly cachedFrames: number
  readonly cachedBytes: number
  readonly peakBytes: number
  readonly budgetBytes: number
}

export type ToWorker =
  /** @param frames entries of the clip's frame index; the copy must hold as many packets */
  | { readonly type: 'open', readonly url: string, readonly frames: number, readonly budgetBytes: number }
  /** Frame `index` is wanted now, then those of `ahead` in their order. A later want replaces this one. */
  | { readonly type: 'want', readonly serial: number, readonly index: number, readonly ahead: readonly number[] }
  /** Frames are to come made as small as they are drawn, or whole (null). Those sent before are sent again where still wanted. */
  | { readonly type: 'size', readonly size: PictureSize | null }
  | { readonly type: 'stats', readonly reply: number }
  | { readonly type: 'dispose' }

export type FromWorker =
  | { readonly type: 'opened', readonly copy: OpenedCopy }
  /** `serial` is of the newest want that asked for this frame; the receiver owns the frame and must close it. */
  | { readonly type: 'frame', readonly serial: number, readonly index: number, readonly frame: Picture }
  | { readonly type: 'stats', readonly reply: number, readonly stats: DecoderStats }
  | { readonly type: 'problem', readonly problem: PlaybackProblem, readonly fatal: boolean }
  | { readonly type: 'disposed' }
