import type { StoreApi } from 'zustand/vanilla'
import { inks, meanings, type Mark, type Meaning, type Shape } from '../../shared/markup/mark.ts'
import { acrossPictures, copyAcross, spanFrom, spanKind, withEnd } from '../../shared/markup/copy.ts'
import { History } from '../../shared/markup/history.ts'
import { movedBy } from '../../shared/markup/tools/handles.ts'
import type { Size } from '../../shared/picture/layout.ts'
import { activate, fit, loopOf, nudgeTied, otherOf, panBy, tieWithLag, toggleLayout, toggleMirror, zoomAbout, type PaneOnCanvas } from '../../shared/walkthrough/commands.ts'
import type { StageEvent } from '../../shared/walkthrough/events.ts'
import { frameAt, throughTie, tickOf } from '../../shared/walkthrough/motion.ts'
import type { PaneId, StageClip } from '../../shared/walkthrough/stage.ts'
import type { Bridge } from '../bridge/index.ts'
import { Transport } from '../playback/index.ts'
import { fetchOriginal } from '../playback/originalPixels.ts'
import { StageStore } from '../playback/stageStore.ts'
import { createStageView, type StageView } from '../playback/stageView.ts'
import { faultOf } from '../ui/notices.ts'
import { createBenchState, fromStage, type BenchState, type MarkStyle, type SpanKind } from './benchState.ts'
import { MarksSaver } from './marksSaver.ts'

/**
 * The Bench outside React: the live stage, what moves it, the marks with their undo, and what the room shows of them.
 * Every change of what is seen is an event of the stage.
 */
export class Bench {
  readonly desk: Bridge
  readonly store = new StageStore()
  readonly transport: Transport
  readonly state: StoreApi<BenchState> = createBenchState()
  readonly saver: MarksSaver
  #history: History<Mark>
  readonly #frameListeners = new Set<() => void>()
  /** The view while the room is on the page. */
  view: StageView | null = null

  constructor(desk: Bridge) {
    this.desk = desk
    this.transport = new Transport(this.store)
    this.saver = new MarksSaver((diff) => desk.call('marks.apply', { diff }), (saving) => this.state.setState({ saving }))
    this.#history = this.newHistory({})
    this.store.listen((_, event, stage) => {
      // A move of the playhead is nobody's business but the view's.
      if (event.type === 'seek' || event.type === 'draft' || event.type === 'pointer') return
      const patch = fromStage(stage, this.state.getState())
      if (Object.keys(patch).length > 0) this.state.setState(patch)
    })
  }

  get active(): PaneId { return this.store.stage.active }
  get history(): History<Mark> { return this.#history }

  attach(host: HTMLElement): () => void {
    const view = createStageView({
      host, store: this.store, advance: () => this.transport.advance(),
      media: {
        reviewUrl: (clipId) => this.desk.mediaUrl(`review/${clipId}.mp4`),
        original: (clipId, frame, signal) => fetchOriginal(this.desk.mediaUrl(`frame/${clipId}/${frame}`), signal),
      },
    })
    this.view = view
    view.onFrame(() => this.tellFrame())
    view.onState((pane, state) => {
      const { paneStates } = this.state.getState()
      this.state.setState({ paneStates: pane === 0 ? [state, paneStates[1]] : [paneStates[0], state] })
    })
    return () => {
      this.view = null
      view.dispose()
    }
  }

  /** Called once, and after each animation frame in which something on the stage changed: what follows the playhead hears of it here. */
  onFrame(listener: () => void): () => void {
    this.#frameListeners.add(listener)
    listener()
    return () => void this.#frameListeners.delete(listener)
  }
  private tellFrame(): void {
    for (const listener of this.#frameListeners) listener()
  }

  /** The stage's size in CSS pixels. */
  stageSize(): Size {
    const rects = [this.view?.rect(0), this.view?.rect(1)].filter((rect) => rect !== null && rect !== undefined)
    return { width: Math.max(0, ...rects.map((rect) => rect.x + rect.width)), height: Math.max(0, ...rects.map((rect) => rect.y + rect.height)) }
  }

  dispatch(events: readonly StageEvent[]): void {
    for (const event of events) this.store.dispatch(event)
  }

  clip(pane: PaneId): StageClip | null {
    const { clipId } = this.store.stage.panes[pane]
    return clipId === null ? null : this.store.clips[clipId] ?? null
  }
  /** The frame a pane stands on: what is on the screen, or what will be as soon as it is decoded. */
  frame(pane: PaneId): number {
    return this.transport.head(pane)?.frame ?? 0
  }

  // Panes.
  activate(pane: PaneId): void {
    if (this.clip(pane)) this.dispatch(activate(this.store.stage, pane))
  }
  toOther(): void {
    this.activate(otherOf(this.active))
  }
  toggleLayout(): void {
    this.dispatch(toggleLayout(this.store.stage))
  }
  toggleMirror(pane: PaneId = this.active): void {
    this.dispatch(toggleMirror(this.store.stage, pane))
  }
  fit(pane: PaneId = this.active): void {
    this.dispatch(fit(this.store.stage, pane))
  }
  /** Zooms about a point of the stage in CSS pixels, the pane's middle by default. */
  zoom(pane: PaneId, factor: number, at?: readonly [number, number]): void {
    const there = this.onCanvas(pane)
    if (!there) return
    const { rect } = there
    this.dispatch(zoomAbout(this.store.stage, pane, there, factor, at ?? [rect.x + rect.width / 2, rect.y + rect.height / 2]))
  }
  pan(pane: PaneId, dx: number, dy: number): void {
    const there = this.onCanvas(pane)
    if (there) this.dispatch(panBy(this.store.stage, pane, there, dx, dy))
  }
  private onCanvas(pane: PaneId): PaneOnCanvas | null {
    const rect = this.view?.rect(pane)
    const image = this.clip(pane)
    return rect && image ? { rect, image } : null
  }

  // Time.
  toggleTie(): void {
    if (this.store.stage.tie) this.transport.untie()
    else this.transport.tie()
  }
  /** Ties so that the right strip lags by so many seconds; the moved pane follows the other. */
  retie(lag: number, moved: PaneId): void {
    const [left, right] = [this.clip(0), this.clip(1)]
    if (!left || !right) return
    this.transport.pause()
    const keep = otherOf(moved)
    this.dispatch(tieWithLag(this.store.stage, left, right, lag, keep))
    this.transport.seek(keep, this.store.stage.panes[keep].tick)
  }
  nudge(frames: number): void {
    const clip = this.clip(this.active)
    if (!clip) return
    if (!this.store.stage.tie) return this.transport.step(this.active, frames)
    this.transport.pause()
    this.dispatch(nudgeTied(this.store.stage, clip, this.active, frames))
  }
  loopIn(): void {
    const pane = this.active
    const clip = this.clip(pane)
    if (!clip) return
    const frame = this.frame(pane)
    const loop = this.transport.state.getState().loops[pane]
    const last = loop ? frameAt(clip.frames, loop.to - 1) : null
    this.state.setState({ loopStart: { pane, frame } })
    this.setLoop(pane, last !== null && last > frame ? loopOf(clip, frame, last) : null)
  }
  loopOut(): void {
    const pane = this.active
    const clip = this.clip(pane)
    if (!clip) return
    const { loopStart } = this.state.getState()
    const loop = this.transport.state.getState().loops[pane]
    const first = loopStart?.pane === pane ? loopStart.frame : loop ? frameAt(clip.frames, loop.from) : 0
    this.setLoop(pane, loopOf(clip, first, this.frame(pane)))
    this.state.setState({ loopStart: null })
  }
  clearLoop(): void {
    this.state.setState({ loopStart: null })
    for (const pane of [0, 1] as const) this.transport.setLoop(pane, null)
  }
  /** One loop at a time: of two tied panes it is the same span of the world. */
  private setLoop(pane: PaneId, loop: ReturnType<typeof loopOf>): void {
    const other = otherOf(pane)
    const { tie } = this.store.stage
    const [own, follow] = [this.clip(pane), this.clip(other)]
    this.transport.setLoop(pane, loop)
    if (!tie || !own || !follow) return
    const through = (tick: number): number => throughTie(own, follow, pane === 0 ? tie.left : tie.right, pane === 0 ? tie.right : tie.left, tick)
    this.transport.setLoop(other, loop && { from: through(loop.from), to: through(loop.to) })
  }

  // Marks.
  newHistory(marks: Readonly<Record<string, Mark>>): History<Mark> {
    const history = new History<Mark>(marks, (diff) => {
      this.store.dispatch({ type: 'marks', diff })
      this.saver.add(diff)
      const { selected } = this.state.getState()
      if (selected !== null && diff.removed[selected]) this.state.setState({ selected: null })
    })
    return history
  }
  useHistory(history: History<Mark>): void {
    this.#history = history
    this.tellHistory()
  }
  tellHistory(): void {
    const { canUndo, canRedo } = this.#history
    const before = this.state.getState()
    if (before.canUndo !== canUndo || before.canRedo !== canRedo) this.state.setState({ canUndo, canRedo })
  }
  put(marks: readonly Mark[]): void {
    this.#history.put(Object.fromEntries(marks.map((mark) => [mark.id, mark])))
    this.tellHistory()
  }
  remove(ids: readonly string[]): void {
    this.#history.remove(ids)
    this.tellHistory()
  }
  undo(): void {
    this.#history.undo()
    this.tellHistory()
  }
  redo(): void {
    this.#history.redo()
    this.tellHistory()
  }
  get selected(): Mark | null {
    const { selected } = this.state.getState()
    return selected === null ? null : this.store.stage.marks[selected] ?? null
  }
  select(id: string | null): void {
    if (this.state.getState().selected === id) return
    const mark = id === null ? null : this.store.stage.marks[id]
    // The style row shows what is chosen, and goes on with it.
    this.state.setState({ selected: id, ...(mark ? { style: { ink: mark.ink, weight: mark.weight, dashed: mark.dashed }, spanKind: spanKind(mark.span) } : {}) })
  }
  change(patch: Partial<Mark>): void {
    const mark = this.selected
    if (mark) this.put([{ ...mark, ...patch }])
  }
  restyle(patch: Partial<MarkStyle>): void {
    this.state.setState(({ style }) => ({ style: { ...style, ...patch } }))
    this.change(patch)
  }
  nextInk(by: 1 | -1): void {
    const { ink } = this.state.getState().style
    this.restyle({ ink: inks[(inks.indexOf(ink) + by + inks.length) % inks.length]! })
  }
  heavier(by: number): void {
    this.restyle({ weight: Math.min(Math.max(this.state.getState().style.weight + by, 1), 30) })
  }
  nudgeMark(dx: number, dy: number): void {
    const mark = this.selected
    if (!mark) return
    const pane = this.paneOf(mark)
    // What goes right on the screen goes left in a mirrored picture.
    this.put([movedBy(mark, pane !== null && this.store.stage.panes[pane].mirror ? -dx : dx, dy)])
  }
  /** The pane a mark's clip stands in, the active one first. */
  paneOf(mark: Mark): PaneId | null {
    const { panes } = this.store.stage
    return ([this.active, otherOf(this.active)] as const).find((pane) => panes[pane].clipId === mark.clipId) ?? null
  }
  setSpan(kind: SpanKind): void {
    this.state.setState({ spanKind: kind })
    const mark = this.selected
    const pane = mark && this.paneOf(mark)
    if (mark && pane !== null && pane !== undefined && spanKind(mark.span) !== kind) this.put([{ ...mark, span: spanFrom(kind, this.clip(pane)!, this.frame(pane)) }])
  }
  setSpanEnd(end: 'from' | 'to'): void {
    const mark = this.selected
    const pane = mark && this.paneOf(mark)
    if (mark && pane !== null && pane !== undefined) this.put([{ ...mark, span: withEnd(mark.span, end, this.clip(pane)!.frames, this.frame(pane)) }])
    if (this.selected) this.state.setState({ spanKind: spanKind(this.selected.span) })
  }
  /** A copy on the other pane's clip, where the same place of the picture lies, at the instant it shows there. */
  duplicate(): void {
    const mark = this.selected
    const pane = mark && this.paneOf(mark)
    if (!mark || pane === null || pane === undefined) return
    const other = otherOf(pane)
    const [from, to] = [this.clip(pane), this.clip(other)]
    if (!from || !to) return
    const { panes, marks } = this.store.stage
    const copy = copyAcross(
      mark,
      { id: crypto.randomUUID(), clipId: to.id, span: spanFrom(spanKind(mark.span), to, this.frame(other)), order: nextOrder(marks) },
      acrossPictures(from, to, panes[0].mirror !== panes[1].mirror),
    )
    this.put([copy])
    this.select(copy.id)
  }
  clearPane(pane: PaneId = this.active): void {
    const { clipId } = this.store.stage.panes[pane]
    this.remove(marksOf(this.store.stage.marks, clipId).map((mark) => mark.id))
  }
  /** Hides all marks of the pane, or shows them where all are hidden. */
  toggleAll(pane: PaneId = this.active): void {
    const { clipId } = this.store.stage.panes[pane]
    const marks = marksOf(this.store.stage.marks, clipId)
    const hidden = marks.some((mark) => !mark.hidden)
    this.put(marks.filter((mark) => mark.hidden !== hidden).map((mark) => ({ ...mark, hidden })))
  }
  /** Chooses the mark after, or before, the chosen one on the active pane, and goes to where it shows. */
  cycle(by: 1 | -1): void {
    const { clipId } = this.store.stage.panes[this.active]
    const marks = marksOf(this.store.stage.marks, clipId)
    if (marks.length === 0) return
    const at = marks.findIndex((mark) => mark.id === this.state.getState().selected)
    this.goToMark(marks[at < 0 ? (by > 0 ? 0 : marks.length - 1) : (at + by + marks.length) % marks.length]!)
  }
  goToMark(mark: Mark): void {
    const pane = this.paneOf(mark)
    if (pane === null) return
    this.activate(pane)
    this.select(mark.id)
    const clip = this.clip(pane)!
    const now = tickOf(clip.frames, this.frame(pane))
    if (mark.span && (now < mark.span.from || now > mark.span.to)) this.transport.seek(pane, mark.span.from)
  }

  // Tools.
  /** The next of: this frame, a while, the whole clip. */
  nextSpan(): void {
    const kinds = ['frame', 'span', 'clip'] as const
    this.setSpan(kinds[(kinds.indexOf(this.state.getState().spanKind) + 1) % 3]!)
  }
  togglePalette(): void {
    const palette = this.state.getState().paletteStands === 'docked' ? 'at-pointer' : 'docked'
    this.state.setState({ paletteStands: palette, palette: null })
    this.desk.call('settings.set', { palette }).catch((error: unknown) => this.state.setState({ fault: faultOf(error) }))
  }
  /** Step by step: the mark in the making, the open palette, the tool, the chosen mark. */
  escape(drawing: { readonly isBusy: boolean; cancel(): void }): void {
    const { palette, tool, selected } = this.state.getState()
    if (drawing.isBusy) drawing.cancel()
    else if (palette) this.state.setState({ palette: null })
    else if (tool !== 'select') this.takeTool('select')
    else if (selected !== null) this.select(null)
  }
  takeTool(tool: Shape | 'select', meaning: Meaning | null = null): void {
    this.state.setState(({ style, meaning: before }) => ({
      tool, meaning, palette: null, ...(tool === 'select' ? {} : { selected: null }),
      // The ink of a meaning goes with the meaning.
      ...(meaning ? { style: { ...style, ink: meanings[meaning].ink } } : before && tool !== 'select' ? { style: { ...style, ink: 'plain' as const } } : {}),
    }))
  }
}

/** Above all that is there. */
export const nextOrder = (marks: Readonly<Record<string, Mark>>): number => Math.max(0, ...Object.values(marks).map((mark) => mark.order)) + 1

/** The marks of one clip in the order of drawing, whenever they show. */
export const marksOf = (marks: Readonly<Record<string, Mark>>, clipId: string | null): Mark[] =>
  Object.values(marks).filter((mark) => mark.clipId === clipId).sort((a, b) => a.order - b.order)
