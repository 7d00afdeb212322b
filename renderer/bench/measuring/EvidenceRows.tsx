import { memo, useMemo, useRef, useState, type KeyboardEvent } from 'react'
import { positionNames } from '../../../shared/contract/pointsFile.ts'
import { positionTitle } from '../../../shared/swing/digitised.ts'
import { atTitle, digitsOf, inWords, measureTitle, unitWords } from '../../../shared/swing/measureWords.ts'
import type { MeasureResult, MissingResult } from '../../../shared/swing/measureSwing.ts'
import { measures } from '../../../shared/swing/registry.ts'
import { viewWords } from '../../ui/words.ts'
import { useMeasuring, useMeasuringParts } from './measuringContext.tsx'
import { capital } from './placer.ts'
import type { Outcome } from './measuringState.ts'
import { MirrorPress, SidesWarnings } from './SidesWarnings.tsx'

interface Group {
  readonly id: string
  readonly view: string | null
  readonly rows: readonly MeasureResult[]
  /** What the scale spans, in the unit. */
  readonly low: number
  readonly high: number
}

/** Rows by measure and view; those of one measure share a scale. */
function groupsOf(found: readonly MeasureResult[]): Group[] {
  const groups = new Map<string, MeasureResult[]>()
  for (const row of found) {
    const key = `${row.id} ${row.view}`
    groups.set(key, [...(groups.get(key) ?? []), row])
  }
  return [...groups.values()].map((rows) => {
    let low = Math.min(...rows.map(({ lo, value, sigma }) => Math.min(lo, value - sigma)))
    let high = Math.max(...rows.map(({ hi, value, sigma }) => Math.max(hi, value + sigma)))
    // Zero is shown where it is near, so that a sign can be seen.
    const reach = high - low
    if (low > 0 && low < reach) low = 0
    if (high < 0 && -high < reach) high = 0
    const air = Math.max((high - low) * 0.08, 1e-6)
    return { id: rows[0]!.id, view: rows[0]!.view, rows, low: low - air, high: high + air }
  })
}

const keyOf = (row: { readonly id: string; readonly view: string | null; readonly at: string }): string => `${row.id} ${row.view} ${row.at}`

/** Each measure as a dot with its error bar on a small scale, digits beside it; the basis of the row at hand below. */
export function EvidenceRows() {
  const { measuring } = useMeasuringParts()
  const outcome = useMeasuring((state) => state.outcome)
  const [at, setAt] = useState<string>('all')
  const [current, setCurrent] = useState<string | null>(null)
  const list = useRef<HTMLDivElement>(null)
  const result = outcome.kind === 'measured' ? outcome.result : null
  const groups = useMemo(() => groupsOf((result?.measures ?? []).filter((row) => at === 'all' || row.at === at)), [result, at])
  const sections = useMemo(() => [null, 'face-on', 'down-the-line'].map((view) => ({ view, list: groups.filter((group) => group.view === view) })).filter(({ list: own }) => own.length > 0), [groups])
  const missing = useMemo(() => missingOf(result?.missing ?? [], at), [result, at])
  const atHand = result?.measures.find((row) => keyOf(row) === current) ?? null
  const count = groups.reduce((sum, group) => sum + group.rows.length, 0)

  const move = (event: KeyboardEvent): void => {
    const by = event.key === 'ArrowDown' ? 1 : event.key === 'ArrowUp' ? -1 : 0
    if (!by || event.altKey || event.ctrlKey) return
    event.preventDefault()
    const rows = [...list.current!.querySelectorAll<HTMLElement>('.evidence-row')]
    const next = rows[Math.min(Math.max(rows.indexOf(document.activeElement as HTMLElement) + by, 0), rows.length - 1)]
    next?.focus()
  }

  return (
    <section className="evidence-list" aria-label="Measures">
      <header>
        <h3>Measures</h3>
        <span className="quiet numbers">{count}</span>
        <select aria-label="At which position" value={at} onChange={(event) => { setAt(event.target.value); event.target.blur() }}>
          <option value="all">everywhere</option>
          <option value="swing">whole swing</option>
          {positionNames.map((name) => <option key={name} value={name}>{positionTitle(name)}</option>)}
        </select>
      </header>
      {outcome.kind === 'none' ? <>{outcome.reasons.map((why) => <p key={why} className="quiet reasons">{why}</p>)}<OddClip odd={outcome.odd} /></> : (
        <>
          <SidesWarnings />
          {outcome.notes.map((note) => <p key={note} className="small reasons">{note}</p>)}
        </>
      )}
      <div className="evidence-rows" ref={list} onKeyDown={move} onMouseLeave={() => setCurrent(null)} role="group" aria-label="Measures that were had">
        {sections.map(({ view, list: own }) => (
          <section key={view ?? 'both'} aria-label={view ? viewWords[view as 'face-on'] : 'Both views'}>
            <h4>{view ? viewWords[view as 'face-on'] : 'Both views'}</h4>
            {own.map((group) => (
              <div key={group.id} className="evidence-group" data-single={group.rows.length === 1}>
                {group.rows.length > 1 ? <h5>{measureTitle(group.id)}</h5> : null}
                {group.rows.map((row) => (
                  <Row
                    key={row.at} row={row} low={group.low} high={group.high} isFirst={row === sections[0]!.list[0]!.rows[0]}
                    title={group.rows.length > 1 ? atTitle(row.at) : row.at === 'swing' ? measureTitle(row.id) : `${measureTitle(row.id)}, ${atTitle(row.at)}`}
                    isSingle={group.rows.length === 1} onHand={setCurrent} onGo={() => { if (row.at !== 'swing') measuring.goTo(row.at) }}
                  />
                ))}
              </div>
            ))}
          </section>
        ))}
        {missing.length > 0 ? (
          <details className="missing">
            <summary className="quiet">{missing.length} cannot be had: why</summary>
            <ul>{missing.map(({ title, where, why }) => <li key={`${title} ${where} ${why}`}><strong>{title}</strong><span className="quiet"> {where}: </span>{why}</li>)}</ul>
          </details>
        ) : null}
      </div>
      <p className="evidence-basis small" aria-live="polite">
        {atHand ? <><strong>{measureTitle(atHand.id)}, {atTitle(atHand.at)}.</strong> {measures.find(({ id }) => id === atHand.id)?.sign}. <span className="quiet">From {inWords(atHand.basis)}. <kbd>Shift</kbd> <kbd>F</kbd> makes it a finding.</span></> : <span className="quiet">Point at a measure, or go there with Tab and the arrows, for what it rests on. Errors are one standard deviation.</span>}
      </p>
    </section>
  )
}

const Row = memo(function Row({ row, low, high, title, isFirst, isSingle, onHand, onGo }: {
  readonly row: MeasureResult; readonly low: number; readonly high: number; readonly title: string; readonly isFirst: boolean; readonly isSingle: boolean
  readonly onHand: (key: string | null) => void; readonly onGo: () => void
}) {
  const { value, error } = digitsOf(row)
  return (
    <button type="button" className="evidence-row" tabIndex={isFirst ? 0 : -1} data-measure={row.id} data-at={row.at} data-view={row.view ?? ''} onFocus={() => onHand(keyOf(row))} onMouseEnter={() => onHand(keyOf(row))} onClick={onGo}>
      <span className="evidence-at" data-single={isSingle}>{isSingle ? null : <span className="unseen">{measureTitle(row.id)}, </span>}{title}</span>
      <ErrorBar row={row} low={low} high={high} />
      <span className="numbers evidence-value">{value}<span className="quiet"> {error}{unitWords[row.unit]}</span></span>
    </button>
  )
}, (one, two) => one.row.value === two.row.value && one.row.lo === two.row.lo && one.row.hi === two.row.hi && one.low === two.low && one.high === two.high && one.row.basis === two.row.basis && one.isFirst === two.isFirst && one.title === two.title)

const width = 80
const height = 16

/** A dot with its 68 % interval on a line from `low` to `high`; a tick where zero is. */
function ErrorBar({ row, low, high }: { readonly row: MeasureResult; readonly low: number; readonly high: number }) {
  const x = (value: number): number => 3 + ((value - low) / (high - low)) * (width - 6)
  const y = height / 2
  return (
    <svg className="error-bar" width={width} height={height} viewBox={`0 0 ${width} ${height}`} aria-hidden="true">
      <path className="bar-axis" d={`M0 ${y}H${width}`} />
      {low <= 0 && high >= 0 ? <path className="bar-zero" d={`M${x(0)} 2V${height - 2}`} /> : null}
      <path className="bar-error" d={`M${x(row.lo)} ${y}H${x(row.hi)}M${x(row.lo)} ${y - 3}V${y + 3}M${x(row.hi)} ${y - 3}V${y + 3}`} />
      <circle className="bar-dot" cx={x(row.value)} cy={y} r="3" />
    </svg>
  )
}

/** What cannot be had: one line for each measure and reason, with the positions it holds for. */
function missingOf(missing: readonly MissingResult[], at: string): { title: string; where: string; why: string }[] {
  const lines = new Map<string, { title: string; places: string[]; why: string }>()
  for (const one of missing) {
    if (at !== 'all' && one.at !== at) continue
    const key = `${one.id} ${one.view} ${one.why.replace(one.at, '')}`
    const line = lines.get(key) ?? { title: measureTitle(one.id), places: [], why: one.why }
    line.places.push(atTitle(one.at))
    lines.set(key, line)
  }
  return [...lines.values()].map(({ title, places, why }) => ({ title, where: places.join(', '), why: capital(inWords(why)) }))
}

/** The clip that may have been filmed mirrored, with the press that says so. */
function OddClip({ odd }: { readonly odd: Extract<Outcome, { kind: 'none' }>['odd'] | undefined }) {
  const { filmed } = useMeasuringParts()
  return odd ? <p className="reasons odd-clip"><span>{viewWords[odd.view]}:</span><MirrorPress {...odd} filmed={filmed} /></p> : null
}
