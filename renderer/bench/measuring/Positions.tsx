import { positionNames, type PositionName } from '../../../shared/contract/pointsFile.ts'
import { clockOf } from '../../../shared/swing/assemble.ts'
import { positionTitle } from '../../../shared/swing/digitised.ts'
import { framesAbout } from '../../../shared/swing/plan.ts'
import type { PaneId, StageClip } from '../../../shared/walkthrough/stage.ts'
import { frameAt } from '../../../shared/walkthrough/motion.ts'
import { Button } from '../../ui/Button.tsx'
import { useBench, useParts } from '../benchContext.tsx'
import type { Measuring } from './measuring.ts'
import { useMeasuring, useMeasuringParts } from './measuringContext.tsx'
import { positionDigit } from './measuringKeys.ts'

export interface PositionLine {
  readonly name: PositionName
  /** "frame 42", "between frames 41 and 42"; null where it is not known. */
  readonly where: string | null
  readonly error: string | null
  readonly by: 'set' | 'found' | null
  readonly basis: string
}

const ms = (seconds: number): string => `\u00b1 ${(1000 * seconds).toFixed(seconds < 0.00995 ? 1 : 0)} ms`

/** How each position stands on a pane's clip. */
export function positionLines(measuring: Measuring, pane: PaneId, clip: StageClip): PositionLine[] {
  const { outcome, table } = measuring.state.getState()
  const isIn = outcome.kind === 'measured' && outcome.clips.some(({ id }) => id === clip.id)
  const found = isIn ? (outcome.result.viewPositions ? outcome.result.viewPositions[clip.view as 'face-on'] : outcome.result.positions) : undefined
  const clock = clockOf(clip, measuring.tiedOf(clip.id))
  return positionNames.map((name) => {
    const own = table[`${clip.id}/position/${name}`]
    const result = found?.[name]
    const set = own?.kind === 'position'
    const frame = set ? frameAt(clip.frames, own.tick) + 1 : null
    const frames = result ? framesAbout({ ...clip, view: clip.view }, clock, result.t).map((i) => i + 1) : []
    const where = set ? (own.falls === 'on' ? `frame ${frame}` : `between ${frame} and ${frame! + 1}`)
      : result ? (frames.length === 2 ? `between ${frames[0]} and ${frames[1]}` : `frame ${frames[0]}`) : null
    return { name, where, error: result ? ms(result.sigma) : null, by: set ? 'set' as const : result ? 'found' as const : null, basis: result?.basis ?? '' }
  })
}

/** The positions of the active pane's clip: where each lies, how well that is known, and how to get there. */
export function Positions() {
  const { bench } = useParts()
  const { measuring, placer } = useMeasuringParts()
  useMeasuring((state) => state.table)
  useMeasuring((state) => state.outcome)
  const pane = useBench((state) => state.active)
  useBench((state) => state.clipIds)
  const clip = bench.clip(pane)
  if (!clip) return null
  const lines = positionLines(measuring, pane, clip)
  const known = lines.filter(({ by }) => by !== null).length
  return (
    <details className="evidence-part" open>
      <summary><h3>Positions</h3><span className="quiet numbers">{known} of {lines.length}</span></summary>
      <ul className="positions">
        {lines.map((line, i) => (
          <li key={line.name} data-by={line.by ?? 'none'}>
            <kbd>{positionDigit(i)}</kbd>
            <button type="button" className="position-name" disabled={line.by === null} onClick={() => measuring.goTo(line.name)} title={line.basis}>{positionTitle(line.name)}</button>
            <span className="numbers">{line.where ?? ''}</span>
            <span className="numbers quiet">{line.error ?? ''}</span>
            {line.by === 'set'
              ? <Button look="plain" aria-label={`Take ${positionTitle(line.name)} away`} onClick={() => { measuring.removePosition(clip.id, line.name); placer.replan() }}>{'\u00d7'}</Button>
              : <Button look="plain" aria-label={`This frame is ${positionTitle(line.name)}`} onClick={() => { measuring.setPosition(line.name); placer.replan() }}>set</Button>}
          </li>
        ))}
      </ul>
      <p className="quiet small"><kbd>K</kbd> digit goes there, <kbd>L</kbd> digit sets this frame, with Shift between it and the next</p>
    </details>
  )
}
