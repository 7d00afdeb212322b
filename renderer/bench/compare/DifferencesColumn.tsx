import { useMemo, useRef, useState, type KeyboardEvent } from 'react'
import { positionNames } from '../../../shared/contract/pointsFile.ts'
import { differenceWords, isOfFilming, sideWords, sureTimes, sureWords, type Difference, type Uncompared } from '../../../shared/compare/differences.ts'
import { mostPins, pinKey } from '../../../shared/compare/pins.ts'
import { positionTitle } from '../../../shared/swing/digitised.ts'
import { atTitle, inWords, measureTitle } from '../../../shared/swing/measureWords.ts'
import { measures } from '../../../shared/swing/registry.ts'
import { Button } from '../../ui/Button.tsx'
import { viewWords } from '../../ui/words.ts'
import { useCompare, useComparison } from './compareContext.tsx'

/** The measures of both swings in one table, the surest difference first; three of them can be pinned as marks. */
export function DifferencesColumn() {
  const comparison = useComparison()
  const compared = useCompare((state) => state.compared)
  const beside = useCompare((state) => state.beside)
  const pins = useCompare((state) => state.pins)
  const [at, setAt] = useState('all')
  const body = useRef<HTMLTableSectionElement>(null)
  const rows = useMemo(() => (compared.kind === 'compared' ? compared.differences.filter((row) => (at === 'all' || row.at === at) && !isOfFilming(row)) : []), [compared, at])
  const filmed = useMemo(() => (compared.kind === 'compared' ? compared.differences.filter(isOfFilming) : []), [compared])
  const missing = useMemo(() => (compared.kind === 'compared' ? missingLines(compared.missing.filter((row) => at === 'all' || row.at === at)) : []), [compared, at])
  const sure = rows.filter(({ exceeds }) => exceeds).length
  const move = (event: KeyboardEvent): void => {
    const by = event.key === 'ArrowDown' ? 1 : event.key === 'ArrowUp' ? -1 : 0
    if (!by || event.altKey || event.ctrlKey) return
    const own = (event.target as HTMLElement).closest('button')
    const column = own?.dataset.part
    if (!own || !column) return
    event.preventDefault()
    const all = [...body.current!.querySelectorAll<HTMLButtonElement>(`button[data-part="${column}"]`)]
    all[Math.min(Math.max(all.indexOf(own) + by, 0), all.length - 1)]?.focus()
  }
  return (
    <aside className="bench-compare" aria-label="Differences">
      <header className="evidence-head">
        <h2>Differences</h2>
        <select aria-label="At which position" value={at} onChange={(event) => { setAt(event.target.value); event.target.blur() }}>
          <option value="all">everywhere</option>
          <option value="swing">whole swing</option>
          {positionNames.map((name) => <option key={name} value={name}>{positionTitle(name)}</option>)}
        </select>
        <Button look="plain" onClick={() => comparison.toggleDifferences()}>Close</Button>
      </header>
      {compared.kind === 'none' ? (
        <div className="differences-none">
          {compared.reasons.map((why) => <p key={why}>{why}</p>)}
          <p className="quiet">Differences are had where points are placed on both swings (key A on the Bench).</p>
        </div>
      ) : (
        <>
          <p className="small quiet differences-sum">The student less {beside?.student?.name ?? 'the reference'}. {rows.length === 0 ? 'Nothing is measured on both here.' : `${sure} of ${rows.length} are larger than their error; the surest come first.`} {pins.length} of {mostPins} pinned.</p>
          <div className="differences-scroll" tabIndex={-1}>
            {rows.length > 0 ? (
              <table className="differences" onKeyDown={move}>
                <Columns />
                <thead><tr><th scope="col"><span className="unseen">Pin</span></th><th scope="col">Measure: student / reference</th><th scope="col" className="right">Difference</th><th scope="col" className="right">Times its error</th></tr></thead>
                <tbody ref={body}>{rows.map((row, i) => <Row key={pinKey(row)} row={row} isFirst={i === 0} isPinned={pins.includes(pinKey(row))} />)}</tbody>
              </table>
            ) : null}
            {filmed.length > 0 ? (
              <details className="filming">
                <summary className="quiet">How the two were filmed</summary>
                <p>{filmed.some(({ times }) => times > sureTimes) ? 'The cameras stood differently: what looks different may be the camera\u2019s doing. Trust what both views together give.' : 'The cameras stood alike, as far as their errors tell.'}</p>
                <table className="differences">
                  <Columns />
                  <tbody>{filmed.map((row) => <Row key={pinKey(row)} row={row} isFirst={false} isPinned={null} />)}</tbody>
                </table>
              </details>
            ) : null}
            {missing.length > 0 ? (
              <details className="missing">
                <summary className="quiet">{missing.length} cannot be compared: why</summary>
                <ul>{missing.map(({ title, where, why }) => <li key={`${title} ${where} ${why}`}><strong>{title}</strong><span className="quiet"> {where}: </span>{why}</li>)}</ul>
              </details>
            ) : null}
          </div>
        </>
      )}
    </aside>
  )
}

function Row({ row, isFirst, isPinned }: { readonly row: Difference; readonly isFirst: boolean; /** Null for what cannot be pinned. */ readonly isPinned: boolean | null }) {
  const comparison = useComparison()
  const title = `${measureTitle(row.id)}${row.at === 'swing' ? '' : `, ${atTitle(row.at)}`}`
  const sign = measures.find(({ id }) => id === row.id)?.sign ?? ''
  return (
    <tr data-exceeds={row.exceeds} data-measure={row.id} data-at={row.at}>
      <td>{isPinned === null ? null : <button type="button" className="pin" data-part="pin" tabIndex={isFirst ? 0 : -1} aria-pressed={isPinned} aria-label={`Pin ${title}`} title={isPinned ? 'Take the pin off' : 'Pin it: it becomes a mark with its caption'} onClick={() => comparison.pins.toggle(row)}>{isPinned ? '\u25cf' : '\u25cb'}</button>}</td>
      <th scope="row">
        <button type="button" className="difference-name" data-part="name" tabIndex={isFirst ? 0 : -1} onClick={() => comparison.goTo(row)} title={`${sign}. Goes there.`}>{title}</button>
        <span className="quiet small numbers">{sideWords(row.own)} / {sideWords(row.reference)}{row.view ? `, ${viewWords[row.view].toLowerCase()}` : ''}</span>
      </th>
      <td className="right numbers">{differenceWords(row)}</td>
      <td className="right numbers" title={sureWords(row)}><span className="unseen">{sureWords(row)}, </span>{row.times >= 100 ? '>99' : row.times.toFixed(1)}</td>
    </tr>
  )
}

const Columns = () => <colgroup><col /><col /><col /><col /></colgroup>

/** One line for each measure and reason, with the positions it holds for. */
function missingLines(missing: readonly Uncompared[]): { title: string; where: string; why: string }[] {
  const lines = new Map<string, { title: string; places: Set<string>; why: string }>()
  for (const { id, at, own, reference } of missing) {
    const why = [own !== null ? `the student: ${inWords(own)}` : '', reference !== null ? `the reference: ${inWords(reference)}` : ''].filter(Boolean)
    const words = own !== null && own === reference ? `both: ${inWords(own)}` : why.join('; ')
    const key = `${id} ${words.replaceAll(atTitle(at), '')}`
    const line = lines.get(key) ?? { title: measureTitle(id), places: new Set<string>(), why: words }
    line.places.add(atTitle(at))
    lines.set(key, line)
  }
  return [...lines.values()].map(({ title, places, why }) => ({ title, where: [...places].join(', '), why }))
}
