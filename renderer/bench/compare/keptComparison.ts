import type { KeptComparison } from '../../../shared/contract/comparison.ts'
import { tellFault } from '../../ui/notices.ts'
import type { Comparison } from './comparison.ts'

/** Milliseconds after the last change until it is on disk. */
const soonMs = 500

/** What stands beside a swing is kept with it, so that it can be had again by one key when the swing is opened. */
export class Kept {
  readonly #comparison: Comparison
  #timer: ReturnType<typeof setTimeout> | null = null
  #asked = ''
  #kept: KeptComparison | null = null

  constructor(comparison: Comparison) {
    this.#comparison = comparison
  }

  /** Follows what stands on the panes until the returned function is called. */
  start(): () => void {
    const { bench, state } = this.#comparison
    const stops = [
      bench.state.subscribe((now, before) => { if (now.clipIds !== before.clipIds) this.#ask() }),
      state.subscribe((now, before) => {
        if (now.beside && (now.references !== before.references || now.sizeBy !== before.sizeBy || now.alignOn !== before.alignOn)) this.#saveSoon()
      }),
    ]
    this.#ask()
    return () => {
      for (const stop of stops) stop()
      if (this.#timer) this.#save()
    }
  }

  /** Sets it beside again, as it stood. */
  again(): void {
    const { bench } = this.#comparison
    if (this.#kept && bench.state.getState().keptBeside !== null) void this.#comparison.setBeside(this.#kept.reference, this.#kept)
  }

  /** Asks what is kept with the clips now on the panes. */
  #ask(): void {
    const { bench } = this.#comparison
    const clipIds = bench.state.getState().clipIds.filter((id) => id !== null)
    const asked = clipIds.join()
    if (asked === this.#asked) return
    // What stood beside the ones before goes to disk before it is forgotten.
    if (this.#timer) this.#save()
    this.#asked = asked
    this.#tell(null)
    if (clipIds.length === 0) return
    bench.desk.call('comparison.kept', { clipIds }).then(({ comparison }) => { if (this.#asked === asked) this.#tell(comparison) }, tellFault)
  }

  #tell(kept: KeptComparison | null): void {
    this.#kept = kept
    this.#comparison.bench.state.setState({ keptBeside: kept?.title ?? null })
  }

  #saveSoon(): void {
    if (this.#timer) clearTimeout(this.#timer)
    this.#timer = setTimeout(() => this.#save(), soonMs)
  }

  #save(): void {
    if (this.#timer) clearTimeout(this.#timer)
    this.#timer = null
    const { bench, wish } = this.#comparison
    if (!wish) return
    const { beside, ...rest } = wish
    const clips = ([0, 1] as const).flatMap((pane) => {
      const own = this.#comparison.own(pane)
      const seat = this.#comparison.seat(pane) ?? beside.clips[0]
      return own && seat ? [{ clipId: own.id, referenceClipId: seat.id }] : []
    })
    const comparison: KeptComparison = { ...rest, reference: beside.swing ? { swingId: beside.swing.id } : { clipId: beside.key }, title: beside.title }
    this.#tell(comparison)
    if (clips.length > 0) bench.desk.call('comparison.keep', { clips, comparison }).catch(tellFault)
  }
}
