import { bearingId, bearingIds, bearingMarks, kept, refreshed, shownBy, type OwnTicks, type ShaftShown, type TopFrame } from '../../../shared/swing/bearingMarks.ts'
import { planeIds, planeMarks, type DownFrame } from '../../../shared/swing/planeMarks.ts'
import { traced } from '../../../shared/swing/planeTrace.ts'
import type { PositionName } from '../../../shared/contract/pointsFile.ts'
import type { Mark } from '../../../shared/markup/mark.ts'
import type { PaneId } from '../../../shared/walkthrough/stage.ts'
import { longestFrame, restingSpan, type TiedTo } from '../../playback/restingSpan.ts'
import type { KeyBinding } from '../../ui/keys.ts'
import type { Bench } from '../bench.ts'
import { nextOrder } from '../benchMarks.ts'
import type { Measuring } from '../measuring/measuring.ts'

const panes = [0, 1] as const

/**
 * The shaft at the top as marks: put on both clips as one step of undo, and kept up to date with the points they follow
 * from. Being marks, they go into the log and the hand-off as any other.
 */
export class Bearings {
  readonly #bench: Bench
  readonly #measuring: Measuring
  #frame = 0

  constructor(bench: Bench, measuring: Measuring) {
    this.#bench = bench
    this.#measuring = measuring
  }

  /** Follows the points and the marks until the returned function is called. */
  start(): () => void {
    const stops = [
      this.#measuring.state.subscribe((now, before) => { if (now.outcome !== before.outcome) this.#schedule() }),
      // Undo and redo bring back marks as they were drawn then.
      this.#bench.state.subscribe((now, before) => { if (now.marks !== before.marks) this.#schedule() }),
    ]
    this.#schedule()
    return () => {
      for (const stop of stops) stop()
      cancelAnimationFrame(this.#frame)
      this.#frame = 0
    }
  }

  get shown(): ShaftShown | null {
    const { marks, clipIds } = this.#bench.state.getState()
    return shownBy(marks, clipIds)
  }

  /** Draws the shaft at the top, in place of what was drawn of it before, and goes there. */
  draw(shown: ShaftShown): void {
    const { outcome } = this.#measuring.state.getState()
    const { marks } = this.#bench.store.stage
    const fresh = this.#marks(shown, nextOrder(marks)).map((mark) => kept(mark, marks[mark.id], this.#ownTicks))
    if (fresh.length === 0) {
      this.#measuring.refuse(outcome.kind === 'none' ? 'Nothing is measured yet: place the shaft at the top on both clips first.' : 'The shaft at the top cannot be had yet: the evidence, under Two bearings, says why.')
      this.#measuring.state.setState({ isShown: true })
      return
    }
    const ids = new Set(fresh.map((mark) => mark.id))
    const old = this.#ids().filter((id) => marks[id] && !ids.has(id))
    this.#bench.marks.beginStep()
    this.#bench.marks.remove(old)
    this.#bench.marks.put(fresh)
    this.#bench.marks.endStep()
    this.#goTo('top')
  }

  /** Goes to where the plane of the shaft is drawn on the body on the way down; draws it first if it is not there. */
  showPlane(): void {
    const { marks } = this.#bench.store.stage
    if (!this.#clipIds().some((id) => planeIds(id).some((one) => marks[one]))) this.draw('is')
    const { active } = this.#bench
    const now = this.#measuring.tickShown(active)
    const at = this.#downs().filter((frame) => frame.clip.id === this.#bench.clip(active)?.id)
    const next = at.find((frame) => now !== null && frame.from > now) ?? at[0]
    if (next) this.#goTo(next.at)
    else this.#measuring.refuse('The plane of the shaft on the body cannot be had yet: it needs club, hips and shoulders in both views about lead arm level or shaft level on the way down.')
  }

  /** As it looks, or as it is; first as it is. */
  toggle(): void {
    this.draw(this.shown === 'is' ? 'looks' : 'is')
  }

  /** Takes the shaft's marks off both clips. */
  clear(): void {
    const { marks } = this.#bench.store.stage
    this.#bench.marks.remove(this.#ids().filter((id) => marks[id]))
  }

  #clipIds(): string[] {
    return panes.flatMap((pane) => this.#bench.clip(pane)?.id ?? [])
  }

  #ids(): string[] {
    return this.#clipIds().flatMap((id) => [...bearingIds(id), ...planeIds(id)])
  }

  #marks(shown: ShaftShown, order: number): Mark[] {
    const { outcome } = this.#measuring.state.getState()
    if (outcome.kind !== 'measured') return []
    const { swing, result } = outcome
    const top = bearingMarks(shown, swing, result, this.#frames('top'), order)
    return shown === 'looks' ? top : [...top, ...planeMarks(swing, result, this.#downs(), order + top.length)]
  }

  /** Where the plane of the shaft can be shown on the body. */
  #downs(): DownFrame[] {
    return traced.flatMap((at) => this.#frames(at).map((frame) => ({ ...frame, at })))
  }

  #frames(at: PositionName): TopFrame[] {
    return panes.flatMap((pane) => {
      const clip = this.#bench.clip(pane)
      const tick = this.#tick(pane, at)
      if (!clip || tick === null) return []
      return [{ clip, ...restingSpan(clip, tick, this.#tiedTo(pane, at)) }]
    })
  }

  /** The other pane's clip at a position of its own; null where they are not tied. */
  #tiedTo(pane: PaneId, at: PositionName): TiedTo | null {
    const { tie } = this.#bench.store.stage
    const clip = this.#bench.clip(pane === 0 ? 1 : 0)
    const instant = this.#tick(pane === 0 ? 1 : 0, at)
    if (!tie || !clip || instant === null) return null
    return { clip, instant, there: pane === 0 ? tie.right : tie.left, here: pane === 0 ? tie.left : tie.right }
  }

  readonly #ownTicks: OwnTicks = (clipId) => {
    const clip = panes.map((pane) => this.#bench.clip(pane)).find((one) => one?.id === clipId)
    return clip ? longestFrame(clip) : 0
  }

  /** The instant itself where the clips are tied, so that both panes can stand in the frame that holds it. */
  #tick(pane: PaneId, at: PositionName): number | null {
    const t = this.#measuring.positionTime(pane, at)
    return t === null ? null : this.#measuring.tickAtTime(pane, t) + 1e-6
  }

  #goTo(at: PositionName): void {
    const { active } = this.#bench
    for (const pane of [active === 0 ? 1 : 0, active] as const) {
      const tick = this.#tick(pane, at)
      if (tick !== null) this.#bench.transport.seek(pane, tick)
    }
  }

  #schedule(): void {
    this.#frame ||= requestAnimationFrame(() => {
      this.#frame = 0
      this.#refresh()
    })
  }

  #refresh(): void {
    const { shown } = this
    const { outcome } = this.#measuring.state.getState()
    if (!shown || outcome.kind !== 'measured') return
    const { marks } = this.#bench.store.stage
    // What two views gave is not overwritten by what one of them, opened alone, would say.
    if (outcome.swing.views.length < 2 && outcome.clips.some(({ id }) => marks[bearingId(id, 'fan')])) return
    const stale = refreshed(marks, this.#marks(shown, 0), this.#ownTicks)
    if (stale.length > 0) this.#bench.marks.amend(stale)
  }
}

export function bearingKeys(bearings: Bearings): KeyBinding[] {
  const group = 'Measuring'
  return [
    { id: 'shaft-as-it-is', keys: 'b', words: 'Draw the shaft at the top as it is', scope: 'bench', group, run: () => bearings.draw('is') },
    { id: 'shaft-looks-or-is', keys: 'Shift+b', words: 'The shaft at the top as it looks, or as it is', scope: 'bench', group, run: () => bearings.toggle() },
    { id: 'shaft-plane-on-body', keys: 'Alt+b', words: 'The plane of the shaft on the body, on the way down', scope: 'bench', group, run: () => bearings.showPlane() },
  ]
}
