import { marksOf } from '../benchMarks.ts'
import type { Bench } from '../bench.ts'
import { frameAt, realSeconds, tickOf, type Tie } from '../../../shared/walkthrough/motion.ts'
import { withEnd } from '../../../shared/markup/copy.ts'
import { lagOf } from '../../../shared/walkthrough/commands.ts'
import type { PaneId } from '../../../shared/walkthrough/stage.ts'
import { fitted, laneOf, panned, secondsAt, secondsOf, showing, tickAt, xOf, zoomed, type Axis, type Lane } from './axis.ts'
import { barsOf, drawGround, drawMoving, laneTop, pictureHeight, rulerHeight, stripHeight, type Bar, type LaneView, type StripColours } from './drawStrip.ts'
import { fetchFilmstrip, type Filmstrip } from './filmstrip.ts'
import { pegAt } from './pegs.ts'

type Drag =
  | { readonly kind: 'scrub'; readonly pane: PaneId }
  | { readonly kind: 'retie'; readonly pane: PaneId; readonly fromX: number; readonly lag: number }
  | { readonly kind: 'pan'; x: number }
  | { readonly kind: 'loop'; readonly pane: PaneId; readonly end: 'from' | 'to' }
  | { readonly kind: 'end'; readonly bar: Bar; readonly end: 'from' | 'to' }

/**
 * Both clips' filmstrips over one axis of real time. Drag along a strip to scrub; hold Alt to drag one strip against the
 * other, which ties them anew; drag the ruler to move along; the wheel zooms. Drawn outside React: one canvas for what
 * stands, one for what moves.
 */
export class TwinStrip {
  readonly #bench: Bench
  readonly #host: HTMLElement
  readonly #ground: HTMLCanvasElement
  readonly #moving: HTMLCanvasElement
  readonly #strips = new Map<string, Filmstrip | null>()
  readonly #abort = new AbortController()
  readonly #stops: (() => void)[] = []
  #axis: Axis | null = null
  #isWhole = true
  #width = 0
  #clips = ''
  /** The tie that lanes stand by while there is none. */
  #lastTie: Tie | null = null
  #drag: Drag | null = null
  #frame = 0
  #groundParts: readonly unknown[] = []
  #movingParts: readonly unknown[] = []
  #colours: StripColours | null = null
  /** The instants at 0 s as last drawn. */
  #zeros: readonly (number | undefined)[] = []

  constructor(host: HTMLElement, bench: Bench) {
    this.#bench = bench
    this.#host = host
    this.#ground = canvasIn(host)
    this.#moving = canvasIn(host)
    const { signal } = this.#abort
    this.#moving.addEventListener('pointerdown', (event) => this.#down(event), { signal })
    this.#moving.addEventListener('pointermove', (event) => this.#move(event), { signal })
    this.#moving.addEventListener('pointerup', () => this.#up(), { signal })
    this.#moving.addEventListener('pointercancel', () => this.#up(), { signal })
    this.#moving.addEventListener('wheel', (event) => this.#wheel(event), { signal, passive: false })
    const observer = new ResizeObserver(() => {
      this.#width = host.clientWidth
      this.#schedule()
    })
    observer.observe(host)
    const theme = new MutationObserver(() => {
      this.#colours = null
      this.#groundParts = []
      this.#schedule()
    })
    theme.observe(document.documentElement, { attributeFilter: ['data-theme'] })
    this.#stops.push(
      () => observer.disconnect(),
      () => theme.disconnect(),
      bench.view!.onFrame(() => this.draw()),
      bench.state.subscribe(() => this.#schedule()),
      bench.transport.state.subscribe(() => this.#schedule()),
    )
  }

  dispose(): void {
    this.#abort.abort()
    cancelAnimationFrame(this.#frame)
    for (const stop of this.#stops) stop()
    for (const strip of this.#strips.values()) strip?.picture.close()
    this.#ground.remove()
    this.#moving.remove()
  }

  /** Zooms about the active playhead. */
  zoom(factor: number): void {
    const lanes = this.#lanes()
    const lane = lanes[this.#bench.active]
    if (!this.#axis || !lane) return
    this.#axis = zoomed(this.#axis, lanes, this.#width, factor, xOf(this.#axis, secondsAt(lane, this.#bench.store.settled().panes[this.#bench.active].tick)))
    this.#isWhole = false
    this.#schedule()
  }
  fit(): void {
    this.#isWhole = true
    this.#schedule()
  }

  draw(): void {
    if (this.#width < 8) return
    const bench = this.#bench
    const stage = bench.store.settled()
    this.#follow(stage.panes[0].clipId, stage.panes[1].clipId)
    if (stage.tie) this.#lastTie = stage.tie
    const lanes = this.#lanes()
    // While a strip is dragged against the other the scale stays under the hand.
    this.#axis = !this.#axis || (this.#isWhole && this.#drag?.kind !== 'retie') ? fitted(lanes, this.#width) : this.#inPlace(this.#axis, lanes)
    this.#zeros = lanes.map((lane) => lane?.zero)
    const ticks = [stage.panes[0].tick, stage.panes[1].tick] as const
    const lead = lanes[stage.active]
    if (lead && !this.#isWhole && !this.#drag) this.#axis = showing(this.#axis, this.#width, secondsAt(lead, tickOf(lead.clip.frames, frameAt(lead.clip.frames, ticks[stage.active]))))
    const axis = this.#axis
    const { selected, pegs } = bench.state.getState()
    const { loops } = bench.transport.state.getState()
    const views = this.#views(lanes)
    const { start, perPx } = axis
    const ground = [this.#width, devicePixelRatio, start, perPx, stage.marks, selected, pegs, stage.tie, ...stage.panes.map((pane) => pane.clipId), ...views.map((view) => view.strip), this.#lastTie]
    if (differs(ground, this.#groundParts)) {
      this.#groundParts = ground
      this.#movingParts = []
      drawGround(this.#context(this.#ground), this.#width, axis, views, stage.tie !== null, selected, this.#inks)
    }
    const moving = [...ticks, stage.active, loops[0], loops[1], stage.tie]
    if (!differs(moving, this.#movingParts)) return
    this.#movingParts = moving
    drawMoving(this.#context(this.#moving), this.#width, axis, { lanes: views, ticks, active: stage.active, isTied: stage.tie !== null, loops }, this.#inks)
  }

  /** The theme's colours; to ask the page for them at every picture would have it work out its styles anew. */
  get #inks(): StripColours {
    return (this.#colours ??= coloursOf(this.#host))
  }

  /** Where a new tie moves 0 s, the axis moves along, so that the strip the coach does not hold stays where it was. */
  #inPlace(axis: Axis, lanes: readonly [Lane | null, Lane | null]): Axis {
    const kept: PaneId = this.#drag?.kind === 'retie' && this.#drag.pane === 0 ? 1 : 0
    const [lane, before] = [lanes[kept], this.#zeros[kept]]
    return !lane || before === undefined || before === lane.zero ? axis : { ...axis, start: axis.start - realSeconds(lane.clip, before, lane.zero) }
  }

  #schedule(): void {
    this.#frame ||= requestAnimationFrame(() => {
      this.#frame = 0
      this.draw()
    })
  }

  #context(canvas: HTMLCanvasElement): CanvasRenderingContext2D {
    const ratio = devicePixelRatio
    const [width, height] = [Math.round(this.#width * ratio), Math.round(stripHeight * ratio)]
    if (canvas.width !== width) canvas.width = width
    if (canvas.height !== height) canvas.height = height
    const ctx = canvas.getContext('2d')!
    ctx.setTransform(ratio, 0, 0, ratio, 0, 0)
    return ctx
  }

  /** Fetches the filmstrips of the clips on the panes; other clips begin with the whole axis and no tie remembered. */
  #follow(left: string | null, right: string | null): void {
    const clips = `${left} ${right}`
    if (clips === this.#clips) return
    const isSwap = clips === this.#clips.split(' ').toReversed().join(' ')
    this.#clips = clips
    if (isSwap) this.#lastTie = this.#lastTie && { left: this.#lastTie.right, right: this.#lastTie.left }
    else {
      this.#lastTie = null
      this.#isWhole = true
    }
    for (const id of [left, right]) {
      if (id === null || this.#strips.has(id)) continue
      this.#strips.set(id, null)
      void fetchFilmstrip(this.#bench.desk, id).then((strip) => {
        if (this.#abort.signal.aborted) strip?.picture.close()
        else this.#strips.set(id, strip)
        this.#schedule()
      })
    }
  }

  #lanes(): readonly [Lane | null, Lane | null] {
    const tie = this.#bench.store.stage.tie ?? this.#lastTie
    const lane = (pane: PaneId): Lane | null => {
      const clip = this.#bench.clip(pane)
      return clip && laneOf(clip, pane, tie)
    }
    return [lane(0), lane(1)]
  }

  #views(lanes: readonly [Lane | null, Lane | null]): LaneView[] {
    return ([0, 1] as const).flatMap((pane) => {
      const lane = lanes[pane]
      const clip = this.#bench.clip(pane)
      return lane && clip ? [{ pane, lane, strip: this.#strips.get(clip.id) ?? null, mirrored: clip.mirrored ?? false, marks: marksOf(this.#bench.store.stage.marks, clip.id), pegs: this.#bench.state.getState().pegs.filter(({ clipId }) => clipId === clip.id) }] : []
    })
  }

  #down(event: PointerEvent): void {
    const axis = this.#axis
    if (!axis || event.button > 1) return
    const bench = this.#bench
    this.#moving.setPointerCapture(event.pointerId)
    const [x, y] = [event.offsetX, event.offsetY]
    if (y < rulerHeight || event.button === 1) {
      this.#drag = { kind: 'pan', x }
      return
    }
    const pane: PaneId = y < laneTop(1) ? 0 : 1
    if (!bench.clip(pane)) return
    bench.activate(pane)
    const view = this.#views(this.#lanes()).find((one) => one.pane === pane)!
    const bar = y > laneTop(pane) + pictureHeight ? barsOf(view, axis).findLast((one) => x >= one.x - 3 && x <= one.x + one.width + 3 && y >= one.y - 2 && y <= one.y + 6) : undefined
    if (bar) {
      bench.marks.select(bar.mark.id)
      const isAtStart = x - bar.x < 6
      const isAtEnd = bar.x + bar.width - x < 6
      if (bar.mark.span && bar.width > 14 && (isAtStart || isAtEnd)) {
        bench.marks.beginStep()
        this.#drag = { kind: 'end', bar, end: isAtStart ? 'from' : 'to' }
      } else bench.marks.goToMark(bar.mark)
      return
    }
    const peg = pegAt(axis, view.lane, view.pegs, laneTop(pane), pictureHeight, x, y)
    if (peg && !event.altKey) {
      bench.transport.seek(pane, tickOf(view.lane.clip.frames, frameAt(view.lane.clip.frames, peg.tick)))
      return
    }
    const [left, right] = [bench.clip(0), bench.clip(1)]
    if (event.altKey && left && right) {
      const lag = bench.store.stage.tie || !this.#lastTie ? lagOf(bench.store.stage, left, right) : lagOf({ ...bench.store.stage, tie: this.#lastTie }, left, right)
      this.#drag = { kind: 'retie', pane, fromX: x, lag }
      return
    }
    const loopEnd = this.#loopEndAt(pane, x)
    if (loopEnd) {
      this.#drag = { kind: 'loop', pane, end: loopEnd }
      return
    }
    this.#drag = { kind: 'scrub', pane }
    this.#scrub(pane, x)
  }

  /** The end of a pane's loop that is drawn under a pixel. */
  #loopEndAt(pane: PaneId, x: number): 'from' | 'to' | null {
    const loop = this.#bench.transport.state.getState().loops[pane]
    const lane = this.#lanes()[pane]
    if (!loop || !lane || !this.#axis) return null
    const axis = this.#axis
    return (['from', 'to'] as const).find((end) => Math.abs(xOf(axis, secondsAt(lane, loop[end])) - x) < 4) ?? null
  }

  #move(event: PointerEvent): void {
    const drag = this.#drag
    const axis = this.#axis
    const x = event.offsetX
    this.#moving.style.cursor = (event.altKey && event.offsetY > rulerHeight) || this.#loopEndAt(event.offsetY < laneTop(1) ? 0 : 1, x) ? 'ew-resize' : event.offsetY < rulerHeight ? 'grab' : 'default'
    const over = drag || !axis ? undefined : this.#views(this.#lanes()).flatMap(({ lane, pane, pegs }) => pegAt(axis, lane, pegs, laneTop(pane), pictureHeight, x, event.offsetY) ?? [])[0]
    if (this.#moving.title !== (over?.words ?? '')) this.#moving.title = over?.words ?? ''
    if (!drag || !axis) return
    if (drag.kind === 'scrub') this.#scrub(drag.pane, x)
    else if (drag.kind === 'pan') {
      this.#axis = panned(axis, this.#lanes(), this.#width, drag.x - x)
      drag.x = x
      this.#schedule()
    } else if (drag.kind === 'loop') {
      const lane = this.#lanes()[drag.pane]
      if (lane) this.#bench.setLoopEnd(drag.pane, drag.end, frameAt(lane.clip.frames, tickAt(lane, secondsOf(axis, x))))
    } else if (drag.kind === 'retie') {
      const moved = (x - drag.fromX) * axis.perPx
      // A strip drawn to the right happens later by that much.
      this.#bench.retie(drag.lag + (drag.pane === 1 ? moved : -moved), drag.pane)
    } else {
      const lane = this.#lanes()[drag.bar.pane]
      const mark = this.#bench.store.stage.marks[drag.bar.mark.id]
      if (!lane || !mark) return
      const span = withEnd(mark.span, drag.end, lane.clip.frames, frameAt(lane.clip.frames, tickAt(lane, secondsOf(axis, x))))
      if (span?.from !== mark.span?.from || span?.to !== mark.span?.to) this.#bench.marks.put([{ ...mark, span }])
    }
  }

  #up(): void {
    if (this.#drag?.kind === 'end') this.#bench.marks.endStep()
    this.#drag = null
    this.#schedule()
  }

  #scrub(pane: PaneId, x: number): void {
    const lane = this.#lanes()[pane]
    if (!lane || !this.#axis) return
    const tick = tickOf(lane.clip.frames, frameAt(lane.clip.frames, tickAt(lane, secondsOf(this.#axis, x))))
    if (this.#bench.store.stage.motion || tick !== this.#bench.store.stage.panes[pane].tick) this.#bench.transport.seek(pane, tick)
  }

  #wheel(event: WheelEvent): void {
    event.preventDefault()
    if (!this.#axis) return
    const lanes = this.#lanes()
    const isSideways = event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY)
    this.#axis = isSideways
      ? panned(this.#axis, lanes, this.#width, event.deltaX || event.deltaY)
      : zoomed(this.#axis, lanes, this.#width, Math.exp(-event.deltaY * 0.002), event.offsetX)
    this.#isWhole = this.#axis.perPx >= fitted(lanes, this.#width).perPx * 0.999
    this.#schedule()
  }
}

const differs = (one: readonly unknown[], two: readonly unknown[]): boolean => one.length !== two.length || one.some((part, i) => part !== two[i])

function coloursOf(host: HTMLElement): StripColours {
  const style = getComputedStyle(host)
  const of = (name: string): string => style.getPropertyValue(name).trim()
  return { text: of('--text'), quiet: of('--text-quiet'), line: of('--line'), accent: of('--accent'), well: of('--well') }
}

function canvasIn(host: HTMLElement): HTMLCanvasElement {
  const canvas = document.createElement('canvas')
  Object.assign(canvas.style, { position: 'absolute', left: '0', top: '0', width: '100%', height: `${stripHeight}px` })
  host.append(canvas)
  return canvas
}
