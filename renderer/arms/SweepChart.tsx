import { useEffect, useMemo, useRef } from 'react'
import uPlot from 'uplot'
import 'uplot/dist/uPlot.min.css'
import { useApp } from '../ui/appStore.ts'
import { useArms, useArmsRoom } from './armsContext.tsx'
import { elbowRadius } from '../../shared/arms/elbowMove.ts'
import { alongArc, interpolate, sweepColumns, type SweepColumns } from './chart.ts'

/** Elbow against azimuth: where it is now, what is wished, how far it goes, and how steep. Dragging along it moves the elbow. */
export function SweepChart() {
  const room = useArmsRoom()
  const sweep = useArms((state) => state.sweep)
  const spread = useArms((state) => state.spread)
  const wish = useArms((state) => state.wish)
  const theme = useApp((state) => state.theme)
  const host = useRef<HTMLDivElement>(null)
  const now = useArms((state) => state.now)
  const radius = now ? elbowRadius(now) : 0
  const columns = useMemo(() => (sweep ? sweepColumns(sweep, radius, spread) : null), [sweep, radius, spread])
  useEffect(() => {
    if (!columns || !sweep || columns.out.length < 2) return undefined
    const chart = new Chart(host.current!, columns, { out: 0, azimuth: sweep.now.azimuthDeg }, wish, sweep.turns.map(({ swivelDeg }) => alongArc(swivelDeg - sweep.now.swivelDeg, radius)))
    const stopDrag = chart.onPlace((out) => {
      const swivel = interpolate(columns.out, columns.swivel, out)
      if (swivel !== null) room.setSwivel(swivel)
    })
    const stopPose = room.onShown(() => {
      if (room.shown) chart.put(alongArc(room.shown.pose.change.swivelDeg, radius), room.shown.pose.readings.azimuthDeg)
    })
    return () => {
      stopDrag()
      stopPose()
      chart.dispose()
    }
  }, [room, columns, sweep, radius, wish, theme])
  const slope = spread ? sweep?.slope : null
  return (
    <section className="arms-chart" aria-label="Elbow against shaft">
      <header>
        <h3>Elbow against shaft</h3>
        <p className="quiet">{slope ? slope.words : sweep ? 'Errors are being sampled' : now ? 'Being worked out' : ''}</p>
      </header>
      <div ref={host} className="arms-chart-host" />
      <p className="small quiet arms-range">{sweep ? `${sweep.turns.map(({ words }) => `${words} `).join('')}What ends it on the way in: ${sweep.range.low}. Out: ${sweep.range.high}.` : ''}</p>
    </section>
  )
}

/** As high as the reachable curve, what is wished and where it would be at level now need; what lies beyond is cut off. */
function spanOf({ within, atLevel, out }: SweepColumns, wished: number): [number, number] {
  const here = out.findIndex((value) => value >= 0)
  const values = [...within, atLevel[here] ?? null, wished].filter((value) => value !== null)
  const [low, high] = [Math.min(...values), Math.max(...values)]
  const pad = Math.max(4, 0.14 * (high - low))
  return [low - pad, high + pad]
}

const ink = (name: string): string => getComputedStyle(document.documentElement).getPropertyValue(name).trim()

/** The drawn chart; what moves with the hand is an element over it, so that nothing is drawn anew while dragging. */
class Chart {
  readonly #plot: uPlot
  readonly #dot = document.createElement('i')
  readonly #watch: ResizeObserver
  #place: ((out: number) => void) | null = null
  readonly #columns: SweepColumns

  constructor(host: HTMLElement, columns: SweepColumns, now: { readonly out: number; readonly azimuth: number }, wish: { readonly deg: number; readonly atLevel: boolean }, turns: readonly number[]) {
    this.#columns = columns
    const text = ink('--text-quiet')
    const grid = ink('--line')
    const font = '11px Inter, system-ui, sans-serif'
    const axis = (label: string, size: number): uPlot.Axis => ({ label, labelSize: 16, labelFont: font, size, font, stroke: text, grid: { stroke: grid, width: 1 }, ticks: { stroke: grid, width: 1, size: 4 } })
    const curve = (label: string, stroke: string, more: Partial<uPlot.Series> = {}): uPlot.Series => ({ label, stroke, width: 2, points: { show: false }, ...more })
    const clear = { stroke: 'transparent', width: 0, points: { show: false } }
    this.#plot = new uPlot({
      width: Math.max(100, host.clientWidth), height: Math.max(80, host.clientHeight),
      legend: { show: false }, cursor: { drag: { x: false, y: false }, points: { show: false }, y: false },
      scales: { x: { time: false }, y: { range: () => spanOf(columns, wish.deg) } },
      axes: [axis('trail elbow along its arc from where it is, cm: in \u2212, out +', 30), axis('shaft, degrees across', 40)],
      series: [
        {}, { label: 'low', ...clear }, { label: 'high', ...clear },
        curve('at level', `color-mix(in srgb, ${ink('--ink-reference')} 60%, ${ink('--text')})`, { dash: [2, 3], width: 1.5 }), curve('beyond a limit', ink('--ink-club'), { dash: [5, 5], width: 1.5 }), curve('where it stops', ink('--ink-club'), { width: 2.5 }),
      ],
      bands: [{ series: [2, 1], fill: `color-mix(in srgb, ${ink('--ink-club')} 22%, transparent)` }],
      hooks: { draw: [(u) => drawOver(u, now, wish, text, columns, turns)] },
    }, [columns.out as number[], columns.low as number[], columns.high as number[], columns.atLevel as number[], columns.beyond as number[], columns.within as number[]], host)
    this.#dot.className = 'arms-chart-dot'
    this.#plot.over.append(this.#dot)
    const place = (event: PointerEvent): void => {
      const box = this.#plot.over.getBoundingClientRect()
      const out = this.#plot.posToVal(event.clientX - box.left, 'x')
      this.#place?.(Math.min(columns.out.at(-1)!, Math.max(columns.out[0]!, out)))
    }
    this.#plot.over.addEventListener('pointerdown', (event) => {
      this.#plot.over.setPointerCapture(event.pointerId)
      place(event)
    })
    this.#plot.over.addEventListener('pointermove', (event) => {
      if (this.#plot.over.hasPointerCapture(event.pointerId)) place(event)
    })
    this.#watch = new ResizeObserver(() => {
      if (host.clientWidth > 0 && host.clientHeight > 0) this.#plot.setSize({ width: host.clientWidth, height: host.clientHeight })
    })
    this.#watch.observe(host)
  }

  onPlace(place: (out: number) => void): () => void {
    this.#place = place
    return () => void (this.#place = null)
  }

  put(out: number, azimuth: number): void {
    const { out: outs } = this.#columns
    const isOn = outs.length > 0 && out >= outs[0]! && out <= outs.at(-1)!
    this.#dot.hidden = !isOn
    if (!isOn) return
    const near = azimuth - 360 * Math.round((azimuth - (this.#columns.within.find((value) => value !== null) ?? azimuth)) / 360)
    this.#dot.style.transform = `translate(${this.#plot.valToPos(out, 'x')}px, ${this.#plot.valToPos(near, 'y')}px)`
  }

  dispose(): void {
    this.#watch.disconnect()
    this.#plot.destroy()
  }
}

/** Now as a ring, the wish as a level line with its words. */
function drawOver(u: uPlot, now: { readonly out: number; readonly azimuth: number }, wish: { readonly deg: number; readonly atLevel: boolean }, text: string, columns: SweepColumns, turns: readonly number[]): void {
  const { ctx, bbox } = u
  const ratio = uPlot.pxRatio
  ctx.save()
  ctx.strokeStyle = text
  ctx.fillStyle = text
  ctx.lineWidth = ratio
  ctx.setLineDash([4 * ratio, 4 * ratio])
  const y = u.valToPos(wish.deg, 'y', true)
  ctx.beginPath()
  ctx.moveTo(bbox.left, y)
  ctx.lineTo(bbox.left + bbox.width, y)
  ctx.stroke()
  ctx.setLineDash([])
  ctx.font = `${11 * ratio}px Inter, system-ui, sans-serif`
  ctx.textAlign = 'left'
  ctx.textBaseline = 'bottom'
  ctx.fillText(`wished${wish.atLevel ? ', at level' : ''}`, bbox.left + 4 * ratio, y - 2 * ratio)
  const [x0, y0] = [u.valToPos(now.out, 'x', true), u.valToPos(now.azimuth, 'y', true)]
  ctx.lineWidth = 2 * ratio
  ctx.beginPath()
  ctx.arc(x0, y0, 5 * ratio, 0, 2 * Math.PI)
  ctx.stroke()
  ctx.textAlign = 'left'
  ctx.fillText('now', x0 + 8 * ratio, y0 - 4 * ratio)
  // Where the shaft turns back: a tick through the curve.
  for (const out of turns) {
    const azimuth = interpolate(columns.out, columns.within.map((value) => value ?? NaN), out)
    if (azimuth === null || !Number.isFinite(azimuth)) continue
    const [x, y1] = [u.valToPos(out, 'x', true), u.valToPos(azimuth, 'y', true)]
    ctx.beginPath()
    ctx.moveTo(x, y1 - 7 * ratio)
    ctx.lineTo(x, y1 + 7 * ratio)
    ctx.stroke()
    ctx.textAlign = 'center'
    ctx.fillText('turns back', x, y1 - 9 * ratio)
  }
  // Each curve is named on it where it is still on the chart: the upper one above it, the lower one below, clear of its slope.
  const [lowest, highest] = [u.scales.y?.min ?? -Infinity, u.scales.y?.max ?? Infinity]
  const named = ([['at level', columns.atLevel], ['where it stops', columns.within]] as const).flatMap(([name, values]) => {
    const last = values.findLastIndex((value, k) => value !== null && columns.within[k] !== null && value >= lowest && value <= highest)
    return last < 0 ? [] : [{ name, values, last }]
  }).toSorted((one, two) => two.values[Math.min(one.last, two.last)]! - one.values[Math.min(one.last, two.last)]!)
  named.forEach(({ name, values, last }, i) => {
    const isUpper = i === 0 && named.length > 1
    const first = values.findIndex((value) => value !== null)
    const isRising = values[last]! >= values[first]!
    const k = Math.max(first, Math.round((isUpper ? 0.9 : 0.8) * last))
    const [x, y1] = [u.valToPos(columns.out[k]!, 'x', true), u.valToPos(values[k]!, 'y', true)]
    ctx.textAlign = isRising === isUpper ? 'right' : 'left'
    ctx.textBaseline = isUpper ? 'bottom' : 'top'
    const height = 12 * ratio
    ctx.fillText(name, x + (isRising === isUpper ? -8 : 8) * ratio, Math.min(Math.max(y1 + (isUpper ? -4 : 5) * ratio, bbox.top + height), bbox.top + bbox.height - height))
  })
  ctx.restore()
}
