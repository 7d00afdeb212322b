import { useMemo, useState } from 'react'
import { positionNames } from '../../../shared/contract/pointsFile.ts'
import { positionTitle } from '../../../shared/swing/digitised.ts'
import type { MeasureResult, MissingResult } from '../../../shared/swing/measureSwing.ts'
import { atTitle, digitsOf, inWords, measureTitle, unitWords } from '../../../shared/swing/measureWords.ts'
import { measures } from '../../../shared/swing/registry.ts'
import { Button } from '../../ui/Button.tsx'
import { Dialog } from '../../ui/Dialog.tsx'
import { viewWords } from '../../ui/words.ts'
import { CourseChart } from './CourseChart.tsx'
import type { Outcome } from './measuringState.ts'
import { saveFile } from './saveFile.ts'

type Measured = Extract<Outcome, { kind: 'measured' }>
type Line = { readonly key: string; readonly id: string; readonly view: string | null; readonly at: string; readonly found: MeasureResult | null; readonly why: string | null }
type Column = 'measure' | 'view' | 'at' | 'value' | 'error'

/** All measures of the swing in a table that can be sorted and narrowed, or any of them through time. */
export function MeasuresDialog({ outcome, first, onClose }: { readonly outcome: Measured; readonly first: 'table' | 'chart'; readonly onClose: () => void }) {
  const [page, setPage] = useState(first)
  return (
    <Dialog
      title="Measures"
      size="large"
      onClose={onClose}
      actions={<><p className="quiet">Errors are one standard deviation.</p><Button onClick={() => saveFile(outcome, 'csv')}>Save as CSV</Button><Button onClick={() => saveFile(outcome, 'json')}>Save as JSON</Button><Button onClick={() => saveFile(outcome, 'points')}>Save the points file</Button></>}
    >
      <span className="switch" role="group" aria-label="How to show them">
        <button type="button" aria-pressed={page === 'table'} onClick={() => setPage('table')}>Table</button>
        <button type="button" aria-pressed={page === 'chart'} onClick={() => setPage('chart')}>Over time</button>
      </span>
      {page === 'table' ? <Table outcome={outcome} /> : <CourseChart outcome={outcome} />}
    </Dialog>
  )
}

const lineOf = (one: MeasureResult | MissingResult): Line => ({
  key: `${one.id} ${one.view} ${one.at}`, id: one.id, view: one.view, at: one.at, found: 'value' in one ? one : null, why: 'why' in one ? one.why : null,
})
const rank = new Map(measures.map(({ id }, i) => [id, i]))
const place = (at: string): number => (at === 'swing' ? -1 : positionNames.indexOf(at as 'top'))

const compare: Readonly<Record<Column, (a: Line, b: Line) => number>> = {
  measure: (a, b) => rank.get(a.id)! - rank.get(b.id)! || place(a.at) - place(b.at),
  view: (a, b) => (a.view ?? 'z').localeCompare(b.view ?? 'z'),
  at: (a, b) => place(a.at) - place(b.at),
  // What cannot be had comes last, whichever way.
  value: (a, b) => (a.found?.value ?? Infinity) - (b.found?.value ?? Infinity),
  error: (a, b) => (a.found?.sigma ?? Infinity) - (b.found?.sigma ?? Infinity),
}
const columns: readonly (readonly [Column, string])[] = [['measure', 'Measure'], ['view', 'View'], ['at', 'At'], ['value', 'Value'], ['error', 'Error']]

function Table({ outcome }: { readonly outcome: Measured }) {
  const [view, setView] = useState('all')
  const [at, setAt] = useState('all')
  const [show, setShow] = useState<'all' | 'found' | 'missing'>('all')
  const [words, setWords] = useState('')
  const [sort, setSort] = useState<{ readonly by: Column; readonly down: boolean }>({ by: 'measure', down: false })
  const lines = useMemo(() => [...outcome.result.measures.map(lineOf), ...outcome.result.missing.map(lineOf)], [outcome])
  const shown = lines
    .filter((line) => (view === 'all' || (view === 'both' ? line.view === null : line.view === view)) && (at === 'all' || line.at === at))
    .filter((line) => show === 'all' || (show === 'found') === (line.found !== null))
    .filter((line) => measureTitle(line.id).toLowerCase().includes(words.trim().toLowerCase()))
    .toSorted((a, b) => {
      const order = compare[sort.by](a, b)
      return (sort.down && !((sort.by === 'value' || sort.by === 'error') && (a.found === null) !== (b.found === null)) ? -order : order) || compare.measure(a, b)
    })
  return (
    <>
      <div className="table-filters">
        <input type="search" aria-label="Find a measure" placeholder="Find a measure" value={words} onChange={(event) => setWords(event.target.value)} />
        <select aria-label="View" value={view} onChange={(event) => setView(event.target.value)}>
          <option value="all">all views</option><option value="face-on">face-on</option><option value="down-the-line">down the line</option><option value="both">both together</option>
        </select>
        <select aria-label="Position" value={at} onChange={(event) => setAt(event.target.value)}>
          <option value="all">all positions</option><option value="swing">whole swing</option>
          {positionNames.map((name) => <option key={name} value={name}>{positionTitle(name)}</option>)}
        </select>
        <select aria-label="Which" value={show} onChange={(event) => setShow(event.target.value as 'all')}>
          <option value="all">had and missing</option><option value="found">had</option><option value="missing">missing</option>
        </select>
        <span className="quiet numbers">{shown.length} of {lines.length}</span>
      </div>
      <div className="measures-scroll" tabIndex={0} role="region" aria-label="All measures">
        <table className="measures-table">
          <thead>
            <tr>
              {columns.map(([column, title]) => (
                <th key={column} scope="col" aria-sort={sort.by === column ? (sort.down ? 'descending' : 'ascending') : undefined} className={column === 'value' || column === 'error' ? 'right' : undefined}>
                  <button type="button" onClick={() => setSort({ by: column, down: sort.by === column && !sort.down })}>{title}{sort.by === column ? <span aria-hidden="true">{sort.down ? ' \u2193' : ' \u2191'}</span> : null}</button>
                </th>
              ))}
              <th scope="col">Rests on, or why it cannot be had</th>
            </tr>
          </thead>
          <tbody>
            {shown.map(({ key, id, view: from, at: position, found, why }) => {
              const digits = found && digitsOf(found)
              return (
                <tr key={key} data-missing={found === null}>
                  <th scope="row">{measureTitle(id)}</th>
                  <td>{from ? viewWords[from as 'face-on'].toLowerCase() : 'both'}</td>
                  <td>{atTitle(position as 'top')}</td>
                  {digits ? <><td className="numbers right">{digits.value}{unitWords[found.unit]}</td><td className="numbers right">{digits.error}</td></> : <td colSpan={2} className="quiet right">missing</td>}
                  <td className="quiet basis">{inWords(found ? found.basis : why!)}</td>
                </tr>
              )
            })}
          </tbody>
        </table>
        {shown.length === 0 ? <p className="quiet">Nothing fits: widen the choice above.</p> : null}
      </div>
    </>
  )
}
