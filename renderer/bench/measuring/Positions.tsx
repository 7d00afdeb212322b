import { useState } from 'react'
import { positionTitle } from '../../../shared/swing/digitised.ts'
import { Button } from '../../ui/Button.tsx'
import { useBench, useParts } from '../benchContext.tsx'
import { useMeasuring, useMeasuringParts } from './measuringContext.tsx'
import { positionDigit, positionLines } from './positionLines.ts'

/** The positions of the active pane's clip: where each lies, how well that is known, and how to get there. */
export function Positions() {
  const { bench } = useParts()
  const { measuring, placer } = useMeasuringParts()
  useMeasuring((state) => state.table)
  useMeasuring((state) => state.outcome)
  const pane = useBench((state) => state.active)
  useBench((state) => state.clipIds)
  const isPlacing = useMeasuring((state) => state.task !== null)
  const [chosen, setOpen] = useState<boolean | null>(null)
  // The points that are being placed need the room, until the coach says otherwise.
  const isOpen = chosen ?? !isPlacing
  const clip = bench.clip(pane)
  if (!clip) return null
  const lines = positionLines(measuring, pane, clip)
  const known = lines.filter(({ by }) => by !== null).length
  return (
    <details className="evidence-part" open={isOpen}>
      <summary onClick={(event) => { event.preventDefault(); setOpen(!isOpen) }}><h3>Positions</h3><span className="quiet numbers">{known} of {lines.length}</span></summary>
      <ul className="positions">
        {lines.map((line, i) => (
          <li key={line.name} data-by={line.by ?? 'none'}>
            <kbd>{positionDigit(i)}</kbd>
            <button type="button" className="position-name" disabled={line.by === null} onClick={() => measuring.goTo(line.name)} title={line.basis}>{positionTitle(line.name)}</button>
            <span className="numbers" title={line.where ?? undefined}>{line.where?.replace(/^between (\d+) and (\d+)$/, '$1 to $2') ?? ''}</span>
            <span className="numbers quiet">{line.error ?? ''}</span>
            {line.by === 'set'
              ? <Button look="plain" aria-label={`Take ${positionTitle(line.name)} away`} onClick={() => { measuring.removePosition(clip.id, line.name); placer.replan() }}>{'\u00d7'}</Button>
              : <Button look="plain" aria-label={`set ${positionTitle(line.name)} at this frame`} onClick={() => { measuring.setPosition(line.name); placer.replan() }}>set</Button>}
          </li>
        ))}
      </ul>
      <p className="quiet small"><kbd>K</kbd> digit goes there, <kbd>L</kbd> digit sets this frame, with Shift between it and the next</p>
    </details>
  )
}
