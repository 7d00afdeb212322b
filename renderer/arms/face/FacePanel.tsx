import { useMemo } from 'react'
import { useStore } from 'zustand'
import type { FaceInput } from '../../../shared/contract/faceInput.ts'
import { dPlane } from '../../../shared/flight/dPlane.ts'
import { launchRange, measuredFaceShare, measuredShare, practiceFaceShare, type Known } from '../../../shared/flight/launch.ts'
import { missFan, missFault, turnInContact } from '../../../shared/flight/missFan.ts'
import { numberWords } from '../../../shared/picture/plate.ts'
import { exact, measured, propagate, sigmaOf, Sources } from '../../../shared/signal/uncertain.ts'
import { Button, ToolButton } from '../../ui/Button.tsx'
import { Warning } from '../../ui/Field.tsx'
import { keyWords } from '../../ui/keys.ts'
import { tellFault } from '../../ui/notices.ts'
import { useArms, useArmsRoom } from '../armsContext.tsx'
import { signed } from '../numbers.ts'
import { putMisses, takeOff } from '../put.ts'
import { Stale } from '../Stale.tsx'
import { faceRows } from './faceLines.ts'
import { handleTwist, missInputOf } from './faceState.ts'
import { missesOf } from './misses.ts'
import { NumberPair } from './NumberPair.tsx'

/** Face, path and timing as the coach says them, and what they do to the start line and the miss. */
export function FacePanel() {
  const room = useArmsRoom()
  const { canUndo, canRedo, isOwn } = useStore(room.faceKept.state)
  const isOpen = useArms((state) => state.loaded !== null)
  const input = useStore(room.face)
  const set = (patch: Partial<FaceInput>): void => room.face.setState(patch)
  const fault = missFault(missInputOf(input))
  return (
    <>
      <FaceLines />
      <section className="face-inputs" aria-label="Face, path and timing">
        <p className="small quiet">Degrees from the target line: positive to the push side, where the ball lies of the line. All of it is your own say unless a line above was taken over. {!isOpen ? 'Without a swing nothing of it is kept.' : isOwn ? 'Kept with this swing.' : 'As usual so far; what you change is kept with this swing.'}</p>
        <div className="face-undo">
          <ToolButton keys={keyWords('Mod+z').join(' ')} disabled={!canUndo} onClick={() => room.faceKept.undo()}>Undo</ToolButton>
          <ToolButton keys={keyWords('Mod+Shift+z').join(' ')} disabled={!canRedo} onClick={() => room.faceKept.redo()}>Redo</ToolButton>
        </div>
        <NumberPair label="Face at impact" unit={'\u00b0'} min={-45} max={45} value={input.face.value} sigma={input.face.sigma} onTake={(value, sigma) => set({ face: { value, sigma } })} />
        <NumberPair label="Path" unit={'\u00b0'} min={-45} max={45} value={input.path.value} sigma={input.path.sigma} onTake={(value, sigma) => set({ path: { value, sigma } })} />
        <Share input={input} set={set} />
        <NumberPair label="Closure" unit={'\u00b0/s'} min={0} max={6000} value={input.closureRate.value} sigma={input.closureRate.sigma} onTake={(value, sigma) => set({ closureRate: { value, sigma }, closureBasis: 'the coach\u2019s own' })} hint={`How fast the face closes through impact. The handle twists ${handleTwist.value} \u00b1 ${handleTwist.sigma} \u00b0/s (Cheetham 2014), a proxy.`} />
        <p className="small quiet">{capital(input.closureBasis)}. Film rarely shows it; the handle{'\u2019'}s twist is {handleTwist.value} {'\u00b1'} {handleTwist.sigma} {'\u00b0'}/s (Cheetham 2014).</p>
        <NumberPair label="Timing scatters by" unit="ms" min={0} max={20} value={input.timingMs.value} sigma={input.timingMs.sigma} onTake={(value, sigma) => set({ timingMs: { value, sigma } })} hint="How much impact comes sooner or later against the closing face, one standard deviation." />
        <div className="face-two">
          <NumberPair label="Face scatters by" unit={'\u00b0'} min={0} max={15} value={input.faceScatter} onTake={(faceScatter) => set({ faceScatter })} />
          <NumberPair label="Path scatters by" unit={'\u00b0'} min={0} max={15} value={input.pathScatter} onTake={(pathScatter) => set({ pathScatter })} />
        </div>
        <div className="face-two">
          <NumberPair label="Distance" unit={input.unit} min={1} max={400} value={input.distance} onTake={(distance) => set({ distance })} />
          <div className="switch" role="group" aria-label="Unit of the distance">
            {(['yd', 'm'] as const).map((unit) => <button key={unit} type="button" aria-pressed={input.unit === unit} onClick={() => set(unit === input.unit ? {} : { unit, distance: Math.round(input.distance * (unit === 'm' ? 0.9144 : 1 / 0.9144)) })}>{unit}</button>)}
          </div>
        </div>
      </section>
      {fault ? <p className="arms-said" role="alert"><Warning /><span>{fault}</span></p> : <Results input={input} set={set} />}
    </>
  )
}

/** The fan as a mark on the picture. */
export function PutFanRow() {
  const room = useArmsRoom()
  const input = useStore(room.face)
  const loaded = useArms((state) => state.loaded)
  const isGood = missFault(missInputOf(input)) === null
  const run = (what: () => Promise<void>) => (): void => void what().catch(tellFault)
  return (
    <section className="arms-put" aria-label="Onto the picture">
      <Button look="primary" disabled={!loaded || !isGood} onClick={run(() => putMisses(room, missesOf(input, loaded?.handedness ?? 'right')))}>Put the fan in the corner</Button>
      <Button look="plain" disabled={!loaded} onClick={run(() => takeOff(room))}>Take off</Button>
      <Stale />
      {loaded ? null : <p className="small quiet">Open a swing first.</p>}
    </section>
  )
}

/** The face's share k: the measured range, common practice, or the coach's own. */
function Share({ input, set }: { readonly input: FaceInput; readonly set: (patch: Partial<FaceInput>) => void }) {
  const { lo, hi } = measuredFaceShare
  const value = input.share.value
  const isOutside = value < lo || value > hi
  return (
    <div className="face-share">
      <NumberPair label={'Face\u2019s share k'} unit="" min={0} max={1} value={value} sigma={input.share.sigma} onTake={(k, sigma) => set({ share: { value: k, sigma }, shareOf: 'own' })} hint="The start line is path + k times what the face stands off the path." />
      <div className="share-scale">
        <i style={{ left: `${100 * (lo - 0.5) * 2}%`, width: `${200 * (hi - lo)}%` }} />
        <input type="range" min={0.5} max={1} step={0.01} value={Math.min(1, Math.max(0.5, value))} aria-label={'Face\u2019s share k'} onChange={(event) => set({ share: { value: Number(event.target.value), sigma: input.share.sigma }, shareOf: 'own' })} />
      </div>
      <div className="switch" role="group" aria-label={'Whose k'}>
        <button type="button" aria-pressed={input.shareOf === 'measured'} onClick={() => set({ shareOf: 'measured', share: measuredShare })}>Measured</button>
        {(['driver', 'irons'] as const).map((sort) => <button key={sort} type="button" aria-pressed={input.shareOf === sort} onClick={() => set({ shareOf: sort, share: { value: practiceFaceShare[sort], sigma: measuredShare.sigma } })}>{sort === 'driver' ? '.85 driver' : '.75 irons'}</button>)}
      </div>
      <p className="small quiet">{isOutside ? <><Warning /> Outside what was measured: </> : 'Measured: '}.61 to .83 (Wood et al. 2018). .85 and .75 are common practice.</p>
    </div>
  )
}

function Results({ input, set }: { readonly input: FaceInput; readonly set: (patch: Partial<FaceInput>) => void }) {
  const { unit, distance } = input
  const fan = useMemo(() => missFan(missInputOf(input)), [input])
  const other = useMemo(() => missFan({ ...missInputOf(input), closureRate: { value: input.otherRate, sigma: input.closureRate.sigma } }), [input])
  const contact = turnInContact(input.closureRate)
  const [low, high] = launchRange(input.face.value, input.path.value)
  const plane = useMemo(() => planeOf(input), [input])
  const rows: readonly (readonly [name: string, number: string, basis: string])[] = [
    ['Starts', numberWords(fan.start, '\u00b0'), 'path + k (face \u2212 path), with the errors of all three'],
    ['over the measured k', `${plain(low)} to ${plain(high)}\u00b0`, 'k from .61 to .83 (Wood et al. 2018), face and path as said'],
    [`Off line at ${distance} ${unit}`, numberWords(fan.miss, ` ${unit}`), 'distance times the tangent of the start direction; a ball that flies straight on'],
    ['Face spread by timing', numberWords(fan.timingSpread, '\u00b0', false), 'rate of closure times scatter of the timing'],
    ['Starts spread by', numberWords(fan.startSpread, '\u00b0', false), 'face, path and timing together; one standard deviation'],
    [`Misses spread at ${distance} ${unit}`, numberWords(fan.missSpread, ` ${unit}`, false), 'one standard deviation to either side'],
    ['Face turns on the ball', numberWords(contact, '\u00b0', false), 'rate of closure times .5 ms of contact (Cochran & Stobbs 1968)'],
    ...(plane ? [
      ['Spin loft', numberWords(plane.spinLoft, '\u00b0', false), 'between the face\u2019s normal and the path in space (Jorgensen)'],
      ['Spin axis leans', `${numberWords({ ...plane.axisTilt, value: Math.abs(plane.axisTilt.value) }, '\u00b0', false)} ${sideWords(plane.axisTilt)}`, 'the ball curves to the side to which it leans'],
    ] as const : []),
  ]
  return (
    <section className="face-results" aria-label="What it does">
      <p className="face-verdict" aria-live="polite">{missesOf(input, 'right').verdict}.</p>
      <dl className="numbers">{rows.map(([name, number, basis]) => <div key={name} title={capital(basis)}><dt>{name}</dt><dd>{number}</dd></div>)}</dl>
      <div className="face-two">
        <NumberPair label="Loft at impact" unit={'\u00b0'} min={-5} max={75} value={input.loft.value} sigma={input.loft.sigma} onTake={(value, sigma) => set({ loft: { value, sigma } })} />
        <NumberPair label="Attack, up +" unit={'\u00b0'} min={-20} max={20} value={input.attack.value} sigma={input.attack.sigma} onTake={(value, sigma) => set({ attack: { value, sigma } })} />
      </div>
      <NumberPair label="Beside it, a closure of" unit={'\u00b0/s'} min={0} max={6000} value={input.otherRate} onTake={(otherRate) => set({ otherRate })} />
      <p>{otherWords(fan.missSpread, other.missSpread, input.otherRate, `${unit} at ${distance} ${unit}`)}</p>
    </section>
  )
}

const plain = (value: number): string => signed(value, 1)
const sideWords = ({ value, sigma }: Known): string => (Math.abs(value) <= sigma ? 'either way' : `to the ${value > 0 ? 'push' : 'pull'} side`)

function otherWords(one: Known, two: Known, rate: number, unit: string): string {
  const [a, b] = [numberWords(one, '', false), numberWords(two, '', false)]
  if (a === b) return `At ${rate} \u00b0/s the misses spread as they do now: ${b} ${unit}.`
  return `At ${rate} \u00b0/s the misses would spread by ${b} instead of ${a} ${unit}: ${two.value < one.value ? 'less rotation, smaller spread' : 'more rotation, larger spread'}.`
}

function planeOf({ face, path, loft, attack }: FaceInput): { readonly spinLoft: Known; readonly axisTilt: Known } | null {
  if (!dPlane({ face: face.value, path: path.value, loft: loft.value, attack: attack.value })) return null
  const sources = new Sources()
  const inputs = [face, path, loft, attack].map(({ value, sigma }) => (sigma > 0 ? measured(value, sigma, sources.fresh()) : exact(value)))
  const [spinLoft, axisTilt] = propagate((v) => {
    const plane = dPlane({ face: v[0]!, path: v[1]!, loft: v[2]!, attack: v[3]! })
    return [plane?.spinLoft ?? 0, plane?.axisTilt ?? 0]
  }, inputs).map((u): Known => ({ value: u.value, sigma: sigmaOf(u) })) as [Known, Known]
  return { spinLoft, axisTilt }
}

/** Face lines drawn on the swing's frames, what they say, and what may be taken over. */
function FaceLines() {
  const room = useArmsRoom()
  const loaded = useArms((state) => state.loaded)
  const rows = useMemo(() => (loaded ? faceRows(loaded) : []), [loaded])
  return (
    <section className="face-lines" aria-label="Face lines">
      <h3>The face on film</h3>
      {rows.length === 0 ? <p className="small quiet">On the Bench, stand on a sharp frame, press <kbd>D</kbd> then <kbd>F</kbd> and draw along the face from the heel to the toe; a second line on another frame gives the change.</p> : (
        <table className="numbers">
          <thead><tr><th scope="col">Frame</th><th scope="col">Looks</th><th scope="col">Change</th></tr></thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.id} title="Heel to toe against the level of this picture; as it looks, not in space. The change needs no level.">
                <th scope="row">{row.where}{row.fault ? <span className="field-fault"><Warning />{row.fault}</span> : null}</th>
                <td>{row.apparent ? numberWords(row.apparent, '\u00b0') : '\u2013'}</td>
                <td>{row.change ? numberWords(row.change, '\u00b0') : ''}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {rows.flatMap((row) => {
        const { closure } = row
        if (!closure) return []
        if (!closure.ok) return [<p key={row.id} className="small quiet"><Warning /> {closure.why}</p>]
        return [
          <p key={row.id} className="small">Closing by {numberWords(closure.rate, ' \u00b0/s', false)} up to {row.where.toLowerCase()}, {closure.note}. <Button look="plain" onClick={() => room.face.setState({ closureRate: { value: Math.round(closure.rate.value), sigma: Math.round(closure.rate.sigma) }, closureBasis: `from two face lines, ${closure.note}` })}>Take it over</Button></p>,
        ]
      })}
    </section>
  )
}

const capital = (text: string): string => `${text[0]?.toUpperCase() ?? ''}${text.slice(1)}`
