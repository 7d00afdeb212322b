import type { Frame } from 'node-av'
import { paneViews, type PaneView } from '../../shared/picture/drawInstant.ts'
import type { Size } from '../../shared/picture/layout.ts'
import { paneBackground } from '../../shared/picture/palette.ts'
import type { Stage, StageClips } from '../../shared/walkthrough/stage.ts'
import type { HeldFrame } from './clipFrames.ts'
import { Covered } from './covered.ts'
import { InkLayer } from './inkLayer.ts'
import { placePane } from './placePane.ts'
import { fillRect, yuvOfHex } from './planes.ts'
import { Scalers } from './scalers.ts'
import { freePicture, Scratch, scratchPicture, type ScratchPicture } from './scratch.ts'

/** Where decoded frames come from, turned left for right where mirrored. The caller lets go of what it gets. */
export type FrameSource = (clipId: string, frame: number, mirrored: boolean) => Promise<HeldFrame>

/** One of the pictures that are composed in turn, and what is on it. */
interface Page extends ScratchPicture {
  readonly covered: Covered
  layout: string
  /** What each pane shows, by `viewKey`. */
  readonly placed: Map<number, string>
}

/** How many pictures may be in use, the one just composed among them, while the next is composed. */
export const heldPictures = 2

/**
 * What a stage looks like at one size. Some pictures take turns, for those before may still be waiting for the encoder; on
 * each only what has changed since it was last composed is done anew: ink is lifted, panes are placed, ink is laid.
 */
export class Composer implements Disposable {
  readonly #size: Size
  readonly #clips: StageClips
  readonly #source: FrameSource
  readonly #ink: InkLayer
  readonly #scalers = new Scalers()
  readonly #scratch = new Scratch()
  readonly #background = yuvOfHex(paneBackground)
  /** The one just composed is the last, the one composed longest ago the first. */
  readonly #pages: Page[]
  /** How often each kind of work was done, for tests and measuring. */
  readonly counts = { placed: 0, inked: 0, composed: 0 }

  constructor(size: Size, clips: StageClips, source: FrameSource) {
    this.#size = size
    this.#clips = clips
    this.#source = source
    this.#ink = new InkLayer(size)
    this.#pages = Array.from({ length: heldPictures + 1 }, () => ({ ...scratchPicture(size), covered: new Covered(), layout: '', placed: new Map() }))
  }

  /**
   * The whole picture of a stage. The frame stays the composer's own; it holds still while the next `heldPictures` are
   * composed, not longer. The same frame is given again where nothing changed.
   */
  async compose(stage: Stage): Promise<Frame> {
    const overlay = { size: this.#size, stage, clips: this.#clips }
    const views = paneViews(overlay)
    const layout = `laid out ${views.map(({ pane, rect }) => [pane, rect.x, rect.y, rect.width, rect.height].join(' ')).join()}`
    const inked = this.#ink.update(overlay)
    if (inked) this.counts.inked++
    const shown = this.#pages[heldPictures]!
    if (!inked && layout === shown.layout && views.every((view) => shown.placed.get(view.pane) === viewKey(view))) return shown.frame
    const page = this.#pages[0]!
    if (layout !== page.layout) page.placed.clear()
    const due = views.filter((view) => page.placed.get(view.pane) !== viewKey(view))
    const frames = await Promise.all(due.map((view) => this.#fetch(view)))
    try {
      page.covered.lift(page.planes)
      if (layout !== page.layout) fillRect(page.planes, { x: 0, y: 0, ...this.#size }, this.#background)
      page.layout = layout
      due.forEach((view, i) => this.#place(page, view, frames[i]!.frame))
    } finally {
      for (const held of frames) held[Symbol.dispose]()
    }
    await page.windows.prepare()
    await this.#scratch.prepareWindows()
    if (!this.#ink.empty) this.#ink.lay(page.planes, page.covered)
    this.#pages.push(this.#pages.shift()!)
    this.counts.composed++
    return page.frame
  }

  /** Has the frames that a stage needs decoded ahead, into the source's cache. */
  async prepare(stage: Stage): Promise<void> {
    const views = paneViews({ size: this.#size, stage, clips: this.#clips })
    for (const held of await Promise.all(views.map((view) => this.#fetch(view)))) held[Symbol.dispose]()
  }

  #fetch = (view: PaneView): Promise<HeldFrame> => this.#source(view.clipId, view.frame, view.place.transform.a < 0)

  #place(page: Page, view: PaneView, picture: Frame): void {
    // Where only the picture moves on, its bars are there already.
    const stays = page.placed.get(view.pane)?.endsWith(placeKey(view)) ?? false
    placePane(page.planes, {
      picture, imageSize: this.#clips[view.clipId]!, transform: view.place.transform, rect: view.rect, background: stays ? null : this.#background,
    }, this.#scalers, this.#scratch, page.windows)
    page.placed.set(view.pane, viewKey(view))
    this.counts.placed++
  }

  [Symbol.dispose](): void {
    this.#scalers[Symbol.dispose]()
    this.#scratch[Symbol.dispose]()
    for (const page of this.#pages) freePicture(page)
  }
}

const placeKey = ({ clipId, place: { transform: { a, d, e, f } } }: PaneView): string => ` @ ${clipId} ${a} ${d} ${e} ${f}`

const viewKey = (view: PaneView): string => `${view.clipId} ${view.frame}${placeKey(view)}`
