import type { ImagePoint } from '../../../shared/geometry/vec.ts'
import type { PaneId } from '../../../shared/walkthrough/stage.ts'
import type { Drawing } from '../drawing.ts'
import type { Hands } from '../benchKeys.ts'
import { moveEnd, nearEnd } from './guideEnds.ts'
import type { Measuring } from './measuring.ts'
import type { Placer } from './placer.ts'

/** CSS pixels within which a press takes hold of a point. */
const reachCss = 10

type Hold =
  /** A point in the making: placed where the press ends. */
  | { readonly kind: 'place'; readonly pane: PaneId; at: ImagePoint }
  | { readonly kind: 'move'; readonly pane: PaneId; readonly id: string; readonly dx: number; readonly dy: number; hasMoved: boolean }
  /** An end of a guide, or a corner of a mat. */
  | { readonly kind: 'end'; readonly pane: PaneId; readonly id: string; readonly end: number; readonly dx: number; readonly dy: number; hasMoved: boolean }

/**
 * What the pointer does on the panes while points are placed. It hears presses before the Bench's own pointer and keeps
 * those that are its own; wheel, panning and the palette stay the Bench's.
 */
export class MeasuringPointer {
  readonly #measuring: Measuring
  readonly #placer: Placer
  readonly #drawing: Drawing
  readonly #hands: Hands
  readonly #abort = new AbortController()
  #hold: Hold | null = null
  #last: { readonly clientX: number; readonly clientY: number } | null = null
  #move: PointerEvent | null = null
  #frame = 0

  constructor(host: HTMLElement, measuring: Measuring, placer: Placer, drawing: Drawing, hands: Hands) {
    this.#measuring = measuring
    this.#placer = placer
    this.#drawing = drawing
    this.#hands = hands
    const { signal } = this.#abort
    const options = { signal, capture: true }
    host.addEventListener('pointerdown', (event) => this.#down(event, host), options)
    host.addEventListener('pointermove', (event) => this.#moved(event), options)
    host.addEventListener('pointerup', (event) => this.#up(event), options)
    host.addEventListener('pointercancel', () => this.cancel(), options)
    host.addEventListener('pointerleave', () => { this.#last = null }, options)
  }

  dispose(): void {
    this.#abort.abort()
    cancelAnimationFrame(this.#frame)
    this.cancel()
  }

  get isBusy(): boolean {
    return this.#hold !== null
  }

  /** Gives up what is held: a moved point goes back. */
  cancel(): void {
    if (this.#hold && this.#hold.kind !== 'place') this.#measuring.cancelStep()
    this.#end()
  }

  /** Places what is wanted where the pointer is. */
  placeHere(): void {
    const hit = this.#last && this.#measuring.bench.view?.hit(this.#last.clientX, this.#last.clientY)
    if (hit) this.#placer.place(hit.pane, hit.at)
    else this.#measuring.refuse('Move the pointer over the picture first: Enter places the point under it.')
  }

  #down(event: PointerEvent, host: HTMLElement): void {
    const { bench } = this.#measuring
    if (!this.#placer.isOn || event.button !== 0 || this.#hands.pointer?.holdsPan) return
    const hit = bench.view?.hit(event.clientX, event.clientY)
    const place = hit && bench.view?.place(hit.pane)
    if (!hit || !place) return
    const { task, repeat } = this.#measuring.state.getState()
    const isGuide = (task?.kind === 'guide' || task?.kind === 'mat') && !repeat
    const isWanted = this.#placer.wanted !== null || isGuide
    const takesHold = !isWanted || event.ctrlKey || event.metaKey
    const near = takesHold ? this.#placer.near(hit.pane, hit.at, reachCss / place.scale) : null
    const isBegun = task?.kind === 'guide' ? task.first !== null : task?.kind === 'mat' && task.corners.length > 0
    const end = isGuide && (takesHold || !isBegun) && !near ? nearEnd(this.#measuring, hit.pane, hit.at, reachCss / place.scale) : null
    if (!isWanted && !near) {
      // Nothing is wanted and nothing is there: the press is the Bench's.
      this.#measuring.state.setState({ chosen: null })
      return
    }
    event.stopPropagation()
    event.preventDefault()
    // The keys are the picture's from here: Enter on the button that began this would end it.
    if (document.activeElement instanceof HTMLElement) document.activeElement.blur()
    bench.activate(hit.pane)
    bench.transport.pause()
    host.setPointerCapture(event.pointerId)
    if (near) {
      const record = this.#measuring.table[near]!
      const at = record.kind === 'landmark' ? record.at : hit.at
      this.#measuring.state.setState({ chosen: near })
      this.#measuring.beginStep()
      this.#hold = { kind: 'move', pane: hit.pane, id: near, dx: at[0] - hit.at[0], dy: at[1] - hit.at[1], hasMoved: false }
      this.#drawing.look({ pane: hit.pane, at })
      return
    }
    if (end) {
      this.#measuring.state.setState({ chosen: end.id, end: end.end })
      this.#measuring.beginStep()
      this.#hold = { kind: 'end', pane: hit.pane, id: end.id, end: end.end, dx: end.at[0] - hit.at[0], dy: end.at[1] - hit.at[1], hasMoved: false }
      this.#drawing.look({ pane: hit.pane, at: end.at })
      return
    }
    if (!isWanted) return
    this.#hold = { kind: 'place', pane: hit.pane, at: hit.at }
    this.#drawing.look({ pane: hit.pane, at: hit.at })
  }

  #moved(event: PointerEvent): void {
    this.#last = { clientX: event.clientX, clientY: event.clientY }
    if (!this.#hold) return
    event.stopPropagation()
    this.#move = event
    this.#frame ||= requestAnimationFrame(() => this.#flush())
  }

  #flush(): void {
    cancelAnimationFrame(this.#frame)
    this.#frame = 0
    const hold = this.#hold
    const event = this.#move
    this.#move = null
    const at = hold && event && this.#measuring.bench.view?.imageAt(hold.pane, event.clientX, event.clientY)
    if (!hold || !at) return
    if (hold.kind === 'place') {
      hold.at = at
      this.#drawing.look({ pane: hold.pane, at })
      return
    }
    const to: ImagePoint = [at[0] + hold.dx, at[1] + hold.dy]
    if (hold.kind === 'end' ? moveEnd(this.#measuring, hold.id, hold.end, () => to) : this.#placer.moveTo(hold.id, to)) {
      hold.hasMoved = true
      this.#drawing.look({ pane: hold.pane, at: to })
    }
  }

  #up(event: PointerEvent): void {
    const hold = this.#hold
    if (!hold) return
    event.stopPropagation()
    this.#move = event
    if (hold.kind === 'place') {
      const at = this.#measuring.bench.view?.imageAt(hold.pane, event.clientX, event.clientY)
      this.#end()
      if (at) this.#placer.place(hold.pane, at)
      return
    }
    // A press without a move only chooses.
    if (hold.hasMoved) this.#flush()
    this.#measuring.endStep()
    this.#end()
  }

  #end(): void {
    this.#hold = null
    this.#move = null
    this.#drawing.look(null)
  }
}
