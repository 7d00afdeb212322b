import type { Clip } from '../../shared/contract/clip.ts'
import type { HandoffSettings } from '../../shared/contract/walkthrough.ts'
import type { Edits, Take } from '../../shared/walkthrough/edits.ts'
import type { Cleaned, CleanRequest } from '../media/cleanSound.ts'
import type { DemoKit } from './demo/kit.ts'

export interface Progress {
  /** 0 to 1. */
  readonly share: number
  /** What is being done, in words. */
  readonly step: string
}
export interface EngineOptions {
  readonly onProgress?: (progress: Progress) => void
  readonly signal?: AbortSignal
}

/** What is known of a file once it has been taken in. `index` leads from frames back into the file; plain data. */
export interface TakenIn<Index = unknown> {
  readonly facts: Pick<
    Clip,
    | 'width'
    | 'height'
    | 'frames'
    | 'captureRate'
    | 'captureRateBasis'
    | 'playRate'
    | 'hasSound'
    | 'hdr'
    | 'codec'
    | 'reviewWidth'
    | 'reviewHeight'
    | 'filmedAt'
  >
  readonly index: Index
}

/** One frame of an original, as planes. */
export interface OriginalFrame {
  /** I420: Y, U, V planes without padding. */
  readonly data: Uint8Array
  readonly width: number
  readonly height: number
  readonly range: 'limited' | 'full'
}

/** Reads and converts clips, in a process of its own. Errors are MediaErrors. */
export interface MediaEngine {
  /** Throws where a file is no clip that can be taken in, without decoding it. */
  inspect(path: string, options?: EngineOptions): Promise<void>
  /** Makes review.mp4, poster.jpg, strip.jpg, strip.json and, where there is sound, envelope.json in a folder that is there. */
  takeIn(path: string, folder: string, options?: EngineOptions): Promise<TakenIn>
  /** Writes a clip's picture and sound to `out` with an ending added, as they are, without any tags. */
  strip(path: string, out: string, options?: EngineOptions): Promise<{ readonly path: string; readonly ending: 'mp4' | 'mkv'; readonly bytes: number; readonly frames: Clip['frames'] }>
  /** Frame number `frame` of an original; `index` is what takeIn answered. */
  frame(path: string, index: unknown, frame: number, options?: EngineOptions): Promise<OriginalFrame>
  /** Lets go of a file, so that it can be deleted. */
  release(path?: string): Promise<void>
  close(): Promise<void>
}

export interface RenderClip {
  readonly path: string
  readonly frames: Clip['frames']
  /** What takeIn answered for this clip. */
  readonly index: unknown
  /** Of its content. */
  readonly hash: string
}
export interface RenderTake extends Take {
  /** The take's sound, a WAV file. */
  readonly soundPath: string
}
export interface RenderRequest {
  readonly takes: readonly RenderTake[]
  readonly edits: Edits
  readonly clips: Readonly<Record<string, RenderClip>>
  readonly settings: HandoffSettings
  readonly captions: readonly { readonly fromMs: number; readonly toMs: number; readonly text: string }[]
  /** Folder of finished parts, kept from render to render. */
  readonly segments: string
  /** File to write; it is not there yet. */
  readonly out: string
}
/** What a render tells besides the file. */
export interface Rendered {
  /** The encoder's quality; more than the usual 20 is coarser. */
  readonly crf: number
  readonly segments: number
  /** So many of them were there from before. */
  readonly reused: number
}
/** Renders a lesson to one video file. */
export type RenderEngine = (request: RenderRequest, options?: EngineOptions) => Promise<Rendered>

/** Makes a cleaned copy of a recording's sound, in a process of its own. */
export type CleanEngine = (request: CleanRequest, options?: EngineOptions) => Promise<Cleaned>

/** Films the demo kit into a folder. */
export type KitEngine = (folder: string, options?: EngineOptions) => Promise<DemoKit>

export interface Engines {
  readonly media: MediaEngine
  readonly render: RenderEngine
  readonly cleanSound: CleanEngine
  readonly kit: KitEngine
}
