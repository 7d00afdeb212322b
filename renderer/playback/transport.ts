import { createStore, type StoreApi } from 'zustand/vanilla'
import {
  clampTick, realSeconds, throughTie, tickOf, ticksPerRealSecond, type Loop, type Tie,
} from '../../shared/walkthrough/motion.ts'
import type { Motion, PaneId, Stage, StageClip } from '../../shared/walkthrough/stage.ts'
import { frameLength, frameOutside, headAt, nearestTick, type Head } from './head.ts'
import type { StageStore } from './stageStore.ts'

export const paneIds: readonly PaneId[] = [0, 1]
export const otherPane = (pane: PaneId): PaneId => (pane === 0 ? 1 : 0)

/** Speeds of play as parts of real time. */
export const playRates = [1 / 8, 1 / 4, 1 / 2, 1] as const

/** How the coach has set the transport; it is no part of the stage. Changes at a key or a click, never while the playhead moves. */
export interface TransportState {
  /** Part of real time, 1/8 to 1. */
  readonly rate: number
  /** The span each pane repeats, in its ticks, the end not included; null plays through. Of two that play, that of the leader counts. */
  readonly loops: readonly [Loop | null, Loop | null]
  /** The pane last moved: with a tie, the other follows it. */
  readonly leader: PaneId
}

/**
 * Moves the playheads of the stage: by frames, by drag, by play, together by a tie or apart. Every move is an event of the
 * stage (seek, play, stop, tie, swap), so that a recording of the events is a recording of what was seen. Holds nothing that
 * the stage holds; where the playheads are is asked of the store.
 */
export class Transport {
  readonly state: StoreApi<TransportState> = createStore<TransportState>()(() => ({ rate: 1 / 4, loops: [null, null], leader: 0 }))
  readonly #store: StageStore
  /** Where the leader would stand if its clip had no end (the follower may have run on past it), and the heads it goes with. */
  #beyond: { readonly tick: number, readonly ticks: readonly [number, number] } | null = null

  constructor(store: StageStore) {
    this.#store = store
  }

  get isPlaying(): boolean { return this.#store.stage.motion !== null }
  get tied(): Tie | null { return this.#store.stage.tie }

  /** A pane's playhead now, or null where it holds no clip. */
  head(pane: PaneId): Head | null {
    const clip = this.#clip(pane)
    return clip && headAt(clip.frames, this.#store.settled().panes[pane].tick)
  }

  /** Moves a pane to the frame on screen at a tick, the other with it where they are tied. */
  seek(pane: PaneId, tick: number): void {
    const clip = this.#clip(pane)
    if (!clip) return
    this.pause()
    this.#place(pane, clampTick(clip.frames, tick))
  }

  seekFrame(pane: PaneId, index: number): void {
    const clip = this.#clip(pane)
    if (clip) this.seek(pane, tickOf(clip.frames, index))
  }

  /** Moves by whole frames of a pane. A tied pane past its clip's end goes on by its usual frame length. */
  step(pane: PaneId, frames: number): void {
    const clip = this.#clip(pane)
    if (!clip) return
    this.pause()
    const beyond = this.#beyondOf(pane)
    if (beyond !== null && frameOutside(clip.frames, beyond)) {
      this.#place(pane, this.#withinTie(pane, beyond + frames * frameLength(clip.frames)))
      return
    }
    const to = this.head(pane)!.frame + frames
    const last = clip.frames.ticks.length - 1
    const over = this.tied ? Math.max(0, to - last) + Math.min(0, to) : 0
    this.#place(pane, this.#withinTie(pane, tickOf(clip.frames, to) + over * frameLength(clip.frames)))
  }

  /** Begins a drag: `by` takes the frames moved since it began, whole or not. */
  jog(pane: PaneId): { by: (frames: number) => void } {
    this.pause()
    const from = this.head(pane)?.frame ?? 0
    let before = from
    return {
      by: (frames) => {
        const clip = this.#clip(pane)
        const to = clip ? Math.min(Math.max(from + Math.round(frames), 0), clip.frames.ticks.length - 1) : from
        if (to === before) return
        before = to
        this.seekFrame(pane, to)
      },
    }
  }

  /** Ties the frames the panes show now. Both must hold a clip. */
  tie(): void {
    this.pause()
    const heads = paneIds.map((pane) => this.head(pane))
    if (heads[0] && heads[1]) {
      this.tieAt({ left: tickOf(this.#clip(0)!.frames, heads[0].frame), right: tickOf(this.#clip(1)!.frames, heads[1].frame) })
    }
  }

  /** Ties two instants; the pane last moved stays and the other comes to it. */
  tieAt(tie: Tie): void {
    if (!this.#clip(0) || !this.#clip(1)) return
    this.pause()
    this.#beyond = null
    this.#store.dispatch({ type: 'tie', tie })
    const { leader } = this.state.getState()
    this.#place(leader, this.head(leader)!.tick)
  }

  untie(): void {
    this.pause()
    this.#beyond = null
    if (this.tied) this.#store.dispatch({ type: 'tie', tie: null })
  }

  /** The panes change places: clips, playheads, tie and loops. */
  swap(): void {
    this.pause()
    this.#beyond = null
    this.#store.dispatch({ type: 'swap' })
    this.state.setState(({ loops, leader }) => ({ loops: [loops[1], loops[0]], leader: otherPane(leader) }))
  }

  /** A span to repeat, in the pane's ticks, the end not included; null plays through. A run goes on from where it is. */
  setLoop(pane: PaneId, loop: Loop | null): void {
    const real = loop && loop.to > loop.from ? loop : null
    this.#goOn(() => this.state.setState(({ loops }) => ({ loops: pane === 0 ? [real, loops[1]] : [loops[0], real] })))
  }

  /** Part of real time, held between 1/8 and 1; a run goes on from where it is. */
  setRate(rate: number): void {
    this.#goOn(() => this.state.setState({ rate: Math.min(Math.max(rate, 1 / 8), 1) }))
  }

  /**
   * Plays a pane, or both. Tied panes always play both. At its end (or outside its loop) play begins anew; of two, one
   * that runs past its end holds its last frame while the other plays on.
   */
  play(which: PaneId | 'both' = this.state.getState().leader): void {
    this.pause()
    const open = paneIds.filter((pane) => this.#clip(pane))
    const chosen = which === 'both' || (this.tied && open.length === 2) ? open : open.filter((pane) => pane === which)
    if (chosen.length === 0) return
    const { leader } = this.state.getState()
    const lead = which !== 'both' ? which : chosen.includes(leader) ? leader : chosen[0]!
    this.#setOut(chosen, lead)
    this.#begin(chosen)
  }

  /** Comes to rest, each playhead at the beginning of the frame shown. */
  pause(): void {
    this.#stop(true)
  }

  toggle(which?: PaneId | 'both'): void {
    if (this.isPlaying) this.pause()
    else this.play(which)
  }

  /** To be called once an animation frame: ends a run that has come to its clips' ends. True while something plays. */
  advance(): boolean {
    const { motion, panes } = this.#store.stage
    if (!motion) return false
    if (motion.loop) return true
    const moving = motion.moving === 'both' ? paneIds : [motion.moving]
    const left = Math.max(0, ...moving.map((pane) => {
      const clip = panes[pane].clipId === null ? null : this.#clip(pane)
      return clip ? realSeconds(clip, motion.from[pane], clip.frames.endTick) : 0
    }))
    if (this.#elapsed(motion) < left) return true
    this.pause()
    return false
  }

  #clip(pane: PaneId): StageClip | null {
    const id = this.#store.stage.panes[pane].clipId
    return id === null ? null : this.#store.clips[id] ?? null
  }

  /** Seconds of the world that a motion has gone through. */
  #elapsed(motion: Motion): number {
    return Math.max(0, this.#store.now() - motion.since) / 1000 * motion.rate
  }

  /** Brings the heads to where play begins: tied panes in step, out of a clip's end, into the loop. */
  #setOut(chosen: readonly PaneId[], lead: PaneId): void {
    const { loops } = this.state.getState()
    const head = (pane: PaneId) => this.head(pane)!
    const atEnd = chosen.every((pane) => head(pane).frame === this.#clip(pane)!.frames.ticks.length - 1)
    const into = (pane: PaneId, tick: number, first: number) => {
      const loop = loops[pane]
      if (loop) return tick >= loop.from && tick < loop.to ? tick : loop.from
      return atEnd ? first : tick
    }
    if (this.tied && chosen.length === 2) {
      this.#place(lead, into(lead, this.#beyondOf(lead) ?? head(lead).tick, this.#reach(lead, this.tied)[0]))
      return
    }
    this.#leads(lead)
    const ticks = this.#ticks()
    this.#seek(paneIds.map((pane) => chosen.includes(pane) ? into(pane, ticks[pane], this.#clip(pane)!.frames.ticks[0]!) : ticks[pane]))
  }

  /** Begins the motion of these panes from where they stand. */
  #begin(chosen: readonly PaneId[]): void {
    const { rate, loops, leader } = this.state.getState()
    const moving = chosen.length === 2 ? 'both' : chosen[0]!
    let loop = loops[moving === 'both' ? leader : moving]
    if (loop && moving === 'both' && leader === 1) {
      // The stage counts the loop of two panes in the left one's ticks.
      const [left, right] = this.#ticks()
      const through = (tick: number) => throughTie(this.#clip(1)!, this.#clip(0)!, right, left, tick)
      loop = { from: through(loop.from), to: through(loop.to) }
    }
    this.#store.dispatch({ type: 'play', motion: { rate, moving, loop } })
  }

  /** Makes a change, and takes a run up again from the very ticks it had got to. */
  #goOn(change: () => void): void {
    const { motion } = this.#store.stage
    this.#stop(false)
    change()
    if (!motion) return
    const { loops, leader } = this.state.getState()
    const chosen = motion.moving === 'both' ? paneIds.filter((pane) => this.#clip(pane)) : [motion.moving]
    const lead = chosen.includes(leader) ? leader : chosen[0]!
    if (loops[lead]) this.#setOut(chosen, lead)
    this.#begin(chosen)
  }

  #stop(rest: boolean): void {
    const { motion, tie } = this.#store.stage
    if (!motion) return
    const { leader } = this.state.getState()
    const lead = this.#clip(leader)
    const from = this.#beyondOf(leader) ?? motion.from[leader]
    const beyond = tie && lead && !motion.loop && motion.moving === 'both'
      ? this.#withinTie(leader, from + this.#elapsed(motion) * ticksPerRealSecond(lead)) : null
    this.#store.dispatch({ type: 'stop' })
    if (rest) this.#seek(paneIds.map((pane) => {
      const clip = this.#clip(pane)
      return clip ? tickOf(clip.frames, this.head(pane)!.frame) : this.#ticks()[pane]
    }))
    // Inside its clip the leader rests on a frame; only past the end is the run's own place worth keeping.
    this.#beyond = beyond !== null && frameOutside(lead!.frames, beyond) ? { tick: beyond, ticks: this.#ticks() } : null
  }

  /** Where a pane of a tie stands without regard to its clip's end, if that was past it when the heads last moved. */
  #beyondOf(pane: PaneId): number | null {
    const tie = this.tied
    const beyond = this.#beyond
    if (!tie || !beyond) return null
    const from = this.#store.stage.motion?.from ?? this.#ticks()
    if (from[0] !== beyond.ticks[0] || from[1] !== beyond.ticks[1]) return null
    const { leader } = this.state.getState()
    return pane === leader ? beyond.tick : throughTie(this.#clip(leader)!, this.#clip(pane)!, tied(tie, leader), tied(tie, pane), beyond.tick)
  }

  /** First and last tick of a pane at which either pane of a tie is inside its clip. */
  #reach(pane: PaneId, tie: Tie): [number, number] {
    const own = this.#clip(pane)!
    const other = this.#clip(otherPane(pane))
    if (!other) return [own.frames.ticks[0]!, own.frames.endTick]
    const through = (tick: number) => throughTie(other, own, tied(tie, otherPane(pane)), tied(tie, pane), tick)
    return [Math.min(own.frames.ticks[0]!, through(other.frames.ticks[0]!)), Math.max(own.frames.endTick, through(other.frames.endTick))]
  }

  #withinTie(pane: PaneId, tick: number): number {
    const tie = this.tied
    if (!tie) return clampTick(this.#clip(pane)!.frames, tick)
    const [first, end] = this.#reach(pane, tie)
    return Math.min(Math.max(tick, first), end - 1)
  }

  /** Rests a pane at a tick; with a tie the other shows its frame nearest to the same instant. */
  #place(pane: PaneId, tick: number): void {
    const clip = this.#clip(pane)
    if (!clip) return
    const tie = this.tied
    const other = otherPane(pane)
    const follow = this.#clip(other)
    this.#leads(pane)
    const ticks: [number, number] = [...this.#ticks()]
    ticks[pane] = clampTick(clip.frames, tick)
    if (tie && follow) ticks[other] = nearestTick(follow.frames, throughTie(clip, follow, tied(tie, pane), tied(tie, other), tick))
    this.#beyond = tie && frameOutside(clip.frames, tick) ? { tick, ticks } : null
    this.#seek(ticks)
  }

  #ticks(): readonly [number, number] {
    return ticksOf(this.#store.settled())
  }

  /** Nothing is said where nothing moves. */
  #seek(to: readonly number[]): void {
    const now = this.#ticks()
    const ticks = [to[0]!, to[1]!] as const
    if (ticks[0] !== now[0] || ticks[1] !== now[1]) this.#store.dispatch({ type: 'seek', ticks })
  }

  /** Written only when it changes, so that no room is told of mere scrubbing. */
  #leads(pane: PaneId): void {
    if (this.state.getState().leader !== pane) this.state.setState({ leader: pane })
  }
}

const ticksOf = ({ panes }: Stage): readonly [number, number] => [panes[0].tick, panes[1].tick]
const tied = (tie: Tie, pane: PaneId): number => (pane === 0 ? tie.left : tie.right)
