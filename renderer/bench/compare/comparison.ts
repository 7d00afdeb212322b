import type { StoreApi } from 'zustand/vanilla'
import type { Clip } from '../../../shared/contract/clip.ts'
import type { PositionName } from '../../../shared/contract/pointsFile.ts'
import { differencesOf, type Difference } from '../../../shared/compare/differences.ts'
import { anchors, sizings, type Anchor, type Sizing } from '../../../shared/compare/fit.ts'
import { nearestShared } from '../../../shared/compare/tie.ts'
import { positionTitle } from '../../../shared/swing/digitised.ts'
import { tickOf } from '../../../shared/walkthrough/motion.ts'
import { fromReference, nearestFrame, type TiePair } from '../../../shared/walkthrough/phaseTie.ts'
import { looks, type Reference, type ReferencePatch } from '../../../shared/walkthrough/reference.ts'
import { referenceFrame, referenceOf, type PaneId, type StageClip } from '../../../shared/walkthrough/stage.ts'
import type { BenchRequest } from '../../ui/appStore.ts'
import { tellDone, tellFault } from '../../ui/notices.ts'
import type { Bench } from '../bench.ts'
import type { Measuring } from '../measuring/measuring.ts'
import { Kept } from './keptComparison.ts'
import { createCompareState, nothingCompared, type Beside, type Compared, type CompareState, type PaneComparison } from './compareState.ts'
import { BesideAhead } from './besideAhead.ts'
import { CompareHistory, lookOf, plainLook, type Look, type Wish } from './compareHistory.ts'
import { measureReference, seatClips, unlike, type Known } from './loadReference.ts'
import { pairUp, type Paired } from './pairing.ts'
import { Pins } from './pins.ts'

const panes: readonly PaneId[] = [0, 1]

/**
 * A reference set beside the student's swing, outside React: which clips, how they are tied and laid over, how they look. All
 * that is seen of it is in the stage; this works it out, and works it out anew when a point or a position moves.
 */
export class Comparison {
  readonly bench: Bench
  readonly measuring: Measuring
  readonly state: StoreApi<CompareState> = createCompareState()
  readonly pins: Pins
  readonly ahead: BesideAhead
  readonly kept: Kept
  #known: Known = { clips: [], students: [] }
  #serial = 0
  #timer: ReturnType<typeof setTimeout> | null = null
  /** The clip of the reference that stands at each pane, and how it was last paired. */
  #seats: readonly [Clip | null, Clip | null] = [null, null]
  #paired: [Paired | null, Paired | null] = [null, null]
  /** While all of it is put down, a pane that is bare for the moment does not mean that it is over. */
  #isPutting = false
  readonly #history: CompareHistory

  constructor(measuring: Measuring) {
    this.measuring = measuring
    this.bench = measuring.bench
    this.pins = new Pins(this)
    this.ahead = new BesideAhead(this)
    this.kept = new Kept(this)
    this.#history = new CompareHistory(() => this.wish, (wish) => this.#restore(wish), () => this.bench.marks.tellHistory())
  }

  /** Follows the Bench until the returned function is called. */
  start(): () => void {
    const stops = [
      this.kept.start(),
      this.bench.marks.runBeside({ history: () => this.#history.history }),
      this.bench.store.listen((_, event, stage) => {
        if (event.type === 'seek' || event.type === 'draft' || event.type === 'pointer' || event.type === 'play' || event.type === 'stop') return
        const references = stage.references ?? noReferences
        const before = this.state.getState().references
        if (references[0] !== before[0] || references[1] !== before[1]) this.state.setState({ references })
        if (event.type === 'swap') {
          this.#seats = [this.#seats[1], this.#seats[0]]
          this.#paired = [this.#paired[1], this.#paired[0]]
          this.state.setState(({ panes: [a, b], pairs }) => ({ panes: [b, a], pairs: [pairs[1], pairs[0]] }))
        } else if (!this.#isPutting && this.state.getState().beside && references.every((one) => one === null)) {
          this.#forget()
          this.#history.clear()
        }
        if (event.type === 'marks' || event.type === 'stage') this.pins.follow()
      }),
      this.measuring.state.subscribe((now, before) => {
        if (now.outcome !== before.outcome || now.table !== before.table) this.#schedule()
      }),
    ]
    return () => {
      for (const stop of stops) stop()
      if (this.#timer) clearTimeout(this.#timer)
    }
  }

  know(known: Known): void {
    this.#known = known
  }
  get known(): Known {
    return this.#known
  }
  get isOn(): boolean {
    return this.state.getState().references.some((one) => one !== null)
  }
  /** How a pane's reference was last worked out. */
  paired(pane: PaneId): Paired | null {
    return this.#paired[pane]
  }
  seat(pane: PaneId): Clip | null {
    return this.#seats[pane]
  }
  own(pane: PaneId): StageClip | null {
    return this.bench.clip(pane)
  }

  choose(on: boolean): void {
    if (on && panes.every((pane) => this.own(pane) === null)) {
      tellFault(new Error('Nothing is on the Bench to set a reference beside. Open the student\u2019s swing first.'))
      return
    }
    this.state.setState({ isChoosing: on })
    if (on) this.ahead.prepare(null)
    else this.ahead.cool()
  }

  /** Sets a swing beside the one on the panes. The newest request wins. @param as how it is to stand; else as what stands there now */
  async setBeside(request: BenchRequest, as: Omit<Wish, 'beside'> | null = null): Promise<void> {
    const serial = ++this.#serial
    this.state.setState({ opening: 'Fetching the reference', isChoosing: false })
    this.ahead.prepare(request)
    try {
      const beside = await this.ahead.take(request)
      if (serial !== this.#serial) return
      if (as) this.#choose(as)
      else this.state.setState({ tieBy: 'positions', pairs: [null, null] })
      this.#put(beside, as?.look ?? this.first ?? plainLook)
      this.#history.note()
      setTimeout(() => { if (!this.state.getState().isChoosing) this.ahead.cool() }, 1000)
      this.#measureSoon()
    } catch (error) {
      if (serial !== this.#serial) return
      this.state.setState({ opening: null })
      this.ahead.cool()
      tellFault(error)
    }
  }

  /** Measuring takes a while: the pictures come first. */
  #measureSoon(): void {
    const serial = this.#serial
    setTimeout(() => { if (serial === this.#serial) this.#measure() }, 60)
  }

  #put(beside: Beside, look: Look): void {
    const { bench } = this
    bench.store.know(beside.clips.map(({ id, view, handedness, mirrored, width, height, frames, captureRate, playRate }) => ({ id, view, handedness, mirrored, width, height, frames, captureRate, playRate })))
    const { clips, notes } = seatClips(bench.store.stage, bench.store.clips, beside)
    this.#seats = clips
    this.#paired = [null, null]
    this.state.setState({ opening: null, beside, notes, compared: nothingCompared })
    this.#isPutting = true
    for (const pane of panes) {
      const paired = this.#pair(pane)
      const reference = paired && this.#reference(pane, paired, look)
      if (reference || referenceOf(bench.store.stage, pane)) bench.store.dispatch({ type: 'reference', pane, reference })
    }
    this.#isPutting = false
  }

  #reference(pane: PaneId, { tie, tiedBy, transform, tracks }: Paired, look: Look): Reference {
    const { id } = this.#seats[pane]!
    const marks = this.state.getState().beside?.marks.filter(({ clipId }) => clipId === id) ?? []
    return { clipId: id, tie, tiedBy, transform, tracks, ...(marks.length > 0 && { marks }), ...lookOf(look) }
  }

  /** What the coach has chosen, for undo and to be kept. */
  get wish(): Wish | null {
    const { first } = this
    const { beside, sizeBy, alignOn, tieBy, pairs } = this.state.getState()
    if (!first || !beside) return null
    const byClip = panes.flatMap((pane) => {
      const [own, pair] = [this.own(pane), pairs[pane]]
      return own && pair ? [[own.id, pair] as const] : []
    })
    return { beside, look: lookOf(first), sizeBy, alignOn, tieBy, pairs: Object.fromEntries(byClip) }
  }
  #choose({ sizeBy, alignOn, tieBy, pairs }: Omit<Wish, 'beside'>): void {
    const pairOf = (pane: PaneId): TiePair | null => pairs[this.own(pane)?.id ?? ''] ?? null
    this.state.setState({ sizeBy, alignOn, tieBy, pairs: [pairOf(0), pairOf(1)] })
  }
  #restore(wish: Wish | null): void {
    this.#serial++
    if (!wish) {
      this.#takeAway()
      return
    }
    const { beside, look } = wish
    const now = this.state.getState().beside
    // What was measured since is still true.
    const measured = now?.key === beside.key ? now.measured : beside.measured
    this.#choose(wish)
    this.#put({ ...beside, measured }, look)
    if (measured) this.refresh()
    else this.#measureSoon()
  }

  #pair(pane: PaneId): Paired | null {
    const { beside, tieBy, pairs, sizeBy, alignOn } = this.state.getState()
    const [own, clip] = [this.own(pane), this.#seats[pane]]
    const paired = own && clip && beside ? pairUp(this.measuring, pane, own, beside, clip, { tieBy, pair: pairs[pane], sizeBy, alignOn }) : null
    this.#paired[pane] = paired
    const told: PaneComparison | null = paired && { fit: paired.fit, names: paired.names, notes: [...paired.notes, ...unlike(this.#known.clips.find(({ id }) => id === own!.id), clip!)] }
    this.state.setState(({ panes: [a, b] }) => ({ panes: pane === 0 ? [told, b] : [a, told] }))
    return paired
  }

  #measure(): void {
    const { beside } = this.state.getState()
    if (!beside) return
    this.state.setState({ beside: { ...beside, measured: measureReference(beside, this.measuring.state.getState().clickError) } })
    this.refresh()
  }

  #schedule(): void {
    if (!this.state.getState().beside || this.#timer) return
    this.#timer = setTimeout(() => {
      this.#timer = null
      this.refresh()
    }, 200)
  }

  /** Works it all out anew; the stage hears of what is different, and of nothing else. */
  refresh(): void {
    const { store } = this.bench
    for (const pane of panes) {
      const reference = referenceOf(store.stage, pane)
      if (!reference || this.#seats[pane]?.id !== reference.clipId) continue
      const paired = this.#pair(pane)
      if (!paired) continue
      const next = this.#reference(pane, paired, reference)
      if (!same(next.tracks, reference.tracks)) store.dispatch({ type: 'reference', pane, reference: next })
      else {
        const patch: ReferencePatch = {
          ...(same(next.tie, reference.tie) && next.tiedBy === reference.tiedBy ? {} : { tie: next.tie, tiedBy: next.tiedBy }),
          ...(same(next.transform, reference.transform) ? {} : { transform: next.transform }),
        }
        if (Object.keys(patch).length > 0) store.dispatch({ type: 'compare', pane, patch })
      }
    }
    this.state.setState({ compared: this.#compare() })
    this.pins.amend()
  }

  #compare(): Compared {
    const { beside } = this.state.getState()
    const { outcome } = this.measuring.state.getState()
    if (!beside) return nothingCompared
    const reasons: string[] = []
    if (outcome.kind === 'none') reasons.push(...outcome.reasons.map((why) => `The student\u2019s swing: ${why}`))
    if (beside.measured === null) reasons.push('The reference is being measured.')
    else if (beside.measured.kind === 'none') reasons.push(...beside.measured.reasons.map((why) => `The reference: ${why}`))
    if (outcome.kind === 'none' || beside.measured?.kind !== 'measured') return { kind: 'none', reasons }
    return { kind: 'compared', ...differencesOf(outcome.result, beside.measured.result) }
  }

  /** Takes the reference away. */
  remove(): void {
    this.#serial++
    this.#takeAway()
    this.#history.note()
  }
  #takeAway(): void {
    this.#forget()
    for (const pane of panes) if (referenceOf(this.bench.store.stage, pane)) this.bench.store.dispatch({ type: 'reference', pane, reference: null })
  }

  #forget(): void {
    this.#seats = [null, null]
    this.#paired = [null, null]
    this.state.setState({ beside: null, panes: [null, null], notes: [], compared: nothingCompared, pairs: [null, null] })
  }

  /** Changes how the references of both panes look. */
  change(patch: ReferencePatch): void {
    for (const pane of panes) if (referenceOf(this.bench.store.stage, pane)) this.bench.store.dispatch({ type: 'compare', pane, patch })
    this.#history.note('amount' in patch ? 'amount' : null)
  }
  get first(): Reference | null {
    return this.state.getState().references.find((one) => one !== null) ?? null
  }
  nextLook(): void {
    const { first } = this
    if (first) this.change({ look: looks[(looks.indexOf(first.look) + 1) % looks.length]! })
  }
  /** More or less of the reference: of a wipe the edge moves the other way, for its amount is the student's share. */
  showMore(by: number): void {
    const { first } = this
    if (first) this.change({ amount: Math.min(1, Math.max(0, Math.round((first.amount + (first.look === 'wipe' ? -by : by)) * 100) / 100)) })
  }
  toggleDifferences(): void {
    this.state.setState(({ isShown }) => ({ isShown: !isShown }))
  }
  toggle(what: 'aligned' | 'picture' | 'skeleton' | 'shaft' | 'traces' | 'marked'): void {
    const { first } = this
    if (first) this.change({ [what]: !first[what] })
  }

  size(sizeBy: Sizing): void {
    this.state.setState({ sizeBy })
    this.#again()
  }
  align(alignOn: Anchor): void {
    this.state.setState({ alignOn })
    this.#again()
  }
  /** Works it out anew after a choice of the coach's, which undo takes back. */
  #again(kind: string | null = null): void {
    this.refresh()
    this.#history.note(kind)
  }
  nextSize(): void {
    this.size(sizings[(sizings.indexOf(this.state.getState().sizeBy) + 1) % sizings.length]!)
  }
  nextAnchor(): void {
    this.align(anchors[(anchors.indexOf(this.state.getState().alignOn) + 1) % anchors.length]!)
  }

  // Time.
  tieByPositions(): void {
    this.state.setState({ tieBy: 'positions', pairs: [null, null] })
    this.#again()
  }
  /** Real time from a position that both have; without one named, from the one nearest to what shows. */
  tieByTime(name: PositionName | null = null): void {
    const pairs = panes.map((pane): TiePair | null => {
      const paired = this.#paired[pane]
      const at = paired && (name ?? nearestShared(paired.own, paired.reference, this.measuring.tickShown(pane) ?? 0))
      const [own, other] = [at && paired?.own[at], at && paired?.reference[at]]
      return typeof own === 'number' && typeof other === 'number' ? [own, other] : this.#pairShown(pane)
    })
    this.state.setState({ tieBy: 'time', pairs: [pairs[0]!, pairs[1]!] })
    this.#again()
  }
  #pairShown(pane: PaneId): TiePair | null {
    const [own, clip] = [this.own(pane), this.#seats[pane]]
    const frame = referenceFrame(this.bench.store.stage, pane, this.bench.store.clips, this.bench.store.settled().panes[pane].tick)
    return own && clip && frame !== null ? [tickOf(own.frames, this.bench.frame(pane)), tickOf(clip.frames, frame)] : null
  }
  /** Moves a pane's reference by whole frames against the student: from then on both run by real time from here. */
  slip(pane: PaneId, frames: number): void {
    this.bench.transport.pause()
    const shown = this.#pairShown(pane)
    const clip = this.#seats[pane]
    if (!shown || !clip || frames === 0) return
    const to = tickOf(clip.frames, nearestFrame(clip.frames, shown[1]) + frames)
    if (to === shown[1]) return
    const pairs: [TiePair | null, TiePair | null] = [...this.state.getState().pairs]
    for (const other of panes) pairs[other] ??= this.#pairShown(other)
    pairs[pane] = [shown[0], to]
    this.state.setState({ tieBy: 'time', pairs })
    this.#again('slip')
  }
  /** Moves a pane to where its reference shows a frame; what is tied follows. */
  seekReference(pane: PaneId, frame: number): void {
    const reference = referenceOf(this.bench.store.stage, pane)
    const [own, clip] = [this.own(pane), this.#seats[pane]]
    if (!reference || !own || !clip) return
    const wanted = Math.min(Math.max(frame, 0), clip.frames.ticks.length - 1)
    const tick = fromReference(reference.tie, own, clip, tickOf(clip.frames, wanted))
    this.bench.transport.seek(pane, tickOf(own.frames, nearestFrame(own.frames, tick)))
  }
  shownReference(pane: PaneId): number | null {
    return referenceFrame(this.bench.store.settled(), pane, this.bench.store.clips)
  }

  /** Goes to where a difference was measured. */
  goTo({ at, view }: Pick<Difference, 'at' | 'view'>): void {
    if (at === 'swing') return
    const pane = this.paneOf(view)
    if (pane === null) return
    this.bench.activate(pane)
    if (!this.measuring.goTo(at, pane)) tellDone(`${positionTitle(at)} is not known on this clip.`)
  }
  /** The pane that shows a view; of both views together the active one. */
  paneOf(view: Difference['view']): PaneId | null {
    const { active } = this.bench.store.stage
    const found = view === null ? active : ([active, active === 0 ? 1 : 0] as const).find((pane) => this.own(pane)?.view === view)
    return found !== undefined && this.own(found) ? found : null
  }
}

const noReferences: readonly [null, null] = [null, null]
const same = (one: unknown, two: unknown): boolean => one === two || JSON.stringify(one) === JSON.stringify(two)

