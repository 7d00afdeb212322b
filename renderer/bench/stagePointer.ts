import { imagePoint, type ImagePoint } from '../../shared/geometry/vec.ts'
import type { PaneId } from '../../shared/walkthrough/stage.ts'
import type { Bench } from './bench.ts'
import type { Drawing } from './drawing.ts'

/** CSS pixels of a drag that pass one frame. */
const perFrame = 5

type Drag =
  | { readonly kind: 'draw'; readonly pane: PaneId }
  | { readonly kind: 'jog'; readonly fromX: number; readonly by: (frames: number) => void }
  | { readonly kind: 'pan'; readonly pane: PaneId; x: number; y: number }

/** What the pointer does on the panes: draw, choose, jog, pan, zoom, point. Moves are taken at most once an animation frame. */
export class StagePointer {
  readonly #bench: Bench
  readonly #drawing: Drawing
  readonly #host: HTMLElement
  readonly #abort = new AbortController()
  #drag: Drag | null = null
  #moves: PointerEvent[] = []
  #frame = 0
  #last: { readonly clientX: number; readonly clientY: number } | null = null
  #swipe = 0
  /** While this is held a drag pans. */
  holdsPan = false
  /** Whether a drag has panned since it was taken hold of. */
  hasPanned = false
  #isPointing = false

  constructor(host: HTMLElement, bench: Bench, drawing: Drawing) {
    this.#host = host
    this.#bench = bench
    this.#drawing = drawing
    const { signal } = this.#abort
    host.addEventListener('pointerdown', (event) => this.#down(event), { signal })
    host.addEventListener('pointermove', (event) => this.#moved(event), { signal })
    host.addEventListener('pointerup', (event) => this.#up(event), { signal })
    host.addEventListener('pointercancel', () => this.#cancelled(), { signal })
    host.addEventListener('pointerleave', () => this.#left(), { signal })
    host.addEventListener('wheel', (event) => this.#wheel(event), { signal, passive: false })
    // A key that was held when the window went away is not told of its release.
    window.addEventListener('blur', () => {
      this.holdsPan = false
      this.point(false)
    }, { signal })
    host.addEventListener('contextmenu', (event) => {
      event.preventDefault()
      this.openPalette()
    }, { signal })
  }

  dispose(): void {
    this.#abort.abort()
    cancelAnimationFrame(this.#frame)
    this.#cancelled()
  }

  /** Opens the palette at the pointer; in the middle of the active pane where the pointer is elsewhere. */
  openPalette(): void {
    const bench = this.#bench
    const box = this.#host.getBoundingClientRect()
    const pane = this.#last && bench.view?.paneAt(this.#last.clientX, this.#last.clientY)
    if (pane !== null && pane !== undefined) bench.activate(pane)
    if (!bench.clip(bench.active)) return
    const rect = bench.view?.rect(bench.active)
    this.#drawing.cancel()
    bench.state.setState({
      palette: this.#last && pane !== null
        ? { x: this.#last.clientX - box.left, y: this.#last.clientY - box.top }
        : { x: (rect?.x ?? 0) + (rect?.width ?? 0) / 2, y: (rect?.y ?? 0) + (rect?.height ?? 0) / 2 },
    })
  }

  /** Shows the coach's pointer, or takes it away. */
  point(on: boolean): void {
    this.#isPointing = on
    if (on) this.#schedule()
    else this.#hidePointer()
  }

  #down(event: PointerEvent): void {
    const bench = this.#bench
    const pane = bench.view?.paneAt(event.clientX, event.clientY) ?? null
    if (pane === null || event.button === 2) return
    this.#flush()
    if (document.activeElement instanceof HTMLElement) document.activeElement.blur()
    bench.state.setState({ palette: null })
    bench.activate(pane)
    this.#host.setPointerCapture(event.pointerId)
    if (event.button === 1 || this.holdsPan) {
      event.preventDefault()
      this.#drag = { kind: 'pan', pane, x: event.clientX, y: event.clientY }
      return
    }
    if (event.button !== 0) return
    const at = bench.view?.imageAt(this.#drawing.pane ?? pane, event.clientX, event.clientY)
    if (!at) return
    if (bench.state.getState().tool !== 'pointer' && this.#drawing.down(this.#drawing.pane ?? pane, at, event.shiftKey)) {
      this.#drag = { kind: 'draw', pane: this.#drawing.pane! }
      return
    }
    // A tool may have been done by this very press.
    if (bench.state.getState().tool !== 'select') return
    this.#drag = { kind: 'jog', fromX: event.clientX, by: bench.transport.jog(pane).by }
  }

  #moved(event: PointerEvent): void {
    this.#last = { clientX: event.clientX, clientY: event.clientY }
    this.#moves.push(event)
    this.#schedule()
  }

  #up(event: PointerEvent): void {
    this.#flush()
    const drag = this.#drag
    this.#drag = null
    if (drag?.kind !== 'draw') return
    const at = this.#bench.view?.imageAt(drag.pane, event.clientX, event.clientY)
    if (at) this.#drawing.up(at, event.shiftKey)
  }

  #cancelled(): void {
    this.#moves = []
    this.#drag = null
    this.#drawing.key('Escape')
    this.#hidePointer()
  }

  #left(): void {
    this.#last = null
    if (!this.#drag) this.#hidePointer()
  }

  #schedule(): void {
    this.#frame ||= requestAnimationFrame(() => this.#flush())
  }

  #flush(): void {
    cancelAnimationFrame(this.#frame)
    this.#frame = 0
    const moves = this.#moves
    this.#moves = []
    const last = moves.at(-1) ?? this.#last
    if (!last) return
    const drag = this.#drag
    const view = this.#bench.view
    if (this.#bench.state.getState().tool === 'pointer' || this.#isPointing) this.#showPointer(last.clientX, last.clientY)
    const event = moves.at(-1)
    if (!event || !view) return
    if (drag?.kind === 'jog') drag.by((event.clientX - drag.fromX) / perFrame)
    else if (drag?.kind === 'pan') {
      this.hasPanned = true
      this.#bench.pan(drag.pane, event.clientX - drag.x, event.clientY - drag.y)
      drag.x = event.clientX
      drag.y = event.clientY
    } else if (this.#drawing.isBusy && this.#drawing.pane !== null) this.#drawThrough(moves, this.#drawing.pane)
    else if (!drag) this.#hover(event)
  }

  #hover(event: PointerEvent): void {
    const hit = this.#bench.view?.hit(event.clientX, event.clientY)
    const cursor = this.holdsPan ? 'grab' : hit && this.#drawing.isOver(hit.pane, hit.at) ? 'move' : ''
    if (this.#host.style.cursor !== cursor) this.#host.style.cursor = cursor
  }

  /** A path drawn by hand keeps every point the pointer told of; other shapes need the last one only. */
  #drawThrough(moves: readonly PointerEvent[], pane: PaneId): void {
    const view = this.#bench.view!
    const isPath = this.#bench.state.getState().tool === 'freehand'
    const all = isPath ? moves.flatMap((move) => { const fine = move.getCoalescedEvents(); return fine.length > 0 ? fine : [move] }) : moves.slice(-1)
    for (const move of all) {
      const at = view.imageAt(pane, move.clientX, move.clientY)
      if (at) this.#drawing.move(at, move.shiftKey)
    }
  }

  #showPointer(clientX: number, clientY: number): void {
    const hit = this.#bench.view?.hit(clientX, clientY)
    if (!hit) return this.#hidePointer()
    const at: ImagePoint = imagePoint(Math.round(hit.at[0] * 10) / 10, Math.round(hit.at[1] * 10) / 10)
    const before = this.#bench.store.stage.pointer
    if (before?.pane === hit.pane && before.at[0] === at[0] && before.at[1] === at[1]) return
    this.#bench.store.dispatch({ type: 'pointer', pointer: { pane: hit.pane, at } })
  }

  #hidePointer(): void {
    if (this.#bench.store.stage.pointer) this.#bench.store.dispatch({ type: 'pointer', pointer: null })
  }

  #wheel(event: WheelEvent): void {
    event.preventDefault()
    const bench = this.#bench
    const pane = bench.view?.paneAt(event.clientX, event.clientY)
    if (pane === null || pane === undefined) return
    const box = this.#host.getBoundingClientRect()
    // A pinch on a touchpad comes as a wheel with Ctrl; sideways it jogs.
    if (Math.abs(event.deltaX) > Math.abs(event.deltaY) && !event.ctrlKey) {
      this.#swipe += event.deltaX / 24
      const frames = Math.trunc(this.#swipe)
      this.#swipe -= frames
      if (frames !== 0) bench.transport.step(pane, frames)
      return
    }
    const lines = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? event.deltaY * 30 : event.deltaY
    bench.zoom(pane, Math.exp(-lines * (event.ctrlKey ? 0.01 : 0.0018)), [event.clientX - box.left, event.clientY - box.top])
  }
}
