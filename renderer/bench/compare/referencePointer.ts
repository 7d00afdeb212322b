import { frameAt } from '../../../shared/walkthrough/motion.ts'
import type { PaneId } from '../../../shared/walkthrough/stage.ts'
import type { Comparison } from './comparison.ts'

/** CSS pixels of a drag that pass one frame, as on the panes. */
const perFrame = 5
/** How near a wipe's edge the pointer takes hold of it, CSS pixels. */
const edgeReach = 9

type Drag =
  | { readonly kind: 'jog' | 'slip'; readonly pane: PaneId; readonly fromX: number; readonly from: number; done: number }
  | { readonly kind: 'edge'; readonly pane: PaneId }

/**
 * What the pointer does on a reference: a drag scrubs it and the student follows; with Alt it is moved against the student; the
 * edge of a wipe is dragged. It hears of the pointer before the panes do.
 */
export class ReferencePointer {
  readonly #comparison: Comparison
  readonly #host: HTMLElement
  readonly #abort = new AbortController()
  #drag: Drag | null = null
  #move: PointerEvent | null = null
  #frame = 0
  #swipe = 0

  constructor(host: HTMLElement, comparison: Comparison) {
    this.#host = host
    this.#comparison = comparison
    const options = { signal: this.#abort.signal, capture: true } as const
    host.addEventListener('pointerdown', (event) => this.#down(event), options)
    host.addEventListener('pointermove', (event) => this.#moved(event), options)
    host.addEventListener('pointerup', (event) => this.#up(event), options)
    host.addEventListener('pointercancel', () => { this.#drag = null }, options)
    host.addEventListener('wheel', (event) => this.#wheel(event), { ...options, passive: false })
  }

  dispose(): void {
    this.#abort.abort()
    cancelAnimationFrame(this.#frame)
  }

  /** The pane whose wipe has its edge under the pointer. */
  #edgeAt(event: PointerEvent): PaneId | null {
    const { view } = this.#comparison.bench
    const { references } = this.#comparison.state.getState()
    const box = this.#host.getBoundingClientRect()
    const x = event.clientX - box.left
    const y = event.clientY - box.top
    return ([0, 1] as const).find((pane) => {
      const rect = references[pane]?.look === 'wipe' ? view?.reference(pane)?.rect : null
      return rect && y >= rect.y && y < rect.y + rect.height && Math.abs(x - rect.x - rect.width * references[pane]!.amount) <= edgeReach
    }) ?? null
  }

  #down(event: PointerEvent): void {
    if (event.button !== 0) return
    const { bench } = this.#comparison
    // A mark that is being drawn on the pane has the pointer first.
    const edge = bench.state.getState().tool === 'select' ? this.#edgeAt(event) : null
    const pane = edge ?? bench.view?.referenceAt(event.clientX, event.clientY) ?? null
    if (pane === null) return
    event.stopImmediatePropagation()
    event.preventDefault()
    if (document.activeElement instanceof HTMLElement) document.activeElement.blur()
    bench.activate(pane)
    bench.transport.pause()
    this.#host.setPointerCapture(event.pointerId)
    this.#drag = edge !== null ? { kind: 'edge', pane } : {
      kind: event.altKey ? 'slip' : 'jog', pane, fromX: event.clientX, from: this.#comparison.shownReference(pane) ?? 0, done: 0,
    }
  }

  #moved(event: PointerEvent): void {
    const edge = this.#drag ? null : this.#edgeAt(event)
    if (edge !== null) {
      event.stopImmediatePropagation()
      this.#host.style.cursor = 'ew-resize'
      return
    }
    if (!this.#drag) return
    event.stopImmediatePropagation()
    this.#move = event
    this.#frame ||= requestAnimationFrame(() => this.#flush())
  }

  #up(event: PointerEvent): void {
    if (!this.#drag) return
    event.stopImmediatePropagation()
    this.#flush()
    this.#drag = null
    this.#host.style.cursor = ''
  }

  #flush(): void {
    cancelAnimationFrame(this.#frame)
    this.#frame = 0
    const [drag, move] = [this.#drag, this.#move]
    this.#move = null
    if (!drag || !move) return
    const comparison = this.#comparison
    if (drag.kind === 'edge') {
      const rect = comparison.bench.view?.reference(drag.pane)?.rect
      const x = move.clientX - this.#host.getBoundingClientRect().left
      if (rect) comparison.change({ amount: Math.round(Math.min(1, Math.max(0, (x - rect.x) / rect.width)) * 1000) / 1000 })
      return
    }
    const frames = Math.round((move.clientX - drag.fromX) / perFrame)
    if (frames === drag.done) return
    if (drag.kind === 'jog') comparison.seekReference(drag.pane, drag.from + frames)
    // Dragged to the right the reference runs ahead of the student.
    else comparison.slip(drag.pane, frames - drag.done)
    drag.done = frames
  }

  #wheel(event: WheelEvent): void {
    const { bench } = this.#comparison
    const pane = bench.view?.referenceAt(event.clientX, event.clientY) ?? null
    const rects = pane === null ? null : [bench.view?.rect(pane), bench.view?.reference(pane)?.rect]
    if (pane === null || !rects?.[0] || !rects[1]) return
    event.stopImmediatePropagation()
    event.preventDefault()
    if (Math.abs(event.deltaX) > Math.abs(event.deltaY) && !event.ctrlKey) {
      this.#swipe += event.deltaX / 24
      const frames = Math.trunc(this.#swipe)
      this.#swipe -= frames
      const clip = this.#comparison.seat(pane)
      if (frames !== 0 && clip) this.#comparison.seekReference(pane, (this.#comparison.shownReference(pane) ?? frameAt(clip.frames, 0)) + frames)
      return
    }
    // The pane is zoomed about the point that lies where the pointer is on the reference.
    const box = this.#host.getBoundingClientRect()
    const lines = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? event.deltaY * 30 : event.deltaY
    bench.zoom(pane, Math.exp(-lines * (event.ctrlKey ? 0.01 : 0.0018)), [
      event.clientX - box.left - rects[1].x + rects[0].x, event.clientY - box.top - rects[1].y + rects[0].y,
    ])
  }
}
