import WaveSurfer from 'wavesurfer.js'
import RegionsPlugin, { type Region } from 'wavesurfer.js/plugins/regions'
import { toMs, toSamples } from '../../../shared/walkthrough/edits.ts'
import type { OutSpan } from '../../../shared/walkthrough/editPieces.ts'
import type { Programme } from '../../../shared/walkthrough/programme.ts'
import type { PeakTrack } from '../../../shared/walkthrough/silences.ts'
import { drawLanes, laneAt, laneHeights, type LaneHit, type LaneInput } from './lanes.ts'

export interface WaveformDeps {
  readonly host: HTMLElement
  readonly lanes: HTMLCanvasElement
  readonly head: HTMLElement
  readonly now: () => number
  readonly isPlaying: () => boolean
  readonly onSeek: (ms: number) => void
  readonly onSelect: (span: OutSpan | null) => void
  /** A proposal was given other ends by hand. */
  readonly onProposal: (index: number, span: OutSpan) => void
  readonly onLane: (hit: LaneHit) => void
  readonly onMoveChapter: (id: string, ms: number) => void
}

export interface ProposedSpan {
  readonly span: OutSpan
  readonly chosen: boolean
}

const selectionId = 'selection'
const proposalId = 'proposal-'
const mostPixelsPerSecond = 400

/**
 * The lesson's sound from end to end, what lies under it (pieces, headings, what happens on the stage, marks set right), the
 * chosen span and the spans proposed. Draws only what is in sight; the playhead moves without React.
 */
export class Waveform {
  readonly #deps: WaveformDeps
  readonly #surfer: WaveSurfer
  readonly #regions: InstanceType<typeof RegionsPlugin>
  #programme: Programme | null = null
  #input: Omit<LaneInput, 'fromMs' | 'toMs'> | null = null
  #selection: OutSpan | null = null
  #proposals: readonly ProposedSpan[] = []
  #ready = false
  #own = false
  #zoom = 0
  #frame = 0
  #dirty = true
  #moving: { id: string; ms: number } | null = null
  readonly #cleanUp: (() => void)[] = []

  constructor(deps: WaveformDeps) {
    this.#deps = deps
    const token = (name: string): string => getComputedStyle(deps.host).getPropertyValue(name).trim()
    this.#regions = RegionsPlugin.create()
    // Its style element is let through by the page's policy as it stands, height included.
    this.#surfer = WaveSurfer.create({
      container: deps.host, height: 72, waveColor: token('--text-quiet'), progressColor: token('--text-quiet'), cursorWidth: 0,
      fillParent: true, autoScroll: false, normalize: true, interact: true, minPxPerSec: 0, plugins: [this.#regions],
    })
    this.#surfer.on('interaction', (seconds) => deps.onSeek(seconds * 1000))
    for (const event of ['scroll', 'zoom', 'redraw', 'resize'] as const) this.#surfer.on(event, () => (this.#dirty = true))
    this.#regions.enableDragSelection({ id: 'drawn', color: selectionColour })
    this.#regions.on('region-created', (region) => this.#created(region))
    this.#regions.on('region-updated', (region) => this.#updated(region))
    const theme = new MutationObserver(() => {
      this.#surfer.setOptions({ waveColor: token('--text-quiet'), progressColor: token('--text-quiet') })
      this.#dirty = true
    })
    theme.observe(document.documentElement, { attributes: true, attributeFilter: ['data-theme'] })
    this.#cleanUp.push(() => theme.disconnect())
    const watch = new ResizeObserver(() => (this.#dirty = true))
    watch.observe(deps.lanes)
    this.#cleanUp.push(() => watch.disconnect())
    this.#listen()
    this.#follow()
  }

  dispose(): void {
    cancelAnimationFrame(this.#frame)
    for (const clean of this.#cleanUp) clean()
    this.#surfer.destroy()
  }

  /** Pixels in a second, and the time at the left edge, seconds. */
  get #scale(): { readonly pixels: number; readonly left: number } {
    const seconds = this.#seconds
    const width = this.#surfer.getWrapper().clientWidth || this.#deps.host.clientWidth
    const pixels = seconds > 0 ? width / seconds : 1
    return { pixels, left: this.#surfer.getScroll() / pixels }
  }
  get #seconds(): number {
    return (this.#programme?.lengthMs ?? 0) / 1000
  }

  show(programme: Programme, peaks: PeakTrack, input: Omit<LaneInput, 'fromMs' | 'toMs' | 'programme'>): void {
    const isOther = programme !== this.#programme
    this.#programme = programme
    this.#input = { ...input, programme }
    const { left } = this.#scale
    this.#ready = false
    void this.#surfer.load('', [peaks.values], Math.max(0.01, this.#seconds)).then(
      () => {
        if (this.#zoom > 0) this.#surfer.setScrollTime(left)
        this.#ready = true
        if (isOther) this.#clear()
        this.#mark()
        this.#dirty = true
      },
      // A newer list came before this one was drawn.
      () => undefined,
    )
    this.#dirty = true
  }

  showLanes(input: Omit<LaneInput, 'fromMs' | 'toMs' | 'programme'>): void {
    if (this.#programme) this.#input = { ...input, programme: this.#programme }
    this.#dirty = true
  }

  select(span: OutSpan | null): void {
    this.#selection = span
    this.#mark()
  }

  propose(spans: readonly ProposedSpan[]): void {
    this.#proposals = spans
    this.#mark()
  }

  #clear(): void {
    for (const region of this.#regions.getRegions()) region.remove()
  }

  /** Draws the chosen span and those proposed; before the sound's length is known they would all lie at its beginning. */
  #mark(): void {
    if (!this.#ready) return
    const span = this.#selection
    this.#own = true
    const old = this.#regions.getRegions().find(({ id }) => id === selectionId)
    if (!span) old?.remove()
    else {
      const [start, end] = [toMs(span.from) / 1000, toMs(span.to) / 1000]
      if (!old) this.#regions.addRegion({ id: selectionId, start, end, color: selectionColour, drag: false, resize: true })
      else if (Math.abs(old.start - start) + Math.abs(old.end - end) > 1e-4) old.setOptions({ start, end })
    }
    for (const region of this.#regions.getRegions()) if (region.id.startsWith(proposalId)) region.remove()
    for (const [i, { span: proposed, chosen }] of this.#proposals.entries())
      this.#regions.addRegion({ id: `${proposalId}${i}`, start: toMs(proposed.from) / 1000, end: toMs(proposed.to) / 1000, color: chosen ? chosenColour : passedColour, drag: false, resize: true })
    this.#own = false
  }

  /** Makes the sound wider or narrower about the playhead; 0 shows all of it. */
  zoom(factor: number): void {
    const fit = this.#deps.host.clientWidth / Math.max(0.01, this.#seconds)
    const next = factor === 0 ? 0 : Math.min(mostPixelsPerSecond, (this.#zoom || fit) * factor)
    this.#zoom = next <= fit ? 0 : next
    this.#surfer.zoom(this.#zoom)
    const middle = this.#deps.now() / 1000
    if (this.#zoom > 0) this.#surfer.setScrollTime(Math.max(0, middle - this.#deps.host.clientWidth / this.#zoom / 2))
    this.#dirty = true
  }

  #created(region: Region): void {
    if (this.#own || region.id === selectionId || region.id.startsWith(proposalId)) return
    // What was drawn by hand becomes the selection.
    const span = { from: toSamples(region.start * 1000), to: toSamples(region.end * 1000) }
    region.remove()
    this.#deps.onSelect(span.to > span.from ? span : null)
  }

  #updated(region: Region): void {
    if (this.#own) return
    const span = { from: toSamples(region.start * 1000), to: toSamples(region.end * 1000) }
    if (region.id === selectionId) this.#deps.onSelect(span)
    else if (region.id.startsWith(proposalId)) this.#deps.onProposal(Number(region.id.slice(proposalId.length)), span)
  }

  /** Headings can be dragged; a click chooses what is under it. */
  #listen(): void {
    const { lanes } = this.#deps
    const hitAt = (event: PointerEvent): LaneHit | null => {
      if (!this.#input) return null
      const box = lanes.getBoundingClientRect()
      const { pixels, left } = this.#scale
      const ms = (left + (event.clientX - box.left) / pixels) * 1000
      return laneAt({ ...this.#input, fromMs: left * 1000, toMs: (left + box.width / pixels) * 1000 }, ms, event.clientY - box.top, (8 / pixels) * 1000)
    }
    const down = (event: PointerEvent): void => {
      const hit = hitAt(event)
      if (!hit) return
      if (hit.kind !== 'chapter') return this.#deps.onLane(hit)
      lanes.setPointerCapture(event.pointerId)
      this.#moving = { id: hit.id, ms: hit.ms }
      let moved = false
      const move = (next: PointerEvent): void => {
        const box = lanes.getBoundingClientRect()
        const { pixels, left } = this.#scale
        moved ||= Math.abs(next.clientX - event.clientX) > 3
        this.#moving = { id: hit.id, ms: Math.max(0, Math.min(this.#seconds, left + (next.clientX - box.left) / pixels)) * 1000 }
        this.#dirty = true
      }
      const up = (): void => {
        lanes.removeEventListener('pointermove', move)
        const end = this.#moving
        this.#moving = null
        this.#dirty = true
        if (moved && end) this.#deps.onMoveChapter(end.id, end.ms)
        else this.#deps.onLane(hit)
      }
      lanes.addEventListener('pointermove', move)
      lanes.addEventListener('pointerup', up, { once: true })
      lanes.addEventListener('lostpointercapture', () => lanes.removeEventListener('pointermove', move), { once: true })
    }
    const wheel = (event: WheelEvent): void => {
      if (!event.ctrlKey && !event.metaKey) return
      event.preventDefault()
      this.zoom(event.deltaY < 0 ? 1.25 : 0.8)
    }
    lanes.addEventListener('pointerdown', down)
    this.#deps.host.addEventListener('wheel', wheel, { passive: false })
    this.#cleanUp.push(() => {
      lanes.removeEventListener('pointerdown', down)
      this.#deps.host.removeEventListener('wheel', wheel)
    })
  }

  #follow(): void {
    let shown = NaN
    const step = (): void => {
      const ms = this.#deps.now()
      const { pixels, left } = this.#scale
      const width = this.#deps.host.clientWidth
      const x = (ms / 1000 - left) * pixels
      if (this.#zoom > 0 && this.#deps.isPlaying() && (x > width || x < 0)) this.#surfer.setScrollTime(Math.max(0, ms / 1000 - width / pixels / 10))
      if (x !== shown) {
        shown = x
        this.#deps.head.style.transform = `translateX(${x.toFixed(2)}px)`
        this.#deps.head.hidden = x < -1 || x > width + 1
      }
      if (this.#dirty && this.#input) {
        this.#dirty = false
        drawLanes(this.#deps.lanes, { ...this.#input, fromMs: left * 1000, toMs: (left + this.#deps.lanes.clientWidth / pixels) * 1000, moving: this.#moving })
      }
      this.#frame = requestAnimationFrame(step)
    }
    step()
  }
}

export const lanesHeight = laneHeights.all
const selectionColour = 'color-mix(in srgb, var(--accent) 28%, transparent)'
const chosenColour = 'color-mix(in srgb, var(--ink-body) 34%, transparent)'
const passedColour = 'color-mix(in srgb, var(--ink-body) 14%, transparent)'
