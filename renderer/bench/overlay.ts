import { apply, compose, invert, type Affine } from '../../shared/geometry/affine.ts'
import type { Vec2 } from '../../shared/geometry/vec.ts'
import { marksAt, type Mark } from '../../shared/markup/mark.ts'
import { handlesOf } from '../../shared/markup/tools/handles.ts'
import { drawMark } from '../../shared/picture/drawMark.ts'
import { unitOf } from '../../shared/picture/drawInstant.ts'
import type { Rect } from '../../shared/picture/layout.ts'
import { tickOf } from '../../shared/walkthrough/motion.ts'
import type { PaneId } from '../../shared/walkthrough/stage.ts'
import type { Bench } from './bench.ts'
import type { Drawing, Fine } from './drawing.ts'
import { loupePlace } from './loupePlace.ts'

const loupeSize = 168

/** What only the coach sees over the panes: the chosen mark's handles, and the magnifier. Drawn when something changed. */
export class BenchOverlay {
  readonly #bench: Bench
  readonly #drawing: Drawing
  readonly #canvas = document.createElement('canvas')
  readonly #loupe = document.createElement('canvas')
  readonly #host: HTMLElement
  readonly #stop: (() => void)[]
  /** The original's frame as plain pixels: converting it from its planes at each move would be felt. */
  #pixels: { readonly of: VideoFrame; readonly canvas: OffscreenCanvas } | null = null
  #isBlank = true
  /** The magnifier's middle when it was last drawn; null while it is away. */
  #stood: Vec2 | null = null
  #drawn: readonly unknown[] = []

  constructor(host: HTMLElement, bench: Bench, drawing: Drawing) {
    this.#host = host
    this.#bench = bench
    this.#drawing = drawing
    Object.assign(this.#canvas.style, { position: 'absolute', inset: '0', width: '100%', height: '100%', pointerEvents: 'none' })
    this.#canvas.dataset.layer = 'handles'
    this.#canvas.hidden = true
    this.#loupe.className = 'loupe'
    this.#loupe.hidden = true
    host.append(this.#canvas, this.#loupe)
    drawing.onFine = () => this.draw()
    this.#stop = [
      bench.view!.onFrame(() => this.draw()),
      bench.state.subscribe((now, before) => {
        if (now.selected !== before.selected || now.marks !== before.marks || now.writing !== before.writing) this.draw()
      }),
    ]
  }

  dispose(): void {
    for (const stop of this.#stop) stop()
    this.#drawing.onFine = () => undefined
    this.#canvas.remove()
    this.#loupe.remove()
  }

  draw(): void {
    this.#drawHandles()
    this.#drawLoupe()
  }

  #drawHandles(): void {
    const chosen = this.#shownSelection()
    if (!chosen && this.#isBlank) return
    const ratio = devicePixelRatio
    const { clientWidth, clientHeight } = this.#host
    const parts = chosen ? [chosen.mark, ...Object.values(chosen.toHost), clientWidth, clientHeight, ratio] : []
    if (parts.length > 0 && parts.length === this.#drawn.length && parts.every((part, i) => part === this.#drawn[i])) return
    this.#drawn = parts
    const canvas = this.#canvas
    // Empty, it would still be blended with the video at every frame.
    canvas.hidden = chosen === null
    canvas.width = Math.round(clientWidth * ratio)
    canvas.height = Math.round(clientHeight * ratio)
    this.#isBlank = chosen === null
    if (!chosen) return
    const { mark, toHost, rect } = chosen
    const ctx = canvas.getContext('2d')!
    ctx.scale(ratio, ratio)
    ctx.beginPath()
    ctx.rect(rect.x, rect.y, rect.width, rect.height)
    ctx.clip()
    const places = handlesOf(mark)
    for (const [x, y] of (places.length > 0 ? places : [mark.points[0]!, mark.points.at(-1)!]).map((point) => apply(toHost, point))) {
      ctx.beginPath()
      ctx.rect(x - 4.5, y - 4.5, 9, 9)
      ctx.fillStyle = places.length > 0 ? '#F5F2EA' : 'transparent'
      ctx.fill()
      ctx.lineWidth = 3
      ctx.strokeStyle = 'rgba(8, 10, 12, 0.8)'
      ctx.stroke()
      ctx.lineWidth = 1.25
      ctx.strokeStyle = '#F5F2EA'
      ctx.stroke()
    }
  }

  /** The chosen mark as it is drawn now, if its pane shows it. */
  #shownSelection() {
    const bench = this.#bench
    const chosen = bench.marks.selected
    const pane = chosen && bench.marks.paneOf(chosen)
    if (!chosen || pane === null || pane === undefined) return null
    const place = bench.view?.place(pane)
    const frame = bench.view?.shown()[pane]
    if (!place || frame === null || frame === undefined) return null
    const { draft } = bench.store.stage
    if (draft?.id === chosen.id) return { mark: draft, toHost: place.toHost, rect: place.rect }
    const isShown = marksAt({ [chosen.id]: chosen }, chosen.clipId, tickOf(bench.clip(pane)!.frames, frame)).length > 0
    return isShown ? { mark: chosen, toHost: place.toHost, rect: place.rect } : null
  }

  #drawLoupe(): void {
    const { fine } = this.#drawing
    const place = fine && this.#bench.view?.place(fine.pane)
    this.#loupe.hidden = !place
    if (!fine || !place) {
      this.#stood = null
      return
    }
    const ratio = devicePixelRatio
    const side = Math.round(loupeSize * ratio)
    if (this.#loupe.width !== side) this.#loupe.width = this.#loupe.height = side
    const draft = this.#bench.store.stage.draft ?? this.#shownSelection()?.mark
    const middle = loupePlace({
      at: apply(place.toHost, fine.at), size: loupeSize, host: { width: this.#host.clientWidth, height: this.#host.clientHeight },
      picture: this.#pictureOf(fine.pane)!, beside: this.#pictureOf(fine.pane === 0 ? 1 : 0), keep: (draft?.points ?? []).map((point) => apply(place.toHost, point)), before: this.#stood,
    })
    this.#stood = middle
    Object.assign(this.#loupe.style, { translate: `${Math.round(middle[0] - loupeSize / 2)}px ${Math.round(middle[1] - loupeSize / 2)}px` })
    this.#magnify(fine, place.toHost, place.scale)
  }

  /** Where a pane's picture shows on the stage. */
  #pictureOf(pane: PaneId): Rect | null {
    const place = this.#bench.view?.place(pane)
    const clip = this.#bench.clip(pane)
    if (!place || !clip) return null
    const { rect, toHost } = place
    const [ax, ay] = apply(toHost, [0, 0])
    const [bx, by] = apply(toHost, [clip.width, clip.height])
    const [x, y] = [Math.max(rect.x, Math.min(ax, bx)), Math.max(rect.y, Math.min(ay, by))]
    return { x, y, width: Math.min(rect.x + rect.width, Math.max(ax, bx)) - x, height: Math.min(rect.y + rect.height, Math.max(ay, by)) - y }
  }

  #magnify(fine: Fine, toHost: Affine, scale: number): void {
    const bench = this.#bench
    const ratio = devicePixelRatio
    const ctx = this.#loupe.getContext('2d')!
    const side = this.#loupe.width
    // Four to eight times what the pane shows; a pixel of the original is three wide at least where that allows it.
    const times = Math.min(Math.max(3 / scale, 4), 8)
    const sign = toHost.a < 0 ? -1 : 1
    const zoom = scale * times * ratio
    const map: Affine = { a: sign * zoom, b: 0, c: 0, d: zoom, e: side / 2 - sign * fine.at[0] * zoom, f: side / 2 - fine.at[1] * zoom }
    ctx.setTransform(1, 0, 0, 1, 0, 0)
    ctx.fillStyle = '#0B0D0F'
    ctx.fillRect(0, 0, side, side)
    ctx.imageSmoothingEnabled = false
    const original = this.#originalPixels(bench.view!.original(fine.pane))
    const clip = bench.clip(fine.pane)!
    if (original) {
      ctx.setTransform(map.a, map.b, map.c, map.d, map.e, map.f)
      ctx.drawImage(original, 0, 0, clip.width, clip.height)
    } else {
      const picture = bench.view!.picture(fine.pane)
      const { rect } = bench.view!.place(fine.pane)!
      const toPicture = compose(toHost, { a: ratio, b: 0, c: 0, d: ratio, e: -rect.x * ratio, f: -rect.y * ratio })
      const whole = compose(invert(toPicture)!, map)
      ctx.setTransform(whole.a, whole.b, whole.c, whole.d, whole.e, whole.f)
      ctx.drawImage(picture, 0, 0)
    }
    ctx.setTransform(1, 0, 0, 1, 0, 0)
    for (const mark of this.#inLoupe(fine)) drawMark(ctx, { ...mark, text: mark.shape === 'text' ? mark.text : '' }, { transform: map, rect: { x: 0, y: 0, width: side, height: side }, unit: (unitOf(bench.stageSize()) * ratio) / 2 })
    this.#drawCross(ctx, side, ratio)
  }

  #inLoupe(fine: Fine): Mark[] {
    const bench = this.#bench
    const { draft, marks } = bench.store.stage
    const frame = bench.view?.shown()[fine.pane] ?? 0
    const clip = bench.clip(fine.pane)!
    return [...marksAt(marks, clip.id, tickOf(clip.frames, frame)).filter((mark) => mark.id !== draft?.id && mark.shape !== 'text'), ...(draft?.clipId === clip.id ? [draft] : [])]
  }

  #drawCross(ctx: CanvasRenderingContext2D, side: number, ratio: number): void {
    const middle = side / 2
    const gap = 5 * ratio
    for (const [width, colour] of [[3 * ratio, 'rgba(8, 10, 12, 0.6)'], [ratio, '#F5F2EA']] as const) {
      ctx.lineWidth = width
      ctx.strokeStyle = colour
      ctx.beginPath()
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]] as const) {
        ctx.moveTo(middle + dx * gap, middle + dy * gap)
        ctx.lineTo(middle + dx * 22 * ratio, middle + dy * 22 * ratio)
      }
      ctx.stroke()
    }
  }

  #originalPixels(frame: VideoFrame | null): OffscreenCanvas | null {
    if (!frame) return null
    if (this.#pixels?.of !== frame) {
      const canvas = new OffscreenCanvas(frame.displayWidth, frame.displayHeight)
      canvas.getContext('2d')!.drawImage(frame, 0, 0)
      this.#pixels = { of: frame, canvas }
    }
    return this.#pixels.canvas
  }
}
