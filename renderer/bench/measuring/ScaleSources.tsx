import { useMemo, useState } from 'react'
import { combineScales, type Scale } from '../../../shared/camera/scale.ts'
import { leftOutId } from '../../../shared/contract/digitising.ts'
import type { ScaleSource } from '../../../shared/contract/pointsFile.ts'
import { atTitle, digitsOf, measureTitle, unitWords } from '../../../shared/swing/measureWords.ts'
import type { MeasureResult, SwingResult } from '../../../shared/swing/measureSwing.ts'
import { resultChange } from '../../../shared/swing/resultChange.ts'
import { scalesAtAddress, type FoundScale } from '../../../shared/swing/scaleAtAddress.ts'
import type { StageClip } from '../../../shared/walkthrough/stage.ts'
import { useMeasuring, useMeasuringParts } from './measuringContext.tsx'
import type { Outcome } from './measuringState.ts'

const titles: Readonly<Record<ScaleSource, string>> = { ball: 'Ball', club: 'Club', stature: 'Stature', known: 'Known length' }

const mm = ({ metresPerPx, sigma }: Scale): string => `${(1000 * metresPerPx).toFixed(3)} \u00b1 ${(1000 * sigma).toFixed(3)}`

/** What of known size was seen on a clip at address. */
function sourcesOf(outcome: Outcome, clip: StageClip): FoundScale[] {
  if (outcome.kind !== 'measured') return []
  const view = outcome.swing.views.find(({ name }) => name === clip.view)
  if (!view) return []
  const address = outcome.swing.positions.get(view.name)?.address
  return scalesAtAddress(view, outcome.swing.file, address ? address.t.value + view.clock.value : view.times[0]!)
}

/** Each thing that the scale of a clip can be taken from: what it says with its error, and whether it counts. */
export function ScaleSources({ clip }: { readonly clip: StageClip }) {
  const { measuring } = useMeasuringParts()
  const outcome = useMeasuring((state) => state.outcome)
  const table = useMeasuring((state) => state.table)
  const [act, setAct] = useState<{ readonly words: string; readonly from: Outcome; readonly before: SwingResult; readonly to: Outcome | null } | null>(null)
  // What it changed is told until anything else changes.
  if (act && act.to === null && act.from !== outcome) setAct({ ...act, to: outcome })
  const found = useMemo(() => sourcesOf(outcome, clip), [outcome, clip])
  if (found.length === 0) return null
  const isLeftOut = (source: ScaleSource): boolean => table[leftOutId(clip.id, source)] !== undefined
  const used = found.filter(({ source }) => !isLeftOut(source))
  const all = combineScales(used)
  const toggle = (source: ScaleSource): void => {
    const id = leftOutId(clip.id, source)
    const isOut = isLeftOut(source)
    if (outcome.kind === 'measured') setAct({ words: `${titles[source]} ${isOut ? 'counted again' : 'left out'}`, from: outcome, before: outcome.result, to: null })
    measuring.change(isOut ? [] : [{ kind: 'left-out', id, clipId: clip.id, source, by: 'coach' }], isOut ? [id] : [])
  }
  const isDone = act !== null && act.to === outcome && outcome.kind === 'measured'
  return (
    <>
      <ul className="scale-sources numbers" aria-label="What the scale is taken from">
        {found.map((one) => {
          const isOut = isLeftOut(one.source)
          const apart = all && (one.metresPerPx - all.metresPerPx) / Math.hypot(one.sigma, all.sigma)
          return (
            <li key={one.source} data-out={isOut}>
              <label className="check"><input type="checkbox" checked={!isOut} onChange={() => toggle(one.source)} /><span>{titles[one.source]}</span></label>
              <span>{mm(one)}<span className="quiet"> mm a pixel</span></span>
              <span className="quiet">{isOut ? 'left out' : apart !== null && used.length > 1 && Math.abs(apart) > 2 ? `${Math.abs(apart).toFixed(1)} errors ${apart > 0 ? 'above' : 'below'} all` : ''}</span>
            </li>
          )
        })}
      </ul>
      <p className="small quiet" aria-live="polite">{isDone ? <>{act.words}: {changeWords(act.before, outcome.result)}</> : used.length === 0 ? 'None counts: what is not read through a solved camera has no lengths.' : 'Each by itself, at address. What is unticked is left out of the scale and of the solved cameras.'}</p>
    </>
  )
}

const figure = (one: MeasureResult): string => `${digitsOf(one).value}${unitWords[one.unit]}`

/** A change by less of a measure's error is not worth a name. */
const worth = 0.1

function changeWords(before: SwingResult, after: SwingResult): string {
  const { moved: all, gained, lost } = resultChange(before, after)
  const moved = all.filter(({ errors }) => errors >= worth)
  const most = moved[0]
  const parts = [
    most ? `${moved.length} ${moved.length === 1 ? 'measure' : 'measures'} moved, most ${measureTitle(most.before.id).toLowerCase()}${most.before.at === 'swing' ? '' : `, ${atTitle(most.before.at)}`}: ${figure(most.before)} to ${figure(most.after)} (${most.errors.toFixed(1)} of its error)` : `no measure moved by a tenth of its error${all.length > 0 ? `; ${all.length} by less` : ''}`,
    ...(lost.length > 0 ? [`${lost.length} cannot be had now`] : []),
    ...(gained.length > 0 ? [`${gained.length} can be had again`] : []),
  ]
  return `${parts.join('; ')}.`
}
