import { stat } from 'node:fs/promises'
import type { Size } from '../../shared/picture/layout.ts'
import type { Edits, Take } from '../../shared/walkthrough/edits.ts'
import { sameBits } from '../media/encoders.ts'
import { handoffCrf, handoffPreset } from './handoffVideo.ts'
import type { LessonFrames } from './lessonFrames.ts'
import type { ProbedClip } from './openClips.ts'
import { programDigest } from './programDigest.ts'
import { SegmentKeys, type PlannedSegment } from './segmentKey.ts'
import { renderSegments } from './segmentPool.ts'
import type { SegmentStore } from './segmentStore.ts'
import { SizeGoal } from './sizeGoal.ts'

export interface PictureParts {
  readonly takes: readonly Take[]
  readonly edits: Edits
  readonly frames: LessonFrames
  readonly clips: Readonly<Record<string, ProbedClip>>
  readonly size: Size
  readonly fps: number
  readonly store: SegmentStore
  readonly workers: number
}

export interface MakeOptions {
  /** The whole file's, or null where its size does not matter. */
  readonly goalBytes: number | null
  readonly soundBytes: () => Promise<number>
  readonly signal?: AbortSignal | undefined
  /** @param part of the pictures, 0 to 1 */
  readonly onProgress: (part: number, framesDone: number, step: string) => void
}

export interface MadePictures {
  readonly segments: readonly PlannedSegment[]
  readonly reused: number
  readonly crf: number
}

/** Makes all segments of a lesson that are not there yet; where the file may only be so large, again and coarser until it is not. */
export class PictureMaker {
  readonly #parts: PictureParts

  constructor(parts: PictureParts) {
    this.#parts = parts
  }

  async make(options: MakeOptions): Promise<MadePictures> {
    const { goalBytes } = options
    const content = await contentNames(this.#parts.clips)
    if (goalBytes === null) return this.#pass(handoffCrf, content, options, null)
    const goal = new SizeGoal(goalBytes, await options.soundBytes(), this.#parts.frames.count, this.#parts.fps)
    for (;;) {
      const made = await this.#pass(goal.crf, content, options, goal)
      if (goal.met(await this.#bytes(made.segments))) return made
    }
  }

  async #pass(crf: number, content: Readonly<Record<string, string>>, { signal, onProgress }: MakeOptions, goal: SizeGoal | null): Promise<MadePictures> {
    const { takes, edits, frames, clips, size, fps, store, workers } = this.#parts
    const keys = new SegmentKeys({ size, content, made: JSON.stringify([programDigest(), sameBits, handoffPreset, fps, crf]) })
    const segments = frames.segments().map((segment) => keys.plan(frames, segment))
    const todo: PlannedSegment[] = []
    const seen = new Set<string>()
    for (const segment of segments) {
      if (seen.has(segment.key)) continue
      seen.add(segment.key)
      if (!(await store.has(segment.key)) || !(await store.read(segment.key))) todo.push(segment)
    }
    const before = frames.count - todo.reduce((sum, { count }) => sum + count, 0)
    const step = goal?.step ?? 'Drawing and encoding'
    await renderSegments(todo, { takes, edits, clips, look: { size, fps, crf } }, {
      workers, signal, pathOf: ({ key }) => store.pathOf(key),
      onFrames: (done) => onProgress((before + done) / frames.count, before + done, step),
      onSegment: goal ? async ({ key, count }) => goal.outgrown(await store.size(key), count) : undefined,
    })
    return { segments, reused: segments.length - todo.length, crf }
  }

  async #bytes(segments: readonly PlannedSegment[]): Promise<number> {
    let sum = 0
    for (const { key } of segments) sum += await this.#parts.store.size(key).catch(() => 0)
    return sum
  }
}

/** A name for each clip's content: its hash where that is known, else what the file system says. */
async function contentNames(clips: Readonly<Record<string, ProbedClip>>): Promise<Record<string, string>> {
  const names: Record<string, string> = {}
  for (const [id, { path, hash }] of Object.entries(clips)) {
    if (hash !== undefined) names[id] = hash
    else {
      const { size, mtimeMs } = await stat(path)
      names[id] = `${path} ${size} ${mtimeMs}`
    }
  }
  return names
}
