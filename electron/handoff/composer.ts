import type { Frame } from 'node-av'
import type { CardPiece } from '../../shared/walkthrough/edits.ts'
import type { Instant } from '../../shared/walkthrough/programme.ts'
import { paneViews, type Overlay, type PaneView } from '../../shared/picture/views.ts'
import type { Size } from '../../shared/picture/layout.ts'
import { paneBackground } from '../../shared/picture/palette.ts'
import { CardPage } from './cardPage.ts'
import { Covered } from './covered.ts'
import type { HeldFrame } from './frameCache.ts'
import { InkLayer } from './inkLayer.ts'
import { placePane } from './placePane.ts'
import { fillRect, yuvOfHex } from './planes.ts'
import { Scalers } from './scalers.ts'
import { freePicture, Scratch, scratchPicture, type ScratchPicture } from './scratch.ts'

/** Where decoded frames come from, turned left for right where mirrored. The caller lets go of what it gets. */
export type FrameSource = (clipId: string, frame: number, mirrored: boolean) => Promise<HeldFrame>

/** The picture that is composed anew where something has changed, and what is on it. */
interface Page extends ScratchPicture {
  readonly covered: Covered
  layout: string
  /** What each pane shows, by `viewKey`. */
  readonly placed: Map<number, string>
}

/**
 * What an instant looks like at one size. There is one picture: only what has changed since it was last composed is done anew:
 * ink is lifted, panes are placed, ink is laid.
 */
export class Composer implements Disposable {
  readonly #size: Size
  readonly #source: FrameSource
  readonly #ink: InkLayer
  readonly #scalers = new Scalers()
  readonly #scratch = new Scratch()
  readonly #background = yuvOfHex(paneBackground)
  readonly #page: Page
  #card: CardPage | null = null
  /** How often each kind of work was done, for tests and measuring. */
  readonly counts = { placed: 0, inked: 0, composed: 0 }

  constructor(size: Size, source: FrameSource) {
    this.#size = size
    this.#source = source
    this.#ink = new InkLayer(size)
    this.#page = { ...scratchPicture(size), covered: new Covered(), layout: '', placed: new Map() }
  }

  /** The whole picture of an instant. The frame stays the composer's own and holds still until the next one is asked for. */
  async compose(instant: Instant): Promise<Frame> {
    if (instant.kind === 'card') return this.#composeCard(instant.card)
    const page = this.#page
    const overlay: Overlay = { size: this.#size, stage: instant.stage, clips: instant.clips }
    const views = paneViews(overlay)
    const layout = `laid out ${views.map(({ pane, rect }) => [pane, rect.x, rect.y, rect.width, rect.height].join(' ')).join()}`
    const inked = this.#ink.update(overlay)
    if (inked) this.counts.inked++
    if (layout !== page.layout) page.placed.clear()
    const due = views.filter((view) => page.placed.get(view.pane) !== viewKey(view))
    if (!inked && due.length === 0 && layout === page.layout) return page.frame
    const frames = await Promise.all(due.map((view) => this.#source(view.clipId, view.frame, view.place.transform.a < 0)))
    try {
      page.covered.lift(page.planes)
      if (layout !== page.layout) fillRect(page.planes, { x: 0, y: 0, ...this.#size }, this.#background)
      page.layout = layout
      due.forEach((view, i) => this.#place(page, view, overlay, frames[i]!.frame))
    } finally {
      for (const held of frames) held[Symbol.dispose]()
    }
    await page.windows.prepare()
    await this.#scratch.prepareWindows()
    if (!this.#ink.empty) this.#ink.lay(page.planes, page.covered)
    this.counts.composed++
    return page.frame
  }

  #composeCard(card: CardPiece): Frame {
    this.#card ??= new CardPage(this.#size)
    if (this.#card.show(card)) this.counts.composed++
    return this.#card.frame
  }

  #place(page: Page, view: PaneView, overlay: Overlay, picture: Frame): void {
    // Where only the picture moves on, its bars are there already.
    const stays = page.placed.get(view.pane)?.endsWith(placeKey(view)) ?? false
    placePane(page.planes, {
      picture, imageSize: overlay.clips[view.clipId]!, transform: view.place.transform, rect: view.rect, background: stays ? null : this.#background,
    }, this.#scalers, this.#scratch, page.windows)
    page.placed.set(view.pane, viewKey(view))
    this.counts.placed++
  }

  [Symbol.dispose](): void {
    this.#scalers[Symbol.dispose]()
    this.#scratch[Symbol.dispose]()
    freePicture(this.#page)
    this.#card?.[Symbol.dispose]()
  }
}

const placeKey = ({ clipId, place: { transform: { a, d, e, f } } }: PaneView): string => ` @ ${clipId} ${a} ${d} ${e} ${f}`

const viewKey = (view: PaneView): string => `${view.clipId} ${view.frame}${placeKey(view)}`
