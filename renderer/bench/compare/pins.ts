import { isOfPin, keyOfPin, marksOfPin, mostPins, pinKey, pinsMeet } from '../../../shared/compare/pins.ts'
import type { Difference } from '../../../shared/compare/differences.ts'
import type { Mark } from '../../../shared/markup/mark.ts'
import { frameAt, ticksPerRealSecond, tickOf } from '../../../shared/walkthrough/motion.ts'
import { trackAt, type PointTrack, type TrackPoints } from '../../../shared/walkthrough/reference.ts'
import type { StageClip } from '../../../shared/walkthrough/stage.ts'
import { tellDone } from '../../ui/notices.ts'
import { nextOrder } from '../benchMarks.ts'
import type { Comparison } from './comparison.ts'

/** The differences that matter, as marks of the student's clips with captions at their positions; undone like any mark. */
export class Pins {
  readonly #comparison: Comparison

  constructor(comparison: Comparison) {
    this.#comparison = comparison
  }

  /** Reads from the marks what is pinned: undo, deleting and another pair change it too. */
  follow(): void {
    const { bench, state } = this.#comparison
    const { marks } = bench.store.stage
    const found = ([0, 1] as const).flatMap((pane) => {
      const clip = bench.clip(pane)
      return clip ? Object.keys(marks).flatMap((id) => keyOfPin(clip.id, id) ?? []) : []
    })
    const pins = [...new Set(found)]
    const before = state.getState().pins
    if (pins.join() !== before.join()) state.setState({ pins: [...before.filter((key) => pins.includes(key)), ...pins.filter((key) => !before.includes(key))] })
  }

  toggle(difference: Difference): void {
    const { bench, state } = this.#comparison
    const key = pinKey(difference)
    const { pins } = state.getState()
    if (pins.includes(key)) {
      bench.marks.remove(Object.keys(bench.store.stage.marks).filter((id) => isOfPin(key, id)))
      return
    }
    if (pins.length >= mostPins) {
      tellDone('Three differences are pinned already: take one off first. More than three is more than a student takes away.')
      return
    }
    const marks = this.#marksOf(difference, pins.length)
    if (marks.length > 0) {
      bench.marks.put(marks)
      this.#comparison.goTo(difference)
    }
  }

  /** Brings the captions up to date when points or positions have moved, as no step of undo. */
  amend(): void {
    const { bench, state } = this.#comparison
    const { compared, pins } = state.getState()
    if (compared.kind !== 'compared') return
    pins.forEach((key, i) => {
      const difference = compared.differences.find((one) => pinKey(one) === key)
      const made = difference ? this.#marksOf(difference, i) : []
      const there = bench.store.stage.marks
      const changed = made.flatMap((mark): Mark[] => {
        const old = there[mark.id]
        // What the coach has moved or styled stays; the numbers are the program's.
        return old && old.text !== mark.text ? [{ ...old, text: mark.text }] : []
      })
      if (changed.length > 0) bench.marks.amend(changed)
    })
  }

  #marksOf(difference: Difference, index: number): Mark[] {
    const comparison = this.#comparison
    const pane = comparison.paneOf(difference.view)
    const own = pane === null ? null : comparison.own(pane)
    if (pane === null || !own) return []
    const paired = comparison.paired(pane)
    const seat = comparison.seat(pane)
    const tickAt = (at: Difference['at']): number | null => (at === 'swing' ? null : paired?.own[at] ?? comparison.measuring.positionTick(pane, at) ?? null)
    const tick = tickAt(difference.at)
    const other = difference.at === 'swing' ? undefined : paired?.reference[difference.at]
    const { compared, pins } = comparison.state.getState()
    const before = compared.kind === 'compared' ? compared.differences.filter((one) => pins.slice(0, index).includes(pinKey(one))) : []
    return marksOfPin(difference, {
      crowded: before.some((one) => comparison.paneOf(one.view) === pane && pinsMeet(own, tickAt(one.at), tick)),
      clip: own, tick: tick === null ? null : tickOf(own.frames, frameAt(own.frames, tick)), index, order: nextOrder(comparison.bench.store.stage.marks),
      points: at(paired?.tracks.own, own, tick), address: at(paired?.tracks.own, own, paired?.own.address),
      reference: seat && seat.view === own.view ? at(paired?.tracks.reference, seat, other) : {},
      transform: paired?.transform ?? { scale: 1, turn: 0, mirror: false, shift: [0, 0] },
    })
  }
}

const at = (track: PointTrack | null | undefined, clip: StageClip, tick: number | null | undefined): TrackPoints =>
  track && tick !== null && tick !== undefined ? trackAt(track, tick, 0.1 * ticksPerRealSecond(clip)) : {}
