import { DeskError } from '../../shared/contract/errors.ts'
import type { StageClip } from '../../shared/walkthrough/stage.ts'
import { probe, type Probed } from '../media/probe.ts'
import { ClipFrames } from './clipFrames.ts'
import { FrameCache, type HeldFrame } from './frameCache.ts'

export interface HandoffClip {
  /** The original. */
  readonly path: string
  /** What probe() said of it, where that is known. */
  readonly index?: unknown
  /** Names its content: the same name, the same bytes. Left out, the file's size and date do. */
  readonly hash?: string
}

/** A clip whose frames are known. */
export interface ProbedClip extends HandoffClip {
  readonly index: Probed
}

/** The clips as they will be decoded; files whose index is not given are read through. Throws a DeskError or a MediaError that names the file. */
export async function probedClips(shown: Readonly<Record<string, StageClip>>, clips: Readonly<Record<string, HandoffClip>>, signal?: AbortSignal): Promise<Record<string, ProbedClip>> {
  const probed: Record<string, ProbedClip> = {}
  for (const [id, { frames }] of Object.entries(shown)) {
    const clip = clips[id]
    if (!clip) throw new DeskError('not-found', 'A clip that this walkthrough shows is not in the library any more.', { where: id, remedy: 'Take the clip in again.' })
    const index = (clip.index as Probed | undefined) ?? (await probe(clip.path, signal))
    const [found, expected] = [index.index.ticks.length, frames.ticks.length]
    if (found !== expected) throw new DeskError('bad-media', `A clip has ${found} frames where the walkthrough knows ${expected}.`, { where: clip.path, remedy: 'Take the clip in again.' })
    probed[id] = { ...clip, index }
  }
  return probed
}

export interface OpenClips extends AsyncDisposable {
  /** The caller lets go of the frame. */
  frame(clipId: string, frame: number, mirrored: boolean): Promise<HeldFrame>
  /** The largest scale that each clip is shown at from here on; what is not named is shown at its own size. */
  fit(scales: Readonly<Record<string, number>>): void
}

/** So many decoders are kept open: what a lesson shows at once and a few of those before. */
const mostOpen = 6

/** Opens clips when they are first asked for. @param here see ClipFrames */
export function openClips(clips: Readonly<Record<string, ProbedClip>>, here = false): OpenClips {
  const cache = new FrameCache()
  const opened = new Map<string, Promise<ClipFrames>>()
  let scales: Readonly<Record<string, number>> = {}
  const close = async (id: string): Promise<void> => {
    const clip = opened.get(id)
    opened.delete(id)
    await (await clip?.catch(() => null))?.[Symbol.asyncDispose]()
  }
  return {
    async frame(clipId, frame, mirrored) {
      let clip = opened.get(clipId)
      if (!clip) {
        const { path, index } = clips[clipId]!
        clip = ClipFrames.open(path, index, cache, here).then((frames) => {
          frames.fit(scales[clipId] ?? 1)
          return frames
        })
        clip.catch(() => {})
      }
      opened.delete(clipId)
      opened.set(clipId, clip)
      const found = (await clip).frame(frame, mirrored)
      while (opened.size > mostOpen) await close(opened.keys().next().value!)
      return found
    },
    fit(next) {
      scales = next
      for (const [id, clip] of opened) void clip.then((frames) => frames.fit(scales[id] ?? 1), () => {})
    },
    async [Symbol.asyncDispose]() {
      for (const id of opened.keys()) await close(id)
      cache[Symbol.dispose]()
    },
  }
}
