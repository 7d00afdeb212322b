import { referenceFrameAt } from '../../../shared/walkthrough/phaseTie.ts'
import type { BenchRequest } from '../../ui/appStore.ts'
import type { Beside } from './compareState.ts'
import type { Comparison } from './comparison.ts'
import { loadReference, seatClips } from './loadReference.ts'
import { pairUp } from './pairing.ts'

/** Milliseconds for which the coach's choice must rest on a swing before its pictures are opened. */
const restsMs = 90
/** Swings fetched and not taken that are kept. */
const most = 4

/** What may be set beside next, fetched and opened before it is asked for. */
export class BesideAhead {
  readonly #comparison: Comparison
  readonly #fetched = new Map<string, Promise<Beside>>()
  /** The request whose pictures are open, or on their way. */
  #opened: string | null = null

  constructor(comparison: Comparison) {
    this.#comparison = comparison
  }

  /** Has a swing on its way: the one that is at hand in the list. */
  fetch(request: BenchRequest): Promise<Beside> {
    const key = JSON.stringify(request)
    const there = this.#fetched.get(key)
    if (there) return there
    const coming = loadReference(this.#comparison.bench.desk, request, this.#comparison.known)
    coming.catch(() => this.#fetched.delete(key))
    this.#fetched.set(key, coming)
    if (this.#fetched.size > most) this.#fetched.delete(this.#fetched.keys().next().value!)
    return coming
  }

  /** The swing, to be set beside now: the next time it is fetched anew. */
  async take(request: BenchRequest): Promise<Beside> {
    const beside = await this.fetch(request)
    this.#fetched.delete(JSON.stringify(request))
    return beside
  }

  /** Something will be set beside soon, this where it is known what: decoders are made to run, but where its own run already. */
  prepare(request: BenchRequest | null): void {
    if (request === null || JSON.stringify(request) !== this.#opened) this.#comparison.bench.view?.prepare(2)
  }

  /**
   * Has the pictures ready too, of the one that the coach's choice has come to rest on. Returns what calls it off.
   * @param atOnce nothing was chosen yet: it is the one that stands first
   */
  warm(request: BenchRequest, atOnce: boolean): () => void {
    let isWanted = true
    this.prepare(request)
    const timer = setTimeout(() => {
      this.fetch(request).then((beside) => { if (isWanted) this.#open(request, beside) }, () => undefined)
    }, atOnce ? 0 : restsMs)
    return () => {
      isWanted = false
      clearTimeout(timer)
    }
  }

  /** What was opened and has not come to be shown goes. */
  cool(): void {
    this.#opened = null
    this.#comparison.bench.view?.warm([])
    this.#comparison.bench.view?.prepare(0)
  }

  #open(request: BenchRequest, beside: Beside): void {
    this.#opened = JSON.stringify(request)
    const { bench: { store, view }, measuring, state } = this.#comparison
    const { sizeBy, alignOn } = state.getState()
    const { clips } = seatClips(store.stage, store.clips, beside)
    view?.warm(([0, 1] as const).flatMap((pane) => {
      const [own, clip] = [this.#comparison.own(pane), clips[pane]]
      if (!own || !clip) return []
      const { tie } = pairUp(measuring, pane, own, beside, clip, { tieBy: 'positions', pair: null, sizeBy, alignOn })
      return [{ clip, frame: referenceFrameAt(tie, own, clip, store.settled().panes[pane].tick) }]
    }))
  }
}
