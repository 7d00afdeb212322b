import { useState } from 'react'
import { Button, ToolButton } from '../../ui/Button.tsx'
import { Warning } from '../../ui/Field.tsx'
import { Menu } from '../../ui/Menu.tsx'
import { tellFault } from '../../ui/notices.ts'
import { TwoBearings } from '../bearings/index.tsx'
import type { Bearings } from '../bearings/bearings.ts'
import type { OneSwing } from '../bearings/oneSwing.ts'
import type { RepeatsOnBench } from '../bearings/repeats.ts'
import { Calibration } from './Calibration.tsx'
import { EvidenceRows } from './EvidenceRows.tsx'
import { saveFile } from './saveFile.ts'
import { MarksPanel } from './MarksPanel.tsx'
import { MeasuresDialog } from './MeasuresDialog.tsx'
import { useMeasuring, useMeasuringParts } from './measuringContext.tsx'
import { placeHere } from './measuringKeys.ts'
import { PlacingPanel } from './PlacingPanel.tsx'
import { Positions } from './Positions.tsx'

/** What the clips are evidence of: numbers with their errors, and why others cannot be had. */
export function EvidenceColumn({ bearings, oneSwing, repeats }: { readonly bearings: Bearings; readonly oneSwing: OneSwing; readonly repeats: RepeatsOnBench }) {
  const { measuring, placer } = useMeasuringParts()
  const isOn = useMeasuring((state) => state.task !== null)
  const outcome = useMeasuring((state) => state.outcome)
  const saving = useMeasuring((state) => state.saving)
  const [dialog, setDialog] = useState<'table' | 'chart' | null>(null)
  const isMeasured = outcome.kind === 'measured'
  return (
    <aside className="bench-evidence" aria-label="Evidence">
      <header className="evidence-head">
        <h2>Evidence</h2>
        <ToolButton pressed={isOn} keys="A" onClick={() => placeHere(measuring, placer)}>{isOn ? 'Placing' : 'Place points'}</ToolButton>
        <Menu
          label="Results"
          items={[
            { words: 'Table of all measures', disabled: !isMeasured, run: () => setDialog('table') },
            { words: 'Over time', disabled: !isMeasured, run: () => setDialog('chart') },
            { words: 'Save as CSV', disabled: !isMeasured, run: () => saveFile(outcome, 'csv') },
            { words: 'Save as JSON', disabled: !isMeasured, run: () => saveFile(outcome, 'json') },
            { words: 'Save the points file', disabled: !isMeasured, run: () => saveFile(outcome, 'points') },
          ]}
        />
        <Button look="plain" onClick={() => placer.toggleEvidence()}>Close <kbd aria-hidden="true">V</kbd></Button>
      </header>
      {saving.state === 'failed' ? <p className="evidence-warning" role="alert"><Warning /><span>The latest points are not on disk; it is tried again.</span><Button onClick={() => void measuring.saver.flush().catch(tellFault)}>Try now</Button></p> : null}
      <PlacingPanel />
      <Positions />
      <Calibration />
      <MarksPanel />
      <EvidenceRows />
      <TwoBearings bearings={bearings} oneSwing={oneSwing} repeats={repeats} />
      {dialog && isMeasured ? <MeasuresDialog outcome={outcome} first={dialog} onClose={() => setDialog(null)} /> : null}
    </aside>
  )
}
