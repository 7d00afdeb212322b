import { FrameSource } from './frameSource.ts'

/** A clip that may soon be shown, and the frame it would show first. */
export interface WarmClip {
  readonly id: string
  readonly url: string
  /** Entries of its frame index. */
  readonly frames: number
  readonly first: number
}

/** Clips opened before they are asked for, with their first frame decoded: those that the coach's choice rests on. */
export class WarmSources {
  readonly #held = new Map<string, FrameSource>()
  readonly #make: (clip: WarmClip) => FrameSource

  constructor(make: (clip: WarmClip) => FrameSource = ({ url, frames }) => new FrameSource({ url, frames })) {
    this.#make = make
  }

  /** Holds these and no others. */
  hold(clips: readonly WarmClip[]): void {
    for (const [id, source] of this.#held) {
      if (clips.some((clip) => clip.id === id)) continue
      source.dispose()
      this.#held.delete(id)
    }
    for (const clip of clips) {
      const source = this.#held.get(clip.id) ?? this.#make(clip)
      this.#held.set(clip.id, source)
      source.want(clip.first, [])
    }
  }

  /** Hands a clip's source over for good; null where it is not held, or could not be opened. */
  take(id: string, frames: number): FrameSource | null {
    const source = this.#held.get(id)
    if (!source) return null
    this.#held.delete(id)
    if (source.frames === frames && !source.failed) return source
    source.dispose()
    return null
  }

  dispose(): void {
    this.hold([])
  }
}
