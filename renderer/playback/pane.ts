import type { PaneId, StageClip } from '../../shared/walkthrough/stage.ts'
import { neighbours, onGrid, strideFor } from './decodePlan.ts'
import { FrameSource, type SourceTimings } from './frameSource.ts'
import { PlayedFrames, type PlayedCounts } from './playedFrames.ts'
import { fittingSize } from './pictureSize.ts'
import type { DecoderStats, OpenedCopy, PictureSize, PlaybackError } from './protocol.ts'
import { VideoLayer, type OriginalFetcher, type Shown } from './videoLayer.ts'

/** A clip as a pane opens it; its size is the original's in display space: the image space of marks and transforms. */
export interface PaneClip extends Pick<StageClip, 'id' | 'width' | 'height' | 'frames'> {
  /** Address of the review copy. */
  readonly url: string
  /** Fetches the original's own pixels for a frame at rest; none leaves the review copy on screen. */
  readonly original?: OriginalFetcher
}

export interface PaneOptions {
  readonly canvas: HTMLCanvasElement
  readonly ground?: string
  readonly restMs?: number
  readonly budgetBytes?: number
  /** Follow the canvas's own size on the page (the default). Its size must come from CSS. */
  readonly followSize?: boolean
}

export interface PaneStats {
  readonly timings: SourceTimings
  readonly decoder: DecoderStats | null
  readonly played: PlayedCounts
  /** One of so many frames was shown at the worst, where the machine fell behind: 1, 2, 4. */
  readonly coarsest: number
  readonly paints: number
  readonly settleTimes: readonly number[]
}

/** What is coming in a pane that may move. */
export interface Coming {
  /** Frames at the next refreshes of the screen, in their order. */
  readonly frames: readonly number[]
  /** The frame some while later: where it is the present one, the pane is at rest though the clock runs. */
  readonly later: number
}

/** Frames around a resting playhead held ready for a step; fewer where many pictures share the processors. */
const readyAround = 6
const readyInCrowd = 1
/** Frames over which falling behind is judged. */
const judged = 24

interface Due {
  readonly due: number
  readonly ahead: readonly number[]
  readonly stride: number
  readonly still: boolean
}

/** All of a pane that goes along where two change places. */
interface Held {
  readonly source: FrameSource | null
  readonly clip: PaneClip | null
  readonly copy: OpenedCopy | null
  readonly small: PictureSize | null
}

/** One pane: a clip's frames, the canvas they are painted on, and what is due there. */
export class Pane {
  readonly id: PaneId
  readonly layer: VideoLayer
  readonly #options: PaneOptions
  readonly #wake: () => void
  readonly #played = new PlayedFrames()
  readonly #problems = new Set<(error: PlaybackError) => void>()
  readonly #observer: ResizeObserver | null
  /** Whether another picture shows too: then frames are made small in their decoders' threads, and the page is left free. */
  shared = false
  /** Whether more than two pictures are shown at once: then what is due has the processors to itself. */
  crowded = false
  #clip: PaneClip | null = null
  #copy: OpenedCopy | null = null
  /** What frames are made small to; null for whole ones. */
  #small: PictureSize | null = null
  #source: FrameSource | null = null
  #offered: number | null = null
  /** The frame last asked for. */
  #due: number | null = null
  /** The want whose frame was last offered; anything older is stale. */
  #newest = 0
  #last = 0
  #direction: 1 | -1 = 1
  #playing = false
  /** How much coarser than the screen's refreshes play is shown, where the machine falls behind: 1, 2, 4. */
  #coarser = 1
  #coarsest = 1
  #judgedFrom: PlayedCounts = { shown: 0, dropped: 0, late: 0 }

  constructor(id: PaneId, wake: () => void, options: PaneOptions) {
    this.id = id
    this.#wake = wake
    this.#options = options
    this.layer = new VideoLayer({
      canvas: options.canvas, wake,
      ...(options.ground === undefined ? {} : { ground: options.ground }),
      ...(options.restMs === undefined ? {} : { restMs: options.restMs }),
    })
    this.#observer = options.followSize === false ? null : new ResizeObserver((entries) => {
      const entry = entries[entries.length - 1]
      const { width, height } = entry!.contentRect
      const device = entry!.devicePixelContentBoxSize?.[0]?.inlineSize
      // The box in device pixels is exact to the pixel, but knows nothing of an emulated screen.
      const exact = device !== undefined && width > 0 && Math.abs(device - width * devicePixelRatio) <= 1
      this.layer.setSize(width, height, exact ? device / width : devicePixelRatio)
    })
    this.#observer?.observe(options.canvas, { box: 'device-pixel-content-box' })
  }

  get clip(): PaneClip | null { return this.#clip }
  /** Settles with the clip last opened; null in an empty pane. */
  get opened(): Promise<OpenedCopy> | null { return this.#source?.opened ?? null }
  /** The frame whose pixels are on the canvas; marks are drawn for this one. */
  get shown(): number | null { return this.layer.shown }

  /** Called after each paint, in its animation frame. */
  onShown(listener: (shown: Shown) => void): () => void { return this.layer.onShown(listener) }

  /** Called with what went wrong: a clip that cannot play, or a damaged frame. */
  onProblem(listener: (error: PlaybackError) => void): () => void {
    this.#problems.add(listener)
    return () => this.#problems.delete(listener)
  }

  /**
   * Opens a clip in this pane in place of the one before.
   * @param warm the clip's source where it is open already; the pane's own from now on
   * @throws PlaybackError where the review copy cannot be played
   */
  open(clip: PaneClip, warm: FrameSource | null = null): Promise<OpenedCopy> {
    this.close()
    const source = warm ?? new FrameSource({
      url: clip.url, frames: clip.frames.ticks.length,
      ...(this.#options.budgetBytes === undefined ? {} : { budgetBytes: this.#options.budgetBytes }),
    })
    this.#clip = clip
    this.#source = source
    this.#listen(source)
    this.layer.setClip(clip, clip.original ?? null)
    source.opened.then((copy) => { if (this.#source === source) this.#copy = copy }, () => undefined)
    return source.opened
  }

  /** Empties the pane. */
  close(): void {
    if (!this.#clip) return
    this.#source?.dispose()
    this.#source = null
    this.#clip = null
    this.#copy = null
    this.#small = null
    this.#offered = null
    this.#due = null
    this.#newest = 0
    this.#last = 0
    this.#playing = false
    this.#played.rest()
    this.layer.setClip(null, null)
  }

  /**
   * One animation frame: asks for what is due, takes what has come, paints.
   * @param frame the frame on screen by the playhead, or null where the pane shows none
   * @param coming where the pane may move by itself; null at rest
   */
  update(frame: number | null, coming: Coming | null): void {
    if (frame === null || !this.#source) {
      this.layer.paint()
      return
    }
    const { due, ahead, stride, still } = coming ? this.#foresee(frame, coming) : this.#rest(frame)
    if (still === this.#playing) this.#turn(!still)
    this.#fit()
    this.#ask(due, ahead)
    this.#offer(due)
    this.layer.rest(still ? due : null)
    this.layer.paint()
    if (!still) {
      this.#played.record(due, this.layer.shown, stride)
      this.#judge()
    }
  }

  /** Asks at once where the playhead was moved by hand: waiting for the animation frame would cost up to a refresh. */
  expect(frame: number): void {
    if (!this.#source) return
    const { due, ahead } = this.#rest(frame)
    this.#ask(due, ahead)
  }

  #ask(due: number, ahead: readonly number[]): void {
    // The frame asked for before has come but was not painted yet: in a fast drag it is still newer than what is on
    // the canvas, and without it the picture would stand still until the drag does.
    if (this.#due !== due && this.#due !== null && !this.#source!.has(due)) this.#offer(this.#due)
    this.#due = due
    this.#source!.want(due, ahead)
  }

  /** Pictures that share the screen are made small before they reach the page. */
  #fit(): void {
    const drawn = this.layer.drawnSize
    const small = this.shared && this.#copy && drawn ? fittingSize(drawn, this.#copy, this.#small) : null
    if (small === this.#small) return
    this.#small = small
    this.#offered = null
    this.#source!.resize(small)
  }

  #offer(index: number): void {
    if (this.#offered === index) return
    const frame = this.#source!.take(index)
    if (!frame) return
    this.#offered = index
    this.#newest = this.#source!.serial
    this.layer.offer(index, frame)
  }

  async stats(): Promise<PaneStats> {
    return {
      timings: this.#source?.timings ?? { waits: [], atHand: 0 },
      decoder: await (this.#source?.stats() ?? null),
      played: this.#played.counts, coarsest: this.#coarsest, paints: this.layer.paints, settleTimes: this.layer.settleTimes,
    }
  }

  resetStats(): void {
    this.#source?.resetTimings()
    this.#played.reset()
    this.#coarsest = 1
    this.#judgedFrom = this.#played.counts
  }

  dispose(): void {
    this.close()
    this.#observer?.disconnect()
    this.layer.dispose()
    this.#problems.clear()
  }

  /** Exchanges the clips of two panes, with what is already decoded. */
  static swap(one: Pane, two: Pane): void {
    const { source, clip, copy, small } = one.#held
    one.#put(two.#held)
    two.#put({ source, clip, copy, small })
  }

  get #held(): Held {
    return { source: this.#source, clip: this.#clip, copy: this.#copy, small: this.#small }
  }

  #put({ source, clip, copy, small }: Held): void {
    this.#source = source
    this.#clip = clip
    this.#copy = copy
    this.#small = small
    this.#offered = null
    this.#due = null
    this.#newest = 0
    if (source) this.#listen(source)
    this.layer.setClip(clip, clip?.original ?? null)
  }

  #listen(source: FrameSource): void {
    source.onReady = (index, again) => {
      if (again && index === this.#offered) this.#offered = null
      this.#wake()
    }
    source.onPassing = (index, frame, serial) => {
      if (serial <= this.#newest) {
        frame.close()
        return
      }
      this.#newest = serial
      this.#offered = index
      this.layer.offer(index, frame)
    }
    source.onProblem = (error) => {
      for (const listener of this.#problems) listener(error)
    }
  }

  #turn(playing: boolean): void {
    this.#playing = playing
    this.#coarser = 1
    this.#judgedFrom = this.#played.counts
    this.#played.rest()
  }

  #rest(frame: number): Due {
    if (frame !== this.#last) this.#direction = frame > this.#last ? 1 : -1
    this.#last = frame
    // In a crowd nothing is made ready before what is due is there: a drag that goes on will pass it by.
    const count = !this.crowded ? readyAround : this.#source!.has(frame) ? readyInCrowd : 0
    return { due: frame, ahead: neighbours(frame, this.#direction, count, this.#source!.frames), stride: 1, still: true }
  }

  /** The frame due now and those due at the next refreshes, on the grid of frames that this screen can show. */
  #foresee(frame: number, coming: Coming): Due {
    let before = frame
    let sum = 0
    let moves = 0
    for (const at of coming.frames) {
      if (at > before) {
        sum += at - before
        moves++
      }
      before = at
    }
    // A pane held at its clip's end, or standing still in a walkthrough, is at rest though the clock runs.
    if (coming.later === frame && coming.frames.every((at) => at === frame)) return this.#rest(frame)
    this.#last = frame
    const stride = (moves > 0 ? strideFor(sum / moves) : 1) * this.#coarser
    const due = onGrid(frame, stride)
    return { due, ahead: [...new Set(coming.frames.map((at) => onGrid(at, stride)))].filter((at) => at !== due), stride, still: false }
  }

  /** Where a third of the frames come too late, shows every second one: fewer pictures in time beat more behind it. */
  #judge(): void {
    const now = this.#played.counts
    const dropped = now.dropped - this.#judgedFrom.dropped
    if (dropped + now.shown - this.#judgedFrom.shown < judged) return
    if (dropped > judged / 3 && this.#coarser < 4) this.#coarser *= 2
    this.#coarsest = Math.max(this.#coarsest, this.#coarser)
    this.#judgedFrom = now
  }
}
