import { useEffect, useRef, type PointerEvent } from 'react'
import type { Log } from '../../shared/walkthrough/log.ts'
import { chapters, happenings, type Happening } from './happenings.ts'
import { clockWords } from './clockWords.ts'
import type { Peaks } from './peaks.ts'

const lanes: Readonly<Record<Happening, number>> = { mark: 0, move: 1, pane: 2 }
const laneHeight = 5
const chapterHeight = 16

/**
 * The walkthrough from end to end: its chapters, its sound, and under it where marks change, the picture moves and the panes
 * change. A drag seeks. The playhead moves without React.
 */
export function Timeline({ log, peaks, durationMs, now, onSeek }: {
  readonly log: Log
  readonly peaks: Peaks | null
  readonly durationMs: number
  readonly now: () => number
  readonly onSeek: (ms: number) => void
}) {
  const canvas = useRef<HTMLCanvasElement>(null)
  const head = useRef<HTMLDivElement>(null)
  const slider = useRef<HTMLDivElement>(null)

  useEffect(() => {
    const element = canvas.current!
    const draw = () => drawTimeline(element, log, peaks, durationMs)
    const watch = new ResizeObserver(draw)
    watch.observe(element)
    // Colours follow the theme.
    const theme = new MutationObserver(draw)
    theme.observe(document.documentElement, { attributes: true, attributeFilter: ['data-theme'] })
    return () => {
      watch.disconnect()
      theme.disconnect()
    }
  }, [log, peaks, durationMs])

  useEffect(() => {
    let frame = 0
    let shown = -1
    const follow = () => {
      const at = now()
      if (at !== shown) {
        shown = at
        head.current!.style.left = `${durationMs > 0 ? (Math.min(1, at / durationMs) * 100).toFixed(3) : 0}%`
        const seconds = Math.floor(at / 1000)
        slider.current!.setAttribute('aria-valuenow', String(seconds))
        slider.current!.setAttribute('aria-valuetext', `${clockWords(at)} of ${clockWords(durationMs)}`)
      }
      frame = requestAnimationFrame(follow)
    }
    follow()
    return () => cancelAnimationFrame(frame)
  }, [now, durationMs])

  const seek = (event: PointerEvent) => {
    const box = canvas.current!.getBoundingClientRect()
    onSeek(Math.max(0, Math.min(1, (event.clientX - box.left) / box.width)) * durationMs)
  }

  return (
    <div
      ref={slider}
      className="timeline"
      role="slider"
      tabIndex={0}
      aria-label="Place in the walkthrough"
      aria-valuemin={0}
      aria-valuemax={Math.floor(durationMs / 1000)}
      aria-valuenow={0}
      onPointerDown={(event) => {
        event.currentTarget.setPointerCapture(event.pointerId)
        seek(event)
      }}
      onPointerMove={(event) => {
        if (event.buttons & 1) seek(event)
      }}
    >
      <canvas ref={canvas} />
      <div ref={head} className="timeline-head" />
    </div>
  )
}

function drawTimeline(canvas: HTMLCanvasElement, log: Log, peaks: Peaks | null, durationMs: number): void {
  const { clientWidth: width, clientHeight: height } = canvas
  const ratio = window.devicePixelRatio
  canvas.width = Math.round(width * ratio)
  canvas.height = Math.round(height * ratio)
  const ctx = canvas.getContext('2d')
  if (!ctx || width === 0 || durationMs <= 0) return
  const style = getComputedStyle(canvas)
  const token = (name: string) => style.getPropertyValue(name).trim()
  ctx.setTransform(ratio, 0, 0, ratio, 0, 0)
  ctx.clearRect(0, 0, width, height)
  const lanesTop = height - 3 * (laneHeight + 2)
  const middle = (chapterHeight + lanesTop) / 2
  const reach = (lanesTop - chapterHeight) / 2 - 2
  ctx.fillStyle = token('--text-quiet')
  if (peaks) {
    for (let x = 0; x < width; x++) {
      const from = Math.floor(((x / width) * durationMs * peaks.perSecond) / 1000)
      const to = Math.max(from + 1, Math.floor((((x + 1) / width) * durationMs * peaks.perSecond) / 1000))
      let peak = 0
      for (let i = from; i < to; i++) peak = Math.max(peak, peaks.values[i] ?? 0)
      const tall = Math.max(0.5, peak * reach)
      ctx.fillRect(x, middle - tall, 0.8, tall * 2)
    }
  } else ctx.fillRect(0, middle, width, 0.5)
  const colours: Record<Happening, string> = { mark: token('--accent'), move: token('--text-quiet'), pane: token('--line-strong') }
  for (const { atMs, kind } of happenings(log, durationMs / width)) {
    ctx.fillStyle = colours[kind]
    ctx.fillRect((atMs / durationMs) * width, lanesTop + lanes[kind] * (laneHeight + 2), 1.5, laneHeight)
  }
  ctx.font = `500 11px ${token('--font')}`
  ctx.textBaseline = 'middle'
  let free = 0
  for (const { atMs, title } of chapters(log)) {
    const x = (atMs / durationMs) * width
    ctx.fillStyle = token('--accent')
    ctx.fillRect(x, 0, 1, lanesTop)
    if (x < free) continue
    ctx.fillStyle = token('--text')
    ctx.fillText(title, x + 4, chapterHeight / 2)
    free = x + 12 + ctx.measureText(title).width
  }
}
