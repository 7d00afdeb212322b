import { memo, useMemo } from 'react'
import { useStore } from 'zustand'
import type { PositionName } from '../../../shared/contract/pointsFile.ts'
import { mirroredView } from '../../../shared/camera/solve/mirrored.ts'
import { positionTitle } from '../../../shared/swing/digitised.ts'
import type { MeasureResult } from '../../../shared/swing/measureSwing.ts'
import { inWords, measureWords } from '../../../shared/swing/measureWords.ts'
import { isMissing } from '../../../shared/swing/reading.ts'
import { widenedSentence } from '../../../shared/swing/solved.ts'
import { azimuthAt, cameraWords, lackingWords, measureOf, topWords, type CameraWords } from '../../../shared/swing/twoBearings.ts'
import { shownBy } from '../../../shared/swing/bearingMarks.ts'
import { Button, ToolButton } from '../../ui/Button.tsx'
import { Warning } from '../../ui/Field.tsx'
import { useLibrary } from '../../ui/desk.tsx'
import { tellFault } from '../../ui/notices.ts'
import { RepeatsWithin } from '../../ui/RepeatsWithin.tsx'
import { useClip } from '../../ui/useRecords.ts'
import { viewWords } from '../../ui/words.ts'
import { useBench } from '../benchContext.tsx'
import { useMeasuring, useMeasuringParts } from '../measuring/measuringContext.tsx'
import { MirrorPress } from '../measuring/SidesWarnings.tsx'
import type { Outcome } from '../measuring/measuringState.ts'
import type { Bearings } from './bearings.ts'
import type { OneSwing } from './oneSwing.ts'
import type { RepeatsOnBench } from './repeats.ts'
import './bearings.css'

type Measured = Extract<Outcome, { kind: 'measured' }>

/** The shaft in three dimensions, what the cameras' places do to its look, and how to have it shown. */
export function TwoBearings({ bearings, oneSwing, repeats }: { readonly bearings: Bearings; readonly oneSwing: OneSwing; readonly repeats: RepeatsOnBench }) {
  const outcome = useMeasuring((state) => state.outcome)
  const shown = useBench((state) => shownBy(state.marks, state.clipIds))
  if (outcome.kind === 'none') return null
  const isHad = measureOf(outcome.result, 'shaft-azimuth', 'top') !== undefined
  const isTraced = down.some((at) => measureOf(outcome.result, 'shaft-plane-on-trunk', at) !== undefined)
  return (
    <details className="two-bearings" open>
      <summary><h3>Two bearings</h3><span className="quiet">{isHad ? 'the shaft at the top' : 'not to be had yet'}</span></summary>
      {isHad ? (
        <div className="bearing-tools" role="group" aria-label="The shaft at the top in the picture">
          <ToolButton pressed={shown === 'looks'} onClick={() => bearings.draw('looks')}>As it looks</ToolButton>
          <ToolButton pressed={shown === 'is'} keys="B" onClick={() => bearings.draw('is')}>As it is</ToolButton>
          {isTraced ? <Button look="plain" onClick={() => bearings.showPlane()}>On the body</Button> : null}
          {shown ? <Button look="plain" onClick={() => bearings.clear()}>Take off</Button> : null}
        </div>
      ) : null}
      <OfferRow oneSwing={oneSwing} />
      <HowItRepeats outcome={outcome} repeats={repeats} />
      <Readings outcome={outcome} />
    </details>
  )
}

/** What the pair could be said to be instead of what it is. */
function OfferRow({ oneSwing }: { readonly oneSwing: OneSwing }) {
  const offer = useStore(oneSwing.state, (state) => state.offer)
  if (!offer) return null
  return <div className="bearing-offer" role="status"><p>{offer.why}</p><Button onClick={() => oneSwing.accept()}>{offer.pairing === 'one-swing' ? 'One swing' : 'Two swings'} <kbd aria-hidden="true">Alt O</kbd></Button></div>
}

/** Of two tied swings: how far the student is taken to repeat, for that is in every number below. */
function HowItRepeats({ outcome, repeats }: { readonly outcome: Measured; readonly repeats: RepeatsOnBench }) {
  const isTwo = useBench((state) => state.swing?.pairing !== 'one-swing') && outcome.file.views.length === 2 && !outcome.file.sameSwing
  const studentId = useClip(outcome.clips[0]?.id ?? null)?.studentId ?? null
  const student = useLibrary((library) => library.students).find(({ id }) => id === studentId)
  return isTwo && student ? <RepeatsWithin student={student} onSet={(figure) => repeats.set(student, figure)} /> : null
}

const Readings = memo(function Readings({ outcome }: { readonly outcome: Measured }) {
  const { swing, result } = outcome
  const words = useMemo(() => topWords(result)?.replaceAll('+-', '\u00b1 ') ?? null, [result])
  const widened = useMemo(() => widenedSentence(swing), [swing])
  const lacking = useMemo(() => lackingWords(swing, result), [swing, result])
  const { filmed } = useMeasuringParts()
  const mirrored = swing.solved.why === undefined ? null : mirroredView(swing.solved.why)
  const cameras = useMemo(() => swing.views.map((view) => cameraWords(result, view.name)), [swing, result])
  return (
    <>
      {widened ? <p className="evidence-warning small"><Warning /><span>{widened}</span></p> : null}
      {words ? <p className="bearing-verdict" aria-live="polite">{words}</p> : null}
      <ShaftTable outcome={outcome} />
      {cameras.map((camera) => <Camera key={camera.view} camera={camera} />)}
      {lacking.why.length > 0 ? <ul className="bearing-lacking">{lacking.why.map((why) => <li key={why}>{capital(why)}.</li>)}</ul> : null}
      {mirrored ? <div className="bearing-offer" role="status"><p>{viewWords[mirrored]}:</p><MirrorPress clips={outcome.clips} view={mirrored} filmed={filmed} /></div> : null}
      {lacking.guides.length > 0 ? <p className="small quiet">Guides that are not placed, and would make it surer: {lacking.guides.join('; ')}.</p> : null}
    </>
  )
})

const capital = (text: string): string => `${text[0]?.toUpperCase() ?? ''}${text.slice(1)}`.replace(/\.$/, '')

const down = ['lead-arm-level-down', 'shaft-level-down'] as const
const topRows = [['shaft-azimuth', 'Azimuth'], ['shaft-short-of-level', 'Short of level'], ['shaft-azimuth-at-level', 'Azimuth at level']] as const

/** Numbers of the shaft with their errors; what each rests on is in its title. */
function ShaftTable({ outcome: { swing, result } }: { readonly outcome: Measured }) {
  const rows = useMemo(() => [
    ...topRows.map(([id, name]) => ({ name: `${name}, top`, ...cellOf(measureOf(result, id, 'top')) })),
    ...down.flatMap((at) => downRows(swing, result, at)),
    { name: 'Plane slope, address', ...cellOf(measureOf(result, 'shaft-plane-slope', 'address')) },
  ].filter((row) => row.value !== null), [swing, result])
  if (rows.length === 0) return null
  return (
    <dl className="bearing-rows numbers" aria-label="The shaft in three dimensions">
      {rows.map(({ name, value, basis }) => <div key={name} title={basis}><dt>{name}</dt><dd>{value}</dd></div>)}
    </dl>
  )
}

const cellOf = (measure: MeasureResult | undefined): { value: string | null; basis: string } =>
  measure ? { value: measureWords(measure), basis: inWords(measure.basis) } : { value: null, basis: '' }

/** A share of the way from hips to shoulders, in hundredths. */
const shareCell = (measure: MeasureResult | undefined): { value: string | null; basis: string } =>
  measure ? { value: `${(100 * measure.value).toFixed(0).replace('-', '\u2212')} \u00b1 ${Math.max(1, 100 * measure.sigma).toFixed(0)} %`, basis: `From hips (0) to shoulders (100). ${inWords(measure.basis)}` } : { value: null, basis: '' }

function downRows(swing: Measured['swing'], result: Measured['result'], at: PositionName): { name: string; value: string | null; basis: string }[] {
  const azimuth = azimuthAt(swing, at)
  const title = positionTitle(at)
  const elevation = measureOf(result, 'shaft-elevation', at)
  return [
    {
      name: `Azimuth, ${title}`,
      ...(isMissing(azimuth) || azimuth.sigma > 20 ? { value: null, basis: '' } : cellOf({ id: '', view: null, at, unit: 'deg', ...azimuth, lo: azimuth.value - azimuth.sigma, hi: azimuth.value + azimuth.sigma, basis: elevation?.basis ?? '' })),
    },
    { name: `Plane slope, ${title}`, ...cellOf(measureOf(result, 'shaft-plane-slope', at)) },
    { name: `Against address, ${title}`, ...cellOf(measureOf(result, 'shaft-plane-slope-change', at)) },
    { name: `Plane on the trunk, ${title}`, ...shareCell(measureOf(result, 'shaft-plane-on-trunk', at)) },
  ]
}

function Camera({ camera }: { readonly camera: CameraWords }) {
  const { view, rows, bias, advice } = camera
  const copy = (): void => void navigator.clipboard.writeText(advice.join(' ')).catch(tellFault)
  return (
    <section className="bearing-camera" aria-label={`Camera, ${viewWords[view]}`}>
      <h4>Camera, {viewWords[view]}</h4>
      {rows.length > 0 ? (
        <dl className="bearing-rows numbers">
          {rows.map(({ name, measure }) => <div key={name} title={inWords(measure.basis)}><dt>{name}</dt><dd>{placeWords(measure)}</dd></div>)}
        </dl>
      ) : null}
      {bias ? <p>{bias}</p> : null}
      <div className="bearing-advice"><p className="quiet">{advice.join(' ')}</p><Button look="plain" onClick={copy} aria-label={`Copy the advice for ${viewWords[view]}`}>Copy</Button></div>
    </section>
  )
}

/** Lengths of a camera's place in metres, to the centimetre its error allows; angles as they are. */
const placeWords = (measure: MeasureResult): string =>
  measure.unit === 'mm' ? `${(measure.value / 1000).toFixed(2).replace('-', '\u2212')} \u00b1 ${(measure.sigma / 1000).toFixed(2)} m` : measureWords(measure)
