import type { Frame } from 'node-av'
import type { CardPiece } from '../../shared/walkthrough/edits.ts'
import type { Instant } from '../../shared/walkthrough/programme.ts'
import { paneViews, pictureAlpha, referenceViews, seenRect, type Overlay, type PaneView, type ReferenceView } from '../../shared/picture/views.ts'
import type { Size } from '../../shared/picture/layout.ts'
import { paneBackground } from '../../shared/picture/palette.ts'
import { CardPage } from './cardPage.ts'
import { Covered } from './covered.ts'
import type { HeldFrame } from './frameCache.ts'
import { InkLayer } from './inkLayer.ts'
import { placePane } from './placePane.ts'
import { placeReference } from './placeReference.ts'
import { fillRect, yuvOfHex } from './planes.ts'
import { Scalers } from './scalers.ts'
import { freePicture, Scratch, scratchPicture, type ScratchPicture } from './scratch.ts'

/** Where decoded frames come from, turned left for right where mirrored. The caller lets go of what it gets. */
export type FrameSource = (clipId: string, frame: number, mirrored: boolean) => Promise<HeldFrame>

/** The picture that is composed anew where something has changed, and what is on it. */
interface Page extends ScratchPicture {
  readonly covered: Covered
  layout: string
  /** What each pane shows and what lies over it, and what each reference beside shows, by `viewKey`. */
  readonly placed: Map<string, string>
}

/** A place of the page: a pane with what lies over it, or a reference beside one. */
interface Part {
  readonly place: string
  readonly view: PaneView | null
  readonly over: ReferenceView | null
  readonly key: string
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
    const references = referenceViews(overlay).filter(shows)
    const besides = references.filter(({ reference }) => reference.look === 'beside')
    // A pane that something lies over is placed anew with it.
    const parts: Part[] = [
      ...views.map((view): Part => {
        const over = references.find(({ pane, reference }) => pane === view.pane && reference.look !== 'beside') ?? null
        return { place: `pane ${view.pane}`, view, over, key: over ? `${viewKey(view)} under ${referenceKey(over)}` : viewKey(view) }
      }),
      ...besides.map((view): Part => ({ place: `reference ${view.pane}`, view: null, over: view, key: referenceKey(view) })),
    ]
    const layout = `laid out ${[...views, ...besides].map(({ pane, rect }) => [pane, rect.x, rect.y, rect.width, rect.height].join(' ')).join()}`
    const inked = this.#ink.update(overlay)
    if (inked) this.counts.inked++
    if (layout !== page.layout) page.placed.clear()
    const due = parts.filter(({ place, key }) => page.placed.get(place) !== key)
    if (!inked && due.length === 0 && layout === page.layout) return page.frame
    const fetch = (view: PaneView | null, mirrored: boolean): Promise<HeldFrame> | null => view && this.#source(view.clipId, view.frame, mirrored)
    const frames = await Promise.all(due.flatMap(({ view, over }) => [fetch(view, (view?.place.transform.a ?? 0) < 0), fetch(over, false)]))
    try {
      page.covered.lift(page.planes)
      if (layout !== page.layout) fillRect(page.planes, { x: 0, y: 0, ...this.#size }, this.#background)
      page.layout = layout
      due.forEach((part, i) => this.#place(page, part, overlay, frames[2 * i]?.frame ?? null, frames[2 * i + 1]?.frame ?? null))
    } finally {
      for (const held of frames) held?.[Symbol.dispose]()
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

  #place(page: Page, { place, view, over, key }: Part, overlay: Overlay, picture: Frame | null, overPicture: Frame | null): void {
    if (view && picture) {
      // Where only the picture moves on, its bars are there already; what lay over it may have covered them.
      const stays = page.placed.get(place)?.endsWith(placeKey(view)) ?? false
      placePane(page.planes, {
        picture, imageSize: overlay.clips[view.clipId]!, transform: view.place.transform, rect: view.rect, background: stays ? null : this.#background,
      }, this.#scalers, this.#scratch, page.windows)
    }
    if (over && overPicture) {
      placeReference(page.planes, {
        picture: overPicture, imageSize: overlay.clips[over.clipId]!, transform: over.place.transform, rect: seenRect(over), alpha: pictureAlpha(over.reference),
        ground: over.reference.look === 'beside' ? this.#background : null,
      }, this.#scratch)
    }
    page.placed.set(place, key)
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

/** Whether anything of a reference's own picture is seen. */
const shows = (view: ReferenceView): boolean => pictureAlpha(view.reference) > 0 && seenRect(view).width > 0

function referenceKey(view: ReferenceView): string {
  const { a, b, c, d, e, f } = view.place.transform
  const { x, y, width, height } = seenRect(view)
  return `${view.clipId} ${view.frame} ${view.reference.look} ${pictureAlpha(view.reference)} @ ${[a, b, c, d, e, f, x, y, width, height].join(' ')}`
}
