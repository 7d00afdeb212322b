import { createStore, type StoreApi } from 'zustand/vanilla'
import { clampTick, frameAt, realSeconds, throughTie, tickOf, ticksPerRealSecond, type ClipTime, type Loop, type Tie } from '../../shared/walkthrough/motion.ts'
import { emptyStage, playheads, type Motion, type Stage } from '../../shared/walkthrough/stage.ts'
import type { Clock } from './clock.ts'
import { frameLength, frameOutside, headAt, nearestTick, type Head } from './head.ts'

export type Side = 'left' | 'right'
export const sides: readonly Side[] = ['left', 'right']
export const otherSide = (side: Side): Side => (side === 'left' ? 'right' : 'left')

/** Speeds of play as parts of real time. */
export const playRates = [1 / 8, 1 / 4, 1 / 2, 1] as const

/** What a room may show of the transport. It changes at a key or a click, never while the playhead merely moves. */
export interface TransportState {
  /** Which panes move by themselves; empty at rest. */
  readonly playing: readonly Side[]
  /** The motion as a walkthrough's log records it, while panes play; it set out from the heads' ticks at that moment. */
  readonly motion: Pick<Motion, 'rate' | 'moving' | 'loop'> | null
  /** Part of real time, 1/8 to 1. */
  readonly rate: number
  /** The instants shown together, in ticks of each clip; null where the panes move apart. */
  readonly tie: Tie | null
  /** The span each pane repeats, in its ticks, the end not included; null plays through. Of two that play, that of the pane last moved counts. */
  readonly loops: Readonly<Record<Side, Loop | null>>
  /** The pane last moved: with a tie, the other follows it. */
  readonly leader: Side
}

export type Heads = Readonly<Record<Side, Head | null>>

/** Where the panes stand at a moment of a run; a pane left out stays where it is. May lie outside the clip: it is held. */
export type TicksAt = (seconds: number) => Readonly<Partial<Record<Side, number>>>

interface Run {
  readonly sides: readonly Side[]
  /** The clock's seconds when it began. */
  readonly began: number
  readonly ticksAt: TicksAt
  /** Seconds after which nothing moves any more. */
  readonly length: number
  /** The leader's tick at a moment, not held at its clip's end, where panes are tied and go through without a loop. */
  readonly leadAt: ((seconds: number) => number) | null
}

/**
 * The playheads of one or two panes: moved by frames, by drag, by play, together by a tie or apart. Outside React:
 * `state` is a store of what changes rarely, `heads` is read where it is needed, `onMoved` tells of each move.
 */
export class Transport {
  readonly state: StoreApi<TransportState> = createStore<TransportState>()(() => ({
    playing: [], motion: null, rate: 1 / 4, tie: null, loops: { left: null, right: null }, leader: 'left',
  }))
  readonly #clock: Clock
  readonly #wake: () => void
  readonly #clips: Record<Side, ClipTime | null> = { left: null, right: null }
  #heads: Record<Side, Head | null> = { left: null, right: null }
  /** Where the leader would stand if its clip had no end: the follower may run on past it. Null outside a tie. */
  #lead: number | null = null
  #run: Run | null = null
  readonly #listeners = new Set<(heads: Heads) => void>()

  /** @param wake asks for `advance` to be called at the next animation frame */
  constructor(clock: Clock, wake: () => void) {
    this.#clock = clock
    this.#wake = wake
  }

  get heads(): Heads { return this.#heads }
  get isPlaying(): boolean { return this.#run !== null }
  isMoving(side: Side): boolean { return this.#run?.sides.includes(side) ?? false }
  clip(side: Side): ClipTime | null { return this.#clips[side] }

  /** Called after each move of a playhead. Returns what takes the listener off. */
  onMoved(listener: (heads: Heads) => void): () => void {
    this.#listeners.add(listener)
    return () => this.#listeners.delete(listener)
  }

  /** Puts a clip into a pane, its playhead at `tick` (its first frame when left out). The tie and the pane's loop end. */
  setClip(side: Side, clip: ClipTime | null, tick?: number): void {
    this.pause()
    this.#clips[side] = clip
    this.#lead = null
    this.state.setState((state) => ({ tie: null, loops: { ...state.loops, [side]: null } }))
    this.#move({ [side]: clip ? headAt(clip.frames, tick ?? clip.frames.ticks[0]!) : null })
  }

  /** The panes change places: clips, playheads, tie and loops. */
  swap(): void {
    this.#stopRun()
    const { left, right } = this.#clips
    this.#clips.left = right
    this.#clips.right = left
    this.state.setState(({ tie, loops, leader }) => ({
      tie: tie && { left: tie.right, right: tie.left }, loops: { left: loops.right, right: loops.left }, leader: otherSide(leader),
    }))
    this.#move({ left: this.#heads.right, right: this.#heads.left })
  }

  /** Moves a pane to the frame on screen at a tick, the other with it where they are tied. */
  seek(side: Side, tick: number): void {
    const clip = this.#clips[side]
    if (!clip) return
    this.#stopRun()
    this.#lead = null
    this.#place(side, clampTick(clip.frames, tick))
  }

  seekFrame(side: Side, index: number): void {
    const clip = this.#clips[side]
    if (clip) this.seek(side, tickOf(clip.frames, index))
  }

  /** Moves by whole frames of a pane. A tied pane past its clip's end goes on by its usual frame length. */
  step(side: Side, frames: number): void {
    const clip = this.#clips[side]
    if (!clip) return
    this.#stopRun()
    const lead = this.#leadOf(side)
    const outside = lead !== null && frameOutside(clip.frames, lead)
    if (outside) {
      const moved = this.#withinTie(side, lead + frames * frameLength(clip.frames))
      this.#place(side, moved)
      return
    }
    const at = this.#heads[side]?.frame ?? 0
    const to = at + frames
    const last = clip.frames.ticks.length - 1
    const over = to > last ? to - last : to < 0 ? to : 0
    const tick = tickOf(clip.frames, to) + (this.state.getState().tie ? over * frameLength(clip.frames) : 0)
    this.#place(side, this.#withinTie(side, tick))
  }

  /** Begins a drag: `by` takes the frames moved since it began, whole or not. */
  jog(side: Side): { by: (frames: number) => void } {
    this.#stopRun()
    const from = this.#heads[side]?.frame ?? 0
    let before = from
    return {
      by: (frames) => {
        const clip = this.#clips[side]
        const to = clip ? Math.min(Math.max(from + Math.round(frames), 0), clip.frames.ticks.length - 1) : from
        if (to === before) return
        before = to
        this.seekFrame(side, to)
      },
    }
  }

  /** Ties the frames the panes show now. Both must hold a clip. */
  tie(): void {
    const { left, right } = this.#heads
    if (!left || !right) return
    this.tieAt({ left: tickOf(this.#clips.left!.frames, left.frame), right: tickOf(this.#clips.right!.frames, right.frame) })
  }

  /** Ties two instants; the pane last moved stays and the other comes to it. */
  tieAt(tie: Tie): void {
    if (!this.#clips.left || !this.#clips.right) return
    this.#stopRun()
    this.#lead = null
    this.state.setState({ tie })
    const { leader } = this.state.getState()
    this.#place(leader, this.#heads[leader]!.tick)
  }

  untie(): void {
    this.#stopRun()
    this.#lead = null
    this.state.setState({ tie: null })
  }

  /** Moves a pane's tied instant by frames; that pane moves, the other stays. */
  nudgeTie(side: Side, frames: number): void {
    const { tie } = this.state.getState()
    const clip = this.#clips[side]
    const other = otherSide(side)
    if (!tie || !clip || !this.#heads[other]) return
    const stays = this.#leadOf(other) ?? this.#heads[other].tick
    this.#stopRun()
    this.state.setState({ tie: { ...tie, [side]: tickOf(clip.frames, frameAt(clip.frames, tie[side]) + frames) } })
    this.#place(other, stays)
  }

  /** A span to repeat, in the pane's ticks, the end not included; null plays through. A run goes on from where it is. */
  setLoop(side: Side, loop: Loop | null): void {
    this.#goOn(() => this.state.setState((state) => ({ loops: { ...state.loops, [side]: loop && loop.to > loop.from ? loop : null } })))
  }

  /** Part of real time, held between 1/8 and 1; a run goes on from where it is. */
  setRate(rate: number): void {
    this.#goOn(() => this.state.setState({ rate: Math.min(Math.max(rate, 1 / 8), 1) }))
  }

  /**
   * Plays a pane, or both. Tied panes always play both. At its end (or outside its loop) play begins anew; of two, one
   * that runs past its end holds its last frame while the other plays on. The motion is the one that a walkthrough replays.
   */
  play(which: Side | 'both' = this.state.getState().leader): void {
    this.#stopRun()
    const { tie, leader } = this.state.getState()
    const open = sides.filter((side) => this.#clips[side])
    const chosen = open.length === 2 && tie ? open : which === 'both' ? open : open.filter((side) => side === which)
    if (chosen.length === 0) return
    const side = which !== 'both' ? which : chosen.includes(leader) ? leader : chosen[0]!
    this.#setOut(chosen, side)
    this.#set(chosen)
  }

  /** Follows a course given from outside, such as a walkthrough's: pure in its seconds, so that frames can be fetched ahead. */
  follow(ticksAt: TicksAt, length = Infinity): void {
    this.#stopRun()
    this.#lead = null
    this.#start({ sides: sides.filter((side) => this.#clips[side]), began: 0, ticksAt, length, leadAt: null }, null)
  }

  /** Comes to rest on the frames now shown. */
  pause(): void {
    this.#stopRun()
  }

  toggle(which?: Side | 'both'): void {
    if (this.#run) this.pause()
    else this.play(which)
  }

  /** To be called once an animation frame, after the clock's tick. True while something plays. */
  advance(): boolean {
    const run = this.#run
    if (!run) return false
    const seconds = Math.max(0, this.#clock.seconds - run.began)
    this.#moveTo(run.ticksAt(seconds))
    if (run.leadAt) this.#lead = run.leadAt(seconds)
    if (seconds < run.length) return true
    this.#stopRun()
    return false
  }

  /** Frames that will be on screen at so many seconds from now, if it goes on as it does; null at rest. */
  foresee(side: Side, seconds: number): number | null {
    const run = this.#run
    const clip = this.#clips[side]
    if (!run || !clip || !run.sides.includes(side)) return null
    const now = Math.max(0, this.#clock.seconds - run.began)
    const tick = run.ticksAt(now + seconds)[side]
    return tick === undefined ? null : frameAt(clip.frames, tick)
  }

  /** Brings the heads to where play begins, told as a move: tied panes in step, out of a clip's end, into the loop. */
  #setOut(chosen: readonly Side[], side: Side): void {
    const { tie, loops } = this.state.getState()
    const atEnd = chosen.every((each) => this.#heads[each]!.frame === this.#clips[each]!.frames.ticks.length - 1)
    const loop = loops[side]
    if (tie && chosen.length === 2) {
      const from = this.#leadOf(side) ?? this.#heads[side]!.tick
      this.#place(side, loop ? (from >= loop.from && from < loop.to ? from : loop.from) : atEnd ? this.#reach(side, tie)[0] : from)
      return
    }
    this.#leads(side)
    this.#moveTo(Object.fromEntries(chosen.map((each) => {
      const own = loops[each]
      const { tick } = this.#heads[each]!
      return [each, own ? (tick >= own.from && tick < own.to ? tick : own.from) : atEnd ? this.#clips[each]!.frames.ticks[0]! : tick]
    })))
  }

  /** Begins the motion of these panes from their heads, worked out by the same code that replays a walkthrough. */
  #set(chosen: readonly Side[]): void {
    const { rate, loops, tie, leader } = this.state.getState()
    const [left, right] = [this.#heads.left, this.#heads.right]
    const moving = chosen.length === 2 ? 'both' : chosen[0] === 'left' ? 0 : 1
    let loop = loops[chosen.length === 2 ? leader : chosen[0]!]
    if (loop && moving === 'both' && leader === 'right') {
      // The log counts the loop of two panes in the left one's ticks.
      const through = (tick: number) => throughTie(this.#clips.right!, this.#clips.left!, right!.tick, left!.tick, tick)
      loop = { from: through(loop.from), to: through(loop.to) }
    }
    const motion: Motion = { rate, moving, loop, from: [left?.tick ?? 0, right?.tick ?? 0], since: 0 }
    const stage: Stage = {
      ...emptyStage, motion,
      panes: [{ ...emptyStage.panes[0], clipId: left && 'left', tick: left?.tick ?? 0 }, { ...emptyStage.panes[1], clipId: right && 'right', tick: right?.tick ?? 0 }],
    }
    const clips = Object.fromEntries(sides.flatMap((side) => this.#clips[side] ? [[side, this.#clips[side]]] : []))
    const leadFrom = this.#lead ?? this.#heads[leader]?.tick ?? 0
    const leadClip = this.#clips[leader]
    this.#start({
      sides: chosen, began: this.#clock.instant(),
      length: loop ? Infinity : Math.max(...chosen.map((side) => realSeconds(this.#clips[side]!, this.#heads[side]!.tick, this.#clips[side]!.frames.endTick))) / rate,
      leadAt: tie && leadClip && !loop && chosen.length === 2 ? (seconds) => this.#withinTie(leader, leadFrom + seconds * rate * ticksPerRealSecond(leadClip)) : null,
      ticksAt: (seconds) => {
        const at = playheads(stage, clips, seconds * 1000)
        return Object.fromEntries(chosen.map((side) => [side, side === 'left' ? at[0] : at[1]]))
      },
    }, { rate, moving, loop })
  }

  /** Makes a change, and takes a run up again from the very ticks it had got to. */
  #goOn(change: () => void): void {
    const run = this.#run
    if (run && !this.state.getState().motion) {
      // A course from outside is not this transport's to change.
      change()
      return
    }
    this.#stopRun(false)
    change()
    if (!run) return
    const { leader } = this.state.getState()
    const { loops } = this.state.getState()
    const loop = loops[run.sides.includes(leader) ? leader : run.sides[0]!]
    if (loop) this.#setOut(run.sides, run.sides.includes(leader) ? leader : run.sides[0]!)
    this.#set(run.sides)
  }

  /** Written only when it changes, so that no room is told of mere scrubbing. */
  #leads(side: Side): void {
    if (this.state.getState().leader !== side) this.state.setState({ leader: side })
  }

  #start(run: Run, motion: TransportState['motion']): void {
    this.#run = run
    this.state.setState({ playing: run.sides, motion })
    this.#wake()
  }

  /** Ends the run; each playhead rests at the beginning of the frame shown, unless the run is to go on. */
  #stopRun(rest = true): void {
    if (!this.#run) return
    this.#run = null
    const { tie, leader } = this.state.getState()
    const lead = this.#clips[leader]
    // Inside its clip the leader rests on a frame; only past the end is the run's own place worth keeping.
    if (!tie || !lead || this.#lead === null || !frameOutside(lead.frames, this.#lead)) this.#lead = null
    this.state.setState({ playing: [], motion: null })
    this.#move(!rest ? {} : Object.fromEntries(sides.map((side) => {
      const head = this.#heads[side]
      return [side, head && { frame: head.frame, tick: tickOf(this.#clips[side]!.frames, head.frame) }]
    })))
  }

  /** Where the leader stands without regard to its clip's end, if this side leads a tie. */
  #leadOf(side: Side): number | null {
    const { tie, leader } = this.state.getState()
    if (!tie || this.#lead === null) return null
    return side === leader ? this.#lead : throughTie(this.#clips[leader]!, this.#clips[side]!, tie[leader], tie[side], this.#lead)
  }

  /** First and last tick of a side at which either pane of a tie is inside its clip. */
  #reach(side: Side, tie: Tie): [number, number] {
    const own = this.#clips[side]!
    const other = this.#clips[otherSide(side)]
    if (!other) return [own.frames.ticks[0]!, own.frames.endTick]
    const through = (tick: number) => throughTie(other, own, tie[otherSide(side)], tie[side], tick)
    return [Math.min(own.frames.ticks[0]!, through(other.frames.ticks[0]!)), Math.max(own.frames.endTick, through(other.frames.endTick))]
  }

  #withinTie(side: Side, tick: number): number {
    const { tie } = this.state.getState()
    if (!tie) return clampTick(this.#clips[side]!.frames, tick)
    const [first, end] = this.#reach(side, tie)
    return Math.min(Math.max(tick, first), end - 1)
  }

  /** Rests a pane at a tick; with a tie the other shows its frame nearest to the same instant. */
  #place(side: Side, tick: number): void {
    const clip = this.#clips[side]
    if (!clip) return
    const { tie } = this.state.getState()
    const follower = otherSide(side)
    const follow = this.#clips[follower]
    this.#leads(side)
    this.#lead = tie && frameOutside(clip.frames, tick) ? tick : null
    const heads: Partial<Record<Side, Head>> = { [side]: headAt(clip.frames, tick) }
    if (tie && follow) heads[follower] = headAt(follow.frames, nearestTick(follow.frames, throughTie(clip, follow, tie[side], tie[follower], tick)))
    this.#move(heads)
  }

  #moveTo(ticks: Readonly<Partial<Record<Side, number>>>): void {
    const heads: Partial<Record<Side, Head>> = {}
    for (const side of sides) {
      const clip = this.#clips[side]
      const tick = ticks[side]
      if (clip && tick !== undefined) heads[side] = headAt(clip.frames, tick)
    }
    this.#move(heads)
  }

  #move(heads: Readonly<Partial<Record<Side, Head | null>>>): void {
    this.#heads = { ...this.#heads, ...heads }
    for (const listener of this.#listeners) listener(this.#heads)
    this.#wake()
  }
}
