import { useState } from 'react'
import type { GuideName } from '../../../shared/contract/digitising.ts'
import type { PointName, ViewName } from '../../../shared/contract/pointsFile.ts'
import { offPlaneWarning } from '../../../shared/camera/offPlane.ts'
import { sigmaOf } from '../../../shared/signal/uncertain.ts'
import { assembleSwing, tieError, type SwingRecords } from '../../../shared/swing/assemble.ts'
import { rateWords, type TieCheck } from '../../../shared/swing/tieCheck.ts'
import { bodyPlane, usualDepth } from '../../../shared/swing/bodyDepth.ts'
import { guideTitles } from '../../../shared/swing/digitised.ts'
import { usualFocal } from '../../../shared/swing/viewOf.ts'
import { Button } from '../../ui/Button.tsx'
import { Check, Warning } from '../../ui/Field.tsx'
import { useClip } from '../../ui/useRecords.ts'
import { useBench, useParts } from '../benchContext.tsx'
import { RateOffers } from './RateOffers.tsx'
import { MatRow } from './MatRow.tsx'
import { useMeasuring, useMeasuringParts } from './measuringContext.tsx'
import { capital } from './placer.ts'
import { ScaleSources } from './ScaleSources.tsx'

const rateBasis = { tag: "the file's tag", file: "the file's own rate", coach: 'you' } as const
const forWhat: Readonly<Record<GuideName, string>> = {
  ball: 'scale', known: 'scale', plumb: 'level', horizon: 'level', targetLine: 'aim', stanceLine: 'aim',
}
const shownOrder: readonly GuideName[] = ['plumb', 'horizon', 'ball', 'known', 'targetLine', 'stanceLine']

/** Scale, level and time of the active clip, each with its error, and the guides that they come from. */
export function Calibration() {
  const { bench } = useParts()
  const { placer, measuring, sound, filmed } = useMeasuringParts()
  const outcome = useMeasuring((state) => state.outcome)
  const table = useMeasuring((state) => state.table)
  const task = useMeasuring((state) => state.task)
  const active = useBench((state) => state.active)
  useBench((state) => state.clipIds)
  const isTied = useBench((state) => state.isTied)
  const isListening = useMeasuring((state) => state.listening !== null)
  const clip = bench.clip(active)
  const record = useClip(clip?.id ?? null)
  if (!clip) return null
  const isIn = outcome.kind === 'measured' && outcome.clips.some(({ id }) => id === clip.id)
  const view = isIn ? outcome.swing.views.find(({ name }) => name === clip.view) : undefined
  const scale = isIn && view ? outcome.swing.scales.get(view.name) ?? null : null
  const interval = 1000 / clip.captureRate
  const records = measuring.records()
  const isPair = records.clips.length === 2
  const tie = isPair && isTied ? tieError(records) : null
  // What it rests on changes seldom, and not while a point is dragged.
  const check = tie ? tieCheckOf(records) : null
  const warnings = view && scale && !view.camera ? offPlane(view.name, usualFocal({ width: clip.width, height: clip.height }) * scale.metresPerPx) : []
  const degrees = 180 / Math.PI
  return (
    <details className="evidence-part">
      <summary><h3>Scale, level, time</h3><span className="quiet numbers">{view?.camera ? 'camera solved' : scale ? `${(1000 * scale.metresPerPx).toFixed(2)} mm a pixel` : 'no scale'}</span></summary>
      <dl className="calibration numbers">
        <dt>Scale</dt>
        <dd>{view?.camera ? 'from the solved camera' : scale ? <>{(1000 * scale.metresPerPx).toFixed(3)} {'\u00b1'} {(1000 * scale.sigma).toFixed(3)} mm a pixel <span className="quiet">{scale.basis.replace('scale from ', 'from ')}</span></> : <span className="quiet">none: place the ball's edges, a known length, the club, or head and ankles at address</span>}</dd>
        <dt>Level</dt>
        <dd>{view?.camera ? 'from the solved camera' : view ? <>{(view.level.value * degrees).toFixed(1)} {'\u00b1'} {(sigmaOf(view.level) * degrees).toFixed(1)}{'\u00b0'} <span className="quiet">{view.levelBasis.replace('level ', '')}</span></> : <span className="quiet">taken from the edge of the picture, {'\u00b1'} 2{'\u00b0'}</span>}</dd>
        <dt>Time</dt>
        <dd>{interval.toFixed(2)} ms between frames <span className="quiet">by {record ? rateBasis[record.captureRateBasis] : 'the file'}</span></dd>
        <dt>Picture</dt>
        <dd><Check label="Filmed mirrored" checked={record?.mirrored ?? false} onCheck={(mirrored) => filmed.mirrored(clip.id, mirrored)} /></dd>
        {isPair ? (
          <>
            <dt>Tie</dt>
            <dd className="calibration-tie">
              <span>{tie ? <>{'\u00b1'} {(1000 * tie.sigmaS).toFixed(1)} ms <span className="quiet">{tie.isHeard ? 'by the sound of impact' : 'by eye, to a frame'}</span></> : <span className="quiet">none: bring both clips to one instant and press T, or listen for impact</span>}</span>
              <Button look="plain" aria-pressed={isListening} onClick={() => void sound.listen()}>Listen <kbd aria-hidden="true">Shift L</kbd></Button>
            </dd>
            {check ? <><dt aria-hidden="true" /><dd><span className="quiet">{rateWords(check).replace('+-', '\u00b1')}</span><RateOffers check={check} clips={[records.clips[0]!, records.clips[1]!]} /></dd></> : null}
          </>
        ) : null}
      </dl>

      <ScaleSources key={clip.id} clip={clip} />
      {warnings.map((words) => <p key={words} className="evidence-warning small"><Warning /><span>{words}.</span></p>)}
      <ul className="guides">
        {shownOrder.map((name) => {
          const guide = table[`${clip.id}/guide/${name}`]
          const has = guide?.kind === 'guide'
          const isTaken = task?.kind === 'guide' && task.name === name
          return (
            <li key={name}>
              <span>{capital(guideTitles[name])}</span><span className="quiet">{forWhat[name]}</span>
              {has && guide.name === 'known' ? <Metres key={guide.metres} metres={guide.metres ?? 1} onSet={(metres) => measuring.putGuide(clip.id, 'known', guide.ends, metres)} /> : null}
              <Button look="plain" aria-pressed={isTaken} onClick={() => (isTaken ? placer.stop() : placer.guide(name))}>{has ? 'Place again' : 'Place'}</Button>
              {has ? <Button look="plain" aria-label={`Take the ${guideTitles[name]} away`} onClick={() => measuring.change([], [guide.id])}>{'\u00d7'}</Button> : null}
            </li>
          )
        })}
        <MatRow clip={clip} />
      </ul>
    </details>
  )
}

let checked: { readonly key: string; readonly check: TieCheck | null } = { key: '', check: null }

function tieCheckOf(records: SwingRecords): TieCheck | null {
  const key = JSON.stringify([records.clips.map(({ id, captureRate }) => [id, captureRate]), records.tie, records.oneSwing, ...Object.values(records.records).filter(({ kind }) => kind === 'position' || kind === 'heard')])
  if (checked.key !== key) {
    const assembled = assembleSwing(records)
    checked = { key, check: assembled.tie ?? null }
  }
  return checked.check
}

function Metres({ metres, onSet }: { readonly metres: number; readonly onSet: (metres: number) => void }) {
  const { measuring } = useMeasuringParts()
  const [text, setText] = useState(String(metres))
  const commit = (): void => {
    const value = Number(text.replace(',', '.'))
    if (Number.isFinite(value) && value > 0 && value <= 20) onSet(value)
    else {
      measuring.refuse('A known length is more than 0 and at most 20 metres: a length of nothing gives no scale.')
      setText(String(metres))
    }
  }
  return <label className="metres"><input type="text" inputMode="decimal" aria-label="Length in metres" value={text} onChange={(event) => setText(event.target.value)} onBlur={commit} onKeyDown={(event) => { if (event.key === 'Enter') event.currentTarget.blur() }} /> m</label>
}

/** What stands off the measured plane, and by how much lengths there read wrong. */
function offPlane(view: ViewName, distance: number): string[] {
  const found: string[] = []
  for (const [point, words] of [['ball', 'The ball'], ['hands', 'The hands'], ['trailElbow', 'The trail elbow']] as const satisfies readonly (readonly [PointName, string])[]) {
    const off = usualDepth(view, point).at - bodyPlane(view)
    const nearer = view === 'face-on' ? off : -off
    const warning = nearer < distance ? offPlaneWarning(words, distance, nearer) : null
    if (warning) found.push(`${warning}; this is put right by how bodies usually stand, and its error counted`)
  }
  return found.slice(0, 1)
}

