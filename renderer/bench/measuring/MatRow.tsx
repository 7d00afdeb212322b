import { useState } from 'react'
import { matId } from '../../../shared/contract/digitising.ts'
import { inWords } from '../../../shared/swing/measureWords.ts'
import { matReading } from '../../../shared/swing/matWords.ts'
import type { StageClip } from '../../../shared/walkthrough/stage.ts'
import { Button } from '../../ui/Button.tsx'
import { Warning } from '../../ui/Field.tsx'
import { cm } from './drawGuides.ts'
import { matOf, setSides } from './guideEnds.ts'
import { useMeasuring, useMeasuringParts } from './measuringContext.tsx'
import type { Sides } from './measuringState.ts'

/** A mat's rectangle: its corners, its size, and what it gives. */
export function MatRow({ clip }: { readonly clip: StageClip }) {
  const { measuring, placer } = useMeasuringParts()
  useMeasuring((state) => state.table)
  const task = useMeasuring((state) => state.task)
  const outcome = useMeasuring((state) => state.outcome)
  const mat = matOf(measuring, clip.id)
  const isTaken = task?.kind === 'mat'
  const sides: Sides = isTaken && (task.corners.length > 0 || !mat) ? task.sides : mat ? [mat.lengthM, mat.widthM] : [null, null]
  const reading = mat && outcome.kind === 'measured' && clip.view !== 'other' ? matReading(outcome.swing, outcome.result, clip.view) : null
  const set = (which: 0 | 1, value: number): void => void setSides(measuring, clip.id, which === 0 ? [value, sides[1]] : [sides[0], value])
  return (
    <>
      <li>
        <span>Mat</span><span className="quiet">place, scale</span>
        <Button look="plain" aria-pressed={isTaken} onClick={() => (isTaken ? placer.stop() : placer.mat())}>{mat ? 'Place again' : 'Place'}</Button>
        {mat ? <Button look="plain" aria-label="Take the mat away" onClick={() => measuring.change([], [matId(clip.id)])}>{'\u00d7'}</Button> : null}
      </li>
      {mat || isTaken ? (
        <li className="mat-sides">
          <span className="quiet">Sides, cm</span>
          <Side key={`a ${clip.id} ${sides[0]}`} name="From the first corner to the second, in centimetres" side={sides[0]} onSet={(value) => set(0, value)} />
          <span aria-hidden="true">{'\u00d7'}</span>
          <Side key={`b ${clip.id} ${sides[1]}`} name="From the second corner to the third, in centimetres" side={sides[1]} onSet={(value) => set(1, value)} />
          <span className="quiet">1st to 2nd corner, 2nd to 3rd</span>
        </li>
      ) : null}
      {reading ? <li className="mat-gives quiet numbers" title={reading.basis === null ? undefined : inWords(reading.basis)}>{reading.words}</li> : null}
      {reading?.warning ? <li className="evidence-warning"><Warning /><span>{reading.warning}</span></li> : null}
    </>
  )
}

const most = 2000

function Side({ name, side, onSet }: { readonly name: string; readonly side: number | null; readonly onSet: (metres: number) => void }) {
  const { measuring } = useMeasuringParts()
  const before = side === null ? '' : cm(side)
  const [text, setText] = useState(before)
  const commit = (): void => {
    if (text.trim() === before) return
    const value = Number(text.replace(',', '.'))
    if (text.trim() !== '' && Number.isFinite(value) && value > 0 && value <= most) return onSet(value / 100)
    measuring.refuse(`A side of the mat is more than 0 and at most ${most} cm: a side of nothing gives no scale.`)
    setText(before)
  }
  return <input type="text" inputMode="decimal" aria-label={name} value={text} onChange={(event) => setText(event.target.value)} onBlur={commit} onKeyDown={(event) => { if (event.key === 'Enter') event.currentTarget.blur() }} />
}
