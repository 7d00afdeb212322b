import { useEffect, useMemo, useRef, useState } from 'react'
import uPlot from 'uplot'
import 'uplot/dist/uPlot.min.css'
import { positionNames, type PointName } from '../../../shared/contract/pointsFile.ts'
import { pointTitle, positionTitle } from '../../../shared/swing/digitised.ts'
import { decimalsFor, measureTitle, unitWords } from '../../../shared/swing/measureWords.ts'
import { courseOfMeasure, courseOfPoint, followable, type Course } from '../../../shared/swing/overTime.ts'
import { viewWords } from '../../ui/words.ts'
import type { Outcome } from './measuringState.ts'
import { capital } from './placer.ts'

type Measured = Extract<Outcome, { kind: 'measured' }>

/** Any measure, or a point's way, against time, with its error as a band and the positions as rules. */
export function CourseChart({ outcome }: { readonly outcome: Measured }) {
  const views = outcome.swing.views.map(({ name }) => name)
  const [view, setView] = useState(views[0]!)
  const [what, setWhat] = useState(view === 'face-on' ? 'measure:lead-arm-to-vertical' : 'measure:shaft-pitch')
  const own = outcome.swing.views.find(({ name }) => name === view) ?? outcome.swing.views[0]!
  const points = [...own.tracks.keys()]
  const [kind, name, axis] = what.split(':') as [string, string, 'u' | 'v' | undefined]
  const course = useMemo<Course | null>(() => {
    if (kind === 'point') return courseOfPoint(outcome.swing, name as PointName, own.name, axis ?? 'u')
    const measure = followable(own.name).find(({ id }) => id === name)
    return measure ? courseOfMeasure(outcome.swing, measure, own.name) : null
  }, [outcome, own, kind, name, axis])
  const rules = useMemo(() => {
    const found = outcome.result.viewPositions?.[own.name] ?? outcome.result.positions
    return positionNames.flatMap((position) => (found[position] ? [{ name: position, t: found[position].t }] : []))
  }, [outcome, own])
  const title = kind === 'point' ? `${capital(pointTitle(name as PointName))}, ${axis === 'v' ? 'up' : own.name === 'face-on' ? 'toward the target' : 'toward the ball'}` : measureTitle(name)
  return (
    <>
      <div className="table-filters">
        <select aria-label="View" value={own.name} onChange={(event) => setView(event.target.value as 'face-on')}>
          {views.map((one) => <option key={one} value={one}>{viewWords[one]}</option>)}
        </select>
        <select aria-label="What to follow" value={what} onChange={(event) => setWhat(event.target.value)}>
          <optgroup label="Measures">{followable(own.name).map(({ id }) => <option key={id} value={`measure:${id}`}>{measureTitle(id)}</option>)}</optgroup>
          <optgroup label="Points">
            {points.flatMap((point) => [
              <option key={`${point} u`} value={`point:${point}:u`}>{capital(pointTitle(point))}, {own.name === 'face-on' ? 'toward the target' : 'toward the ball'}</option>,
              <option key={`${point} v`} value={`point:${point}:v`}>{capital(pointTitle(point))}, up</option>,
            ])}
          </optgroup>
        </select>
        <span className="quiet">{course?.t.length ?? 0} frames</span>
      </div>
      {course && course.t.length > 0
        ? <Chart course={course} title={title} rules={rules} />
        : <p className="quiet chart-empty">Its points are not placed on any frame of this view. Place them on the frames you want to follow it through.</p>}
    </>
  )
}

function Chart({ course, title, rules }: { readonly course: Course; readonly title: string; readonly rules: readonly { readonly name: (typeof positionNames)[number]; readonly t: number }[] }) {
  const host = useRef<HTMLDivElement>(null)
  const [words, setWords] = useState('')
  useEffect(() => {
    const box = host.current!
    const style = getComputedStyle(box)
    const colour = (name: string): string => style.getPropertyValue(name).trim()
    const unit = unitWords[course.unit].trim()
    const decimals = decimalsFor(Math.min(...course.sigma.filter((one) => one > 0), 1))
    const axis: uPlot.Axis = { stroke: colour('--text-quiet'), grid: { stroke: colour('--line'), width: 1 }, ticks: { stroke: colour('--line') }, font: '12px Inter' }
    const plot = new uPlot({
      width: box.clientWidth, height: 380,
      legend: { show: false },
      cursor: { points: { size: 7 } },
      scales: {
        // Above the line is room for the names of the positions.
        y: { range: (_, low, high) => { const span = Math.max(high - low, 1e-6); return [low - 0.06 * span, high + 0.42 * span] } },
        x: { time: false, range: (_, low, high) => { const air = Math.max((high - low) * 0.04, 0.02); return [low - air, high + air] } },
      },
      axes: [{ ...axis, label: 'seconds', labelFont: '12px Inter', labelSize: 18 }, { ...axis, size: 62, values: (_, ticks) => ticks.map((tick) => `${tick}${unit === '\u00b0' ? unit : ''}`) }],
      series: [
        {},
        { stroke: 'transparent', points: { show: false } },
        { stroke: 'transparent', points: { show: false } },
        { label: title, stroke: colour('--accent'), width: 1.5, points: { show: true, size: 5, fill: colour('--accent') } },
      ],
      bands: [{ series: [2, 1], fill: colour('--band') }],
      hooks: {
        // Under the line, so that no name hides it.
        drawAxes: [(u) => drawRules(u, rules, colour('--text-quiet'), colour('--text'), colour('--raised'))],
        setCursor: [(u) => {
          const i = u.cursor.idx
          const [x, low, high, value] = u.data
          const here = i === null || i === undefined ? null : value![i]
          setWords(here === null || here === undefined ? '' : `${x[i!]!.toFixed(3)} s: ${here.toFixed(decimals)} \u00b1 ${((high![i!]! - low![i!]!) / 2).toFixed(decimals)}${unitWords[course.unit]}`)
        }],
      },
    }, broken(course), box)
    const observer = new ResizeObserver(() => plot.setSize({ width: box.clientWidth, height: 380 }))
    observer.observe(box)
    return () => {
      observer.disconnect()
      plot.destroy()
    }
  }, [course, title, rules])
  return (
    <figure className="course-chart">
      <div ref={host} role="img" aria-label={`${title} against time; the same numbers are in the table below`} />
      <figcaption className="small"><span>{title}</span><span className="numbers">{words}</span></figcaption>
      <details className="small">
        <summary>Numbers</summary>
        <div className="measures-scroll short" tabIndex={0} role="region" aria-label="Numbers of the chart">
          <table className="measures-table"><thead><tr><th scope="col">Seconds</th><th scope="col">Value</th><th scope="col">Error</th></tr></thead>
            <tbody>{course.t.map((t, i) => <tr key={t}><td className="numbers">{t.toFixed(4)}</td><td className="numbers">{course.value[i]!.toFixed(2)}</td><td className="numbers">{'\u00b1'} {course.sigma[i]!.toFixed(2)}</td></tr>)}</tbody>
          </table>
        </div>
      </details>
    </figure>
  )
}

/** Frames farther apart than this are not joined, seconds: nothing is known of what lies between. */
const joined = 0.11

/** An angle that is farther from the last has come round: the same line under another number. */
const comeRound = 120

/** Times, lower and upper edge of the band, values: with a gap wherever frames are too far apart to be joined, or an angle comes round. */
function broken({ t, value, sigma, unit }: Course): uPlot.AlignedData {
  const data: [number[], (number | null)[], (number | null)[], (number | null)[]] = [[], [], [], []]
  const add = (x: number, low: number | null, high: number | null, y: number | null): void => [x, low, high, y].forEach((one, k) => (data[k] as (number | null)[]).push(one))
  t.forEach((x, i) => {
    if (i > 0 && (x - t[i - 1]! > joined || (unit === 'deg' && Math.abs(value[i]! - value[i - 1]!) > comeRound))) add((x + t[i - 1]!) / 2, null, null, null)
    add(x, value[i]! - sigma[i]!, value[i]! + sigma[i]!, value[i]!)
  })
  return data
}

/** A rule at each position, its name written along it from the top. */
function drawRules(u: uPlot, rules: readonly { readonly name: (typeof positionNames)[number]; readonly t: number }[], quiet: string, text: string, plate: string): void {
  const { ctx, bbox } = u
  const ratio = devicePixelRatio
  ctx.save()
  ctx.font = `${11 * ratio}px Inter`
  ctx.textBaseline = 'bottom'
  // Where two rules stand closer than a name is high, the second name begins under the first.
  let last = { x: -Infinity, end: 0 }
  for (const { name, t } of rules) {
    const x = u.valToPos(t, 'x', true)
    if (x < bbox.left || x > bbox.left + bbox.width) continue
    ctx.strokeStyle = quiet
    ctx.lineWidth = ratio
    ctx.setLineDash([3 * ratio, 3 * ratio])
    ctx.beginPath()
    ctx.moveTo(x, bbox.top)
    ctx.lineTo(x, bbox.top + bbox.height)
    ctx.stroke()
    ctx.save()
    const words = positionTitle(name)
    const from = x - last.x < 15 * ratio ? last.end + 8 * ratio : 4 * ratio
    last = { x, end: from + ctx.measureText(words).width }
    ctx.translate(x - 2 * ratio, bbox.top + from)
    ctx.rotate(-Math.PI / 2)
    ctx.textAlign = 'right'
    // On a plate, so that it reads over the grid.
    ctx.fillStyle = plate
    ctx.fillRect(-ctx.measureText(words).width - 3 * ratio, -13 * ratio, ctx.measureText(words).width + 6 * ratio, 13 * ratio)
    ctx.fillStyle = text
    ctx.fillText(words, 0, 0)
    ctx.restore()
  }
  ctx.restore()
}
