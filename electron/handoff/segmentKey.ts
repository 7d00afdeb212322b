import { createHash, type Hash } from 'node:crypto'
import { marksAt } from '../../shared/markup/mark.ts'
import type { Size } from '../../shared/picture/layout.ts'
import { paneViews, referenceViews, type PaneView } from '../../shared/picture/views.ts'
import { tickOf } from '../../shared/walkthrough/motion.ts'
import type { Instant } from '../../shared/walkthrough/programme.ts'
import type { Stage, StageClips } from '../../shared/walkthrough/stage.ts'
import type { LessonFrames, Segment } from './lessonFrames.ts'

/** A segment, what it needs, and a name for what it will look like. */
export interface PlannedSegment extends Segment {
  /** The same for the same pixels made by the same program with the same settings; else another. */
  readonly key: string
  /** The largest scale, image space to canvas, that each clip is shown at in it. */
  readonly scales: Readonly<Record<string, number>>
}

export interface KeyOptions {
  readonly size: Size
  /** All else that pixels and bits depend on: the program, its libraries, the encoder's settings. */
  readonly made: string
  /** A name for each clip's content. */
  readonly content: Readonly<Record<string, string>>
}

/** What of a stage is seen by way of the views, or is not seen at all; everything else of it counts as it is. */
const bySight = new Set(['panes', 'tie', 'motion', 'marks', 'draft', 'pointer', 'references'])

/** Digests of values; those of objects are worked out once, for records are never changed. */
class Digests {
  readonly #known = new WeakMap<object, string>()

  of(value: unknown): string {
    if (typeof value !== 'object' || value === null) return JSON.stringify(value) ?? 'undefined'
    let digest = this.#known.get(value)
    if (digest === undefined) this.#known.set(value, (digest = createHash('sha1').update(JSON.stringify(value)).digest('base64')))
    return digest
  }
}

/** Says of every segment of a lesson what it depends on. Pure in its arguments. */
export class SegmentKeys {
  readonly #options: KeyOptions
  readonly #digests = new Digests()

  constructor(options: KeyOptions) {
    this.#options = options
  }

  plan(frames: LessonFrames, segment: Segment): PlannedSegment {
    const { size, made } = this.#options
    const hash = createHash('sha256').update(JSON.stringify([made, size.width, size.height, segment.count]))
    const scales: Record<string, number> = {}
    let before: unknown[] = []
    for (let n = 0; n < segment.count; n++) {
      const seen = this.#seen(frames.at(segment.first + n), scales)
      // A picture like the one before is one letter more.
      if (seen.length === before.length && seen.every((part, i) => part === before[i])) hash.update('=')
      else this.#put(hash, seen)
      before = seen
    }
    return { ...segment, key: hash.digest('hex').slice(0, 40), scales }
  }

  #put(hash: Hash, seen: readonly unknown[]): void {
    hash.update(`\n${seen.map((part) => this.#digests.of(part)).join(' ')}`)
  }

  /** Everything that one picture's pixels depend on; records stand for themselves. */
  #seen(instant: Instant, scales: Record<string, number>): unknown[] {
    if (instant.kind === 'card') return ['card', instant.card.title, JSON.stringify(instant.card.lines)]
    const { stage, clips } = instant
    const overlay = { size: this.#options.size, stage, clips }
    const parts: unknown[] = ['stage', stage.draft, stage.pointer]
    for (const name of Object.keys(stage).sort()) if (!bySight.has(name)) parts.push(name, stage[name as keyof Stage])
    for (const view of paneViews(overlay)) this.#view(parts, view, clips, stage, scales)
    for (const view of referenceViews(overlay)) {
      this.#view(parts, view, clips, stage, scales)
      parts.push('of', view.reference, view.own.frame)
    }
    return parts
  }

  #view(parts: unknown[], { pane, rect, clipId, frame, place }: PaneView, clips: StageClips, stage: Stage, scales: Record<string, number>): void {
    const { a, b, c, d, e, f } = place.transform
    const clip = clips[clipId]!
    scales[clipId] = Math.max(scales[clipId] ?? 0, Math.hypot(c, d))
    parts.push(pane, rect.x, rect.y, rect.width, rect.height, clip, this.#options.content[clipId], frame, a, b, c, d, e, f)
    for (const mark of marksAt(stage.marks, clipId, tickOf(clip.frames, frame))) parts.push(mark)
  }
}
