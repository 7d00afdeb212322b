import type { ViewName } from '../../../shared/contract/pointsFile.ts'
import type { MeasuredClip } from '../../../shared/swing/assemble.ts'
import { exchangedRecords, timesToExchange } from '../../../shared/swing/sides/exchange.ts'
import type { SidesFault } from '../../../shared/swing/sides/sides.ts'
import { frameOf } from '../../../shared/swing/sides/tellFrames.ts'
import { Button } from '../../ui/Button.tsx'
import { Warning } from '../../ui/Field.tsx'
import type { FilmedAs } from './filmedAs.ts'
import type { Measuring } from './measuring.ts'
import { useMeasuring, useMeasuringParts } from './measuringContext.tsx'

/** Lead and trail that surely stand the wrong way round, each with one press that exchanges them. */
export function SidesWarnings() {
  const { measuring, filmed } = useMeasuringParts()
  const outcome = useMeasuring((state) => state.outcome)
  if (outcome.kind !== 'measured') return null
  return outcome.warnings.map(({ words, fault }) => (
    <p key={words} className="evidence-warning small reasons"><Warning /><span>{words}</span>{fault?.kind === 'pairs' ? <Button onClick={() => exchange(measuring, fault)}>Exchange</Button> : null}{fault?.kind === 'hand' ? <MirrorPress clips={outcome.clips} view={fault.view} filmed={filmed} /> : null}</p>
  ))
}

/** Says of the clip of a view that it was filmed mirrored, or after all was not. */
export function MirrorPress({ clips, view, filmed }: { readonly clips: readonly MeasuredClip[]; readonly view: ViewName; readonly filmed: FilmedAs }) {
  const clip = clips.find((one) => one.view === view)
  return clip ? <Button onClick={() => filmed.mirrored(clip.id, !clip.mirrored)}>{clip.mirrored ? 'Not mirrored' : 'Filmed mirrored'}</Button> : null
}

/** Exchanges a fault's points on the frames it holds for, as one step of undo. */
function exchange(measuring: Measuring, fault: SidesFault): void {
  const { outcome } = measuring.state.getState()
  if (outcome.kind !== 'measured') return
  const records = measuring.records()
  const steps = fault.pairs.map((pair) => {
    const found = timesToExchange(outcome.swing, fault, pair).flatMap((t) => frameOf(records, outcome.file, fault.view, t) ?? [])
    return found[0] ? exchangedRecords(measuring.table, found[0].clip.id, pair, found.map(({ clip, frame }) => clip.frames.ticks[frame]!)) : { put: [], remove: [] }
  })
  const put = steps.flatMap((step) => step.put)
  const taken = new Set(put.map(({ id }) => id))
  measuring.change(put, steps.flatMap((step) => step.remove).filter((id) => !taken.has(id)))
}
