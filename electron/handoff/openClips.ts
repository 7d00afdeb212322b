import { DeskError } from '../../shared/contract/errors.ts'
import { paneViews } from '../../shared/picture/drawInstant.ts'
import type { Size } from '../../shared/picture/layout.ts'
import { applyEvent } from '../../shared/walkthrough/events.ts'
import type { Log } from '../../shared/walkthrough/log.ts'
import type { Stage } from '../../shared/walkthrough/stage.ts'
import { ClipFrames, FrameCache, type HeldFrame } from './clipFrames.ts'

export interface HandoffClip {
  /** The original. */
  readonly path: string
}

export interface OpenClips extends AsyncDisposable {
  /** The caller lets go of the frame. */
  frame(clipId: string, frame: number, mirrored: boolean): Promise<HeldFrame>
}

/** The largest scale, image space to canvas, at which the log shows each clip in a picture of this size. */
export function largestScales(log: Log, size: Size): Map<string, number> {
  const largest = new Map<string, number>()
  const look = (stage: Stage): void => {
    for (const { clipId, place } of paneViews({ size, stage, clips: log.header.clips })) {
      largest.set(clipId, Math.max(largest.get(clipId) ?? 0, place.transform.d))
    }
  }
  let stage = log.header.initial
  look(stage)
  for (const [at, event] of log.rows) {
    stage = applyEvent(stage, event, at, log.header.clips)
    if (event.type === 'pane' || event.type === 'layout' || event.type === 'swap' || event.type === 'stage') look(stage)
  }
  return largest
}

/** Opens every clip that the log shows. Throws a MediaError that names the file, or a DeskError for one that is not given. */
export async function openClips(log: Log, clips: Readonly<Record<string, HandoffClip>>, size: Size, signal?: AbortSignal): Promise<OpenClips> {
  const cache = new FrameCache()
  const opened = new Map<string, ClipFrames>()
  const close = async (): Promise<void> => {
    for (const clip of opened.values()) await clip[Symbol.asyncDispose]()
    cache[Symbol.dispose]()
  }
  try {
    for (const [id, scale] of largestScales(log, size)) {
      const clip = clips[id]
      if (!clip) throw new DeskError('not-found', 'A clip that this walkthrough shows is not in the library any more.', { where: id, remedy: 'Take the clip in again.' })
      const frames = await ClipFrames.open(clip.path, scale, cache, { threads: 1, ...(signal ? { signal } : {}) })
      opened.set(id, frames)
      const expected = log.header.clips[id]!.frames.ticks.length
      if (frames.count !== expected) throw new DeskError('bad-media', `A clip has ${frames.count} frames where the walkthrough knows ${expected}.`, { where: clip.path, remedy: 'Take the clip in again.' })
    }
  } catch (error) {
    await close()
    throw error
  }
  return { frame: (clipId, frame, mirrored) => opened.get(clipId)!.frame(frame, mirrored), [Symbol.asyncDispose]: close }
}
