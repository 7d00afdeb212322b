import { useId } from 'react'
import { positionNames, type PositionName } from '../../../shared/contract/pointsFile.ts'
import { anchors, anchorWords, sizings, sizingWords, transformDigits, transformWords, type Anchor, type Sizing } from '../../../shared/compare/fit.ts'
import { positionTitle } from '../../../shared/swing/digitised.ts'
import { looks, type Reference } from '../../../shared/walkthrough/reference.ts'
import { Button, ToolButton } from '../../ui/Button.tsx'
import { Warning } from '../../ui/Field.tsx'
import { useBench } from '../benchContext.tsx'
import { useCompare, useComparison } from './compareContext.tsx'

const lookWords: Readonly<Record<Reference['look'], string>> = { beside: 'Beside', ghost: 'Ghost', wipe: 'Wipe' }

/** How the reference stands: its look, what is drawn of it, how it is laid over and tied, and how to be rid of it. */
export function CompareBar() {
  const comparison = useComparison()
  const beside = useCompare((state) => state.beside)
  const first = useCompare((state) => state.references[0] ?? state.references[1])
  const isShown = useCompare((state) => state.isShown)
  const opening = useCompare((state) => state.opening)
  const hasMarks = useCompare((state) => state.references.some((one) => (one?.marks?.length ?? 0) > 0))
  if (!first) return null
  const { look, amount } = first
  return (
    <section className="compare-bar" aria-label="Beside a reference">
      <div className="bar-group">
        <ToolButton className="compare-name" onClick={() => comparison.choose(true)} keys="Q" title={`${beside?.title ?? 'Reference'}: choose another`}><span>{opening ?? beside?.title ?? 'Reference'}</span></ToolButton>
        <span className="switch" role="group" aria-label="How the reference stands">
          {looks.map((one) => <button key={one} type="button" aria-pressed={look === one} title="Shift Q: the next" onClick={() => comparison.change({ look: one })}>{lookWords[one]}</button>)}
        </span>
        {look === 'beside' ? null : <label className="amount">
          <span className="unseen">{look === 'wipe' ? 'How far the wipe stands' : 'How much of the reference shows'}</span>
          <input
            type="range" min={0} max={100} step={1} value={Math.round(amount * 100)} title="Keys 8 and 9"
            onChange={(event) => comparison.change({ amount: Number(event.target.value) / 100 })}
          />
        </label>}
      </div>
      <div className="bar-group" role="group" aria-label="What is drawn">
        {look === 'ghost' ? <ToolButton pressed={first.picture} onClick={() => comparison.toggle('picture')} keys="Shift 6">Picture</ToolButton> : null}
        <ToolButton pressed={first.skeleton} disabled={!hasPoints(first)} onClick={() => comparison.toggle('skeleton')} keys="5">Skeletons</ToolButton>
        <ToolButton pressed={first.shaft} disabled={!first.tracks.reference} onClick={() => comparison.toggle('shaft')} keys="Shift 5">Shaft path</ToolButton>
        <ToolButton pressed={first.traces} disabled={!hasPoints(first)} onClick={() => comparison.toggle('traces')} keys="6">Paths</ToolButton>
        <ToolButton pressed={first.marked === true} disabled={!hasMarks} onClick={() => comparison.toggle('marked')} keys="Shift 9" title={hasMarks ? 'What was drawn on the reference' : 'Nothing is drawn on the reference'}>Its marks</ToolButton>
      </div>
      <div className="bar-group">
        <ToolButton pressed={isShown} onClick={() => comparison.toggleDifferences()} keys="Shift V">Differences</ToolButton>
        <Notes />
        <Button look="plain" onClick={() => comparison.remove()} title="Shift Backspace">Take away</Button>
      </div>
      <Laying />
      <Tying />
    </section>
  )
}

const hasPoints = ({ tracks }: Reference): boolean => tracks.own !== null || tracks.reference !== null

function Laying() {
  const comparison = useComparison()
  const first = useCompare((state) => state.references[0] ?? state.references[1])
  const sizeBy = useCompare((state) => state.sizeBy)
  const alignOn = useCompare((state) => state.alignOn)
  // Each view has a transform of its own; the words are the active pane's.
  const active = useBench((state) => state.active)
  const reference = useCompare((state) => state.references[active])
  const shown = reference ?? first
  if (!first || !shown) return null
  return (
    <div className="bar-group" role="group" aria-label="Laid over the student">
      <ToolButton pressed={first.aligned} onClick={() => comparison.toggle('aligned')} keys="7" title={first.aligned ? 'Take the transform off' : 'Lay it over the student'}>
        <span>Same size</span>
      </ToolButton>
      <select aria-label="Same size by" disabled={!first.aligned} value={sizeBy} onChange={(event) => { comparison.size(event.target.value as Sizing); event.target.blur() }}>
        {sizings.map((one) => <option key={one} value={one}>by {sizingWords[one]}</option>)}
      </select>
      <select aria-label="Aligned on" disabled={!first.aligned} value={alignOn} onChange={(event) => { comparison.align(event.target.value as Anchor); event.target.blur() }}>
        {anchors.map((one) => <option key={one} value={one}>on the {anchorWords[one]}</option>)}
      </select>
      <span className="quiet numbers transform-words" title={first.aligned ? `The reference is ${transformWords(shown.transform)}.` : ''}>
        {first.aligned ? <><span aria-hidden="true">{transformDigits(shown.transform)}</span><span className="unseen">{transformWords(shown.transform)}</span></> : 'as it was filmed'}
      </span>
    </div>
  )
}

function Tying() {
  const comparison = useComparison()
  const tieBy = useCompare((state) => state.tieBy)
  const first = useCompare((state) => state.references[0] ?? state.references[1])
  const panes = useCompare((state) => state.panes)
  const shared = panes[0] ?? panes[1] ? positionNames.filter((name) => ([0, 1] as const).some((pane) => { const paired = comparison.paired(pane); return paired?.own[name] !== undefined && paired.reference[name] !== undefined })) : []
  const isByPositions = first?.tiedBy === 'positions'
  const names = (panes[0]?.names.length ? panes[0] : panes[1])?.names ?? []
  return (
    <div className="bar-group" role="group" aria-label="Tie with the reference">
      <select
        aria-label="Tied by" value={tieBy === 'positions' ? 'positions' : 'time'}
        onChange={(event) => {
          const { value } = event.target
          if (value === 'positions') comparison.tieByPositions()
          else comparison.tieByTime(value === 'time' ? null : value as PositionName)
          event.target.blur()
        }}
      >
        <option value="positions">tied by positions</option>
        <option value="time">by real time{tieBy === 'time' ? '' : ' from here'}</option>
        {shared.map((name) => <option key={name} value={name}>by real time from {positionTitle(name)}</option>)}
      </select>
      <span className="quiet numbers">{isByPositions ? `at ${names.length}` : tieBy === 'positions' ? 'real time' : ''}</span>
      <ToolButton className="bare" onClick={() => comparison.slip(comparison.bench.active, -1)} aria-label="Move the reference a frame back against the student" keys="{">{''}</ToolButton>
      <ToolButton className="bare" onClick={() => comparison.slip(comparison.bench.active, 1)} aria-label="Move the reference a frame on against the student" keys="}">{''}</ToolButton>
    </div>
  )
}

/** What the coach should know of the comparison, in sentences behind a sign. */
function Notes() {
  const id = useId()
  const notes = useCompare((state) => state.notes)
  const panes = useCompare((state) => state.panes)
  const all = [...new Set([...notes, ...panes.flatMap((pane) => pane?.notes ?? [])])]
  if (all.length === 0) return null
  const anchor = `--notes-${id.replaceAll(/[^a-z0-9]/gi, '')}`
  return (
    <>
      <button type="button" className="tool compare-notes" popoverTarget={id} style={{ anchorName: anchor }}><Warning /> {all.length === 1 ? '1 note' : `${all.length} notes`}</button>
      <div id={id} popover="auto" className="menu notes-list" role="note" aria-label="What to know of this comparison" style={{ positionAnchor: anchor }}>
        <ul>{all.map((note) => <li key={note}>{note}</li>)}</ul>
      </div>
    </>
  )
}
