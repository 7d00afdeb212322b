import type { Frame } from 'node-av'
import { paneViews, type PaneView } from '../../shared/picture/drawInstant.ts'
import type { Size } from '../../shared/picture/layout.ts'
import { paneBackground } from '../../shared/picture/palette.ts'
import type { Stage, StageClips } from '../../shared/walkthrough/stage.ts'
import type { HeldFrame } from './clipFrames.ts'
import { InkLayer } from './inkLayer.ts'
import { placePane, Scratch } from './placePane.ts'
import { copyPlanes, fillRect, newPicture, planesOf, yuvOfHex, type Planes } from './planes.ts'
import { Scalers } from './scalers.ts'

/** Where decoded frames come from, turned left for right where mirrored. The caller lets go of what it gets. */
export type FrameSource = (clipId: string, frame: number, mirrored: boolean) => Promise<HeldFrame>

/** What a stage looks like at one size. Keeps what did not change since the stage before. */
export class Composer implements Disposable {
  readonly #size: Size
  readonly #clips: StageClips
  readonly #source: FrameSource
  readonly #ink: InkLayer
  readonly #scalers = new Scalers()
  readonly #scratch = new Scratch()
  readonly #background = yuvOfHex(paneBackground)
  readonly #video: Frame
  readonly #videoPlanes: Planes
  /** Two that take turns: one may still be read by the encoder. */
  readonly #finished: readonly [Frame, Frame]
  readonly #finishedPlanes: readonly [Planes, Planes]
  #turn: 0 | 1 = 0
  #placed = new Map<number, string>()
  #layout = ''
  #begun = false
  /** How often each kind of work was done, for tests and measuring. */
  readonly counts = { placed: 0, inked: 0, composed: 0 }

  constructor(size: Size, clips: StageClips, source: FrameSource) {
    this.#size = size
    this.#clips = clips
    this.#source = source
    this.#ink = new InkLayer(size)
    this.#video = newPicture(size)
    this.#videoPlanes = planesOf(this.#video)
    this.#finished = [newPicture(size), newPicture(size)]
    this.#finishedPlanes = [planesOf(this.#finished[0]), planesOf(this.#finished[1])]
  }

  /**
   * The whole picture of a stage. The frame stays the composer's own; it holds still while the next one is composed, not
   * longer. The same frame is given again where nothing changed.
   */
  async compose(stage: Stage): Promise<Frame> {
    const overlay = { size: this.#size, stage, clips: this.#clips }
    const views = paneViews(overlay)
    const layout = views.map(({ pane, rect }) => [pane, rect.x, rect.y, rect.width, rect.height].join(' ')).join()
    const anew = layout !== this.#layout || !this.#begun
    if (anew) this.#placed.clear()
    const due = views.filter((view) => this.#placed.get(view.pane) !== keyOf(view))
    const frames = await Promise.all(due.map((view) => this.#fetch(view)))
    try {
      if (anew) fillRect(this.#videoPlanes, { x: 0, y: 0, ...this.#size }, this.#background)
      this.#layout = layout
      due.forEach((view, i) => this.#place(view, frames[i]!.frame))
    } finally {
      for (const held of frames) held[Symbol.dispose]()
    }
    const inked = this.#ink.update(overlay)
    if (inked) this.counts.inked++
    if (!inked && !anew && due.length === 0) return this.#finished[this.#turn]
    this.#begun = true
    this.#turn = this.#turn === 0 ? 1 : 0
    const planes = this.#finishedPlanes[this.#turn]
    copyPlanes(this.#videoPlanes, planes)
    if (!this.#ink.empty) this.#ink.lay(planes)
    this.counts.composed++
    return this.#finished[this.#turn]
  }

  /** Has the frames that a stage needs decoded ahead, into the source's cache. */
  async prepare(stage: Stage): Promise<void> {
    const views = paneViews({ size: this.#size, stage, clips: this.#clips })
    for (const held of await Promise.all(views.map((view) => this.#fetch(view)))) held[Symbol.dispose]()
  }

  #fetch = (view: PaneView): Promise<HeldFrame> => this.#source(view.clipId, view.frame, view.place.transform.a < 0)

  #place(view: PaneView, frame: Frame): void {
    const clip = this.#clips[view.clipId]!
    const before = this.#placed.get(view.pane)
    const moved = before === undefined || before.slice(before.indexOf(' @ ')) !== keyOf(view).slice(keyOf(view).indexOf(' @ '))
    placePane(this.#videoPlanes, {
      picture: planesOf(frame), imageSize: clip, transform: view.place.transform, rect: view.rect, background: moved ? this.#background : null,
    }, this.#scalers, this.#scratch)
    this.#placed.set(view.pane, keyOf(view))
    this.counts.placed++
  }

  [Symbol.dispose](): void {
    this.#scalers[Symbol.dispose]()
    this.#video.free()
    for (const frame of this.#finished) frame.free()
  }
}

function keyOf({ clipId, frame, place }: PaneView): string {
  const { a, d, e, f } = place.transform
  return `${clipId} ${frame} @ ${clipId} ${a} ${d} ${e} ${f}`
}
