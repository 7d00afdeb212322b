import type { StoreApi } from 'zustand/vanilla'
import type { Meaning, Shape } from '../../shared/markup/mark.ts'
import type { Size } from '../../shared/picture/layout.ts'
import { activate, fit, loopOf, nudgeTied, otherOf, panBy, tieWithLag, toggleLayout, toggleMirror, zoomAbout, type PaneOnCanvas } from '../../shared/walkthrough/commands.ts'
import type { StageEvent } from '../../shared/walkthrough/events.ts'
import { frameAt, throughTie } from '../../shared/walkthrough/motion.ts'
import type { PaneId, StageClip } from '../../shared/walkthrough/stage.ts'
import type { Bridge } from '../bridge/index.ts'
import { Transport } from '../playback/index.ts'
import { fetchOriginal } from '../playback/originalPixels.ts'
import { StageStore } from '../playback/stageStore.ts'
import { createStageView, type StageView } from '../playback/stageView.ts'
import { faultOf } from '../ui/notices.ts'
import { BenchMarks } from './benchMarks.ts'
import { createBenchState, fromStage, type BenchState } from './benchState.ts'
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
  readonly marks: BenchMarks
  readonly #frameListeners = new Set<() => void>()
  /** The view while the room is on the page. */
  view: StageView | null = null

  constructor(desk: Bridge) {
    this.desk = desk
    this.transport = new Transport(this.store)
    this.saver = new MarksSaver((diff) => desk.call('marks.apply', { diff }), (saving) => this.state.setState({ saving }))
    this.marks = new BenchMarks(this)
    this.store.listen((_, event, stage) => {
      // A move of the playhead is nobody's business but the view's.
      if (event.type === 'seek' || event.type === 'draft' || event.type === 'pointer') return
      const patch = fromStage(stage, this.state.getState())
      if (Object.keys(patch).length > 0) this.state.setState(patch)
    })
  }

  get active(): PaneId { return this.store.stage.active }

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
  /** Turns a pane whose clip is now known to be mirrored, or not to be, and any other pane with the same clip. */
  turn(pane: PaneId): void {
    const { clipId } = this.store.stage.panes[pane]
    for (const each of [0, 1] as const) if (this.store.stage.panes[each].clipId === clipId) this.toggleMirror(each)
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
  /** Moves one end of a pane's loop to a frame; the other end stays at least a frame away. */
  setLoopEnd(pane: PaneId, end: 'from' | 'to', frame: number): void {
    const clip = this.clip(pane)
    const loop = this.transport.state.getState().loops[pane]
    if (!clip || !loop) return
    const [first, last] = [frameAt(clip.frames, loop.from), frameAt(clip.frames, loop.to - 1)]
    const next = end === 'from' ? loopOf(clip, Math.min(frame, last), last) : loopOf(clip, first, Math.max(frame, first))
    if (next && (next.from !== loop.from || next.to !== loop.to)) this.setLoop(pane, next)
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

  // Tools.
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
    else if (selected !== null) this.marks.select(null)
  }
  takeTool(tool: Shape | 'select' | 'pointer', meaning: Meaning | null = null): void {
    this.state.setState({ tool, meaning, palette: null, ...(tool === 'select' ? {} : { selected: null }) })
  }
}
