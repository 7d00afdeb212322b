import { apply } from '../../../shared/geometry/affine.ts'
import type { ImagePoint } from '../../../shared/geometry/vec.ts'
import { drawPoints, type FramePoints } from '../../../shared/picture/drawPoints.ts'
import { unitOf } from '../../../shared/picture/drawInstant.ts'
import { landmarksOn } from '../../../shared/swing/digitised.ts'
import type { PaneId } from '../../../shared/walkthrough/stage.ts'
import { drawCross, drawGuide, drawMat } from './drawGuides.ts'
import type { Measuring } from './measuring.ts'

/** Draws points, the lines between them, and guides over the panes. Drawn when something of it changed, at most once a frame. */
export class MeasuringOverlay {
  readonly #measuring: Measuring
  readonly #host: HTMLElement
  readonly #canvas = document.createElement('canvas')
  readonly #stops: (() => void)[]
  #parts: readonly unknown[] = []

  constructor(host: HTMLElement, measuring: Measuring) {
    this.#host = host
    this.#measuring = measuring
    Object.assign(this.#canvas.style, { position: 'absolute', inset: '0', width: '100%', height: '100%', pointerEvents: 'none' })
    this.#canvas.dataset.layer = 'points'
    host.append(this.#canvas)
    this.#stops = [measuring.bench.onFrame(() => this.draw()), measuring.state.subscribe(() => this.draw())]
  }

  dispose(): void {
    for (const stop of this.#stops) stop()
    this.#canvas.remove()
  }

  draw(): void {
    const { isShown, table, chosen, repeat, task } = this.#measuring.state.getState()
    const { bench } = this.#measuring
    const panes = isShown ? ([0, 1] as const).flatMap((pane) => {
      const place = bench.view?.place(pane)
      const clip = bench.clip(pane)
      return place && clip ? [{ pane, place, clip, tick: this.#measuring.tickShown(pane)! }] : []
    }) : []
    const { clientWidth, clientHeight } = this.#host
    const parts = [table, bench.store.stage.marks, chosen, repeat, task, clientWidth, clientHeight, devicePixelRatio, isShown,
      ...panes.flatMap(({ pane, clip, tick, place: { rect, toHost } }) => [pane, clip.id, tick, rect.x, rect.y, rect.width, rect.height, toHost.a, toHost.d, toHost.e, toHost.f])]
    if (parts.length === this.#parts.length && parts.every((part, i) => part === this.#parts[i])) return
    this.#parts = parts
    const ratio = devicePixelRatio
    const [width, height] = [Math.round(clientWidth * ratio), Math.round(clientHeight * ratio)]
    const canvas = this.#canvas
    const ctx = canvas.getContext('2d')!
    if (canvas.width !== width || canvas.height !== height) {
      canvas.width = width
      canvas.height = height
    }
    ctx.setTransform(1, 0, 0, 1, 0, 0)
    ctx.clearRect(0, 0, width, height)
    const unit = unitOf(bench.stageSize())
    for (const { pane, clip, tick, place } of panes) {
      ctx.save()
      ctx.setTransform(ratio, 0, 0, ratio, 0, 0)
      ctx.beginPath()
      ctx.rect(place.rect.x, place.rect.y, place.rect.width, place.rect.height)
      ctx.clip()
      // A plate that lies on the picture is read, not drawn over.
      const plates = Object.values(bench.store.stage.marks).filter(({ shape, clipId, hidden, span }) => clipId === clip.id && !hidden && (shape === 'plan' || shape === 'figure' || shape === 'misses') && (span === null || (tick >= span.from && tick <= span.to)))
      for (const { points: [a, b] } of plates) {
        const [from, to] = [apply(place.toHost, a!), apply(place.toHost, b!)]
        ctx.beginPath()
        ctx.rect(place.rect.x, place.rect.y, place.rect.width, place.rect.height)
        ctx.rect(from[0], from[1], to[0] - from[0], to[1] - from[1])
        ctx.clip('evenodd')
      }
      for (const record of Object.values(table)) {
        if (record.clipId !== clip.id) continue
        const at = (end: ImagePoint) => apply(place.toHost, end)
        if (record.kind === 'guide') drawGuide(ctx, record.name, [at(record.ends[0]), at(record.ends[1])], record.id === chosen)
        else if (record.kind === 'mat') drawMat(ctx, record.corners.map(at), [record.lengthM, record.widthM], record.id === chosen)
      }
      this.#making(ctx, pane, place.toHost)
      const points: Partial<Record<string, ImagePoint>> = {}
      for (const [name, record] of Object.entries(landmarksOn(table, clip.id, tick)))
        // What is being placed again is out of sight, so that the eye is not led by it.
        if (!(repeat && repeat.clipId === clip.id && repeat.tick === tick && repeat.point === name)) points[name] = record.at
      const own = chosen === null ? undefined : table[chosen]
      drawPoints(ctx, points as FramePoints, { transform: place.toHost, rect: place.rect, unit }, own?.kind === 'landmark' && own.clipId === clip.id && own.tick === tick ? own.point : null)
      ctx.restore()
    }
  }

  /** The first end of a guide in the making, or the corners of a mat so far. */
  #making(ctx: CanvasRenderingContext2D, pane: PaneId, toHost: Parameters<typeof apply>[0]): void {
    const { task } = this.#measuring.state.getState()
    if (!task || (task.kind !== 'guide' && task.kind !== 'mat') || this.#measuring.bench.clip(pane)?.id !== task.clipId) return
    if (task.kind === 'mat') drawMat(ctx, task.corners.map((corner) => apply(toHost, corner)), task.sides, false)
    else if (task.first) drawCross(ctx, apply(toHost, task.first))
  }
}
