import { useEffect, useMemo, useRef, useState } from 'react'
import type { Shown } from './armsRoom.ts'
import { Live, useArms, useArmsRoom } from './armsContext.tsx'
import type { ArmsState } from './armsState.ts'
import { changeWords, jointKey, jointNames, nowSigma, numberRows, rowWords, shownJoints, wantedSigma, type NumberRow } from './numbers.ts'
import type { PoseSigmas } from './poseErrors.ts'
import { numberWords } from '../../shared/picture/plate.ts'

/** Errors by sampling of the pose as it is and as wanted; the second once the hand has been still for a moment. */
export interface Sampled {
  readonly now: PoseSigmas | null
  readonly wanted: PoseSigmas | null
  readonly atChange: number
}
const none: Sampled = { now: null, wanted: null, atChange: 0 }
const stillFor = 250

export function useSampled(): Sampled {
  const room = useArmsRoom()
  const errors = useArms((state) => state.errors)
  const [sampled, setSampled] = useState<Sampled>(none)
  const last = useRef<number | null>(null)
  useEffect(() => {
    last.current = null
    setSampled(none)
    if (!errors) return undefined
    let timer: ReturnType<typeof setTimeout> | undefined
    const now = errors.at(0)
    const look = (): void => {
      const change = room.shown?.wanted.change.swivelDeg ?? 0
      if (last.current === change) return
      last.current = change
      clearTimeout(timer)
      timer = setTimeout(() => setSampled({ now, wanted: Math.abs(change) < 0.05 ? now : errors.at(change), atChange: change }), stillFor)
    }
    const stop = room.onTold(look)
    return () => {
      clearTimeout(timer)
      stop()
    }
  }, [room, errors])
  return sampled
}

/** The numbers of the pose as text: as it is, as wanted, and the change, each with its error. */
export function Numbers({ sampled }: { readonly sampled: Sampled }) {
  const isSketch = useArms((state) => state.now?.kind === 'sketch')
  const basis = useArms((state) => state.loaded?.fit?.basis ?? state.now?.basis ?? '')
  return (
    <section className="arms-numbers" aria-label="Numbers">
      <table className="numbers">
        <thead>
          <tr><th scope="col"><span className="unseen">What</span></th><th scope="col">{isSketch ? 'Sketch' : 'As filmed'}</th><th scope="col">As wanted</th><th scope="col">Change</th></tr>
        </thead>
        <tbody>{numberRows.filter(({ ofSketch }) => ofSketch || !isSketch).map((row) => <Row key={row.id} row={row} sampled={sampled} basis={basis} />)}</tbody>
      </table>
      {basis ? <p className="small quiet">{capital(basis)}. {'\u00b1'} is one standard deviation.</p> : null}
    </section>
  )
}

function Row({ row, sampled, basis }: { readonly row: NumberRow; readonly sampled: Sampled; readonly basis: string }) {
  const read = useMemo(() => ({
    now: (_: Shown, state: ArmsState): string => rowWords(row, state.now?.readings[row.id] ?? null, nowSigma(state, row.id, sampled.now), !state.loaded?.fit),
    wanted: ({ wanted }: Shown, state: ArmsState): string => rowWords(row, wanted.readings[row.id], wantedSigma(state, wanted, row.id, Math.abs(sampled.atChange - wanted.change.swivelDeg) < 8 ? sampled.wanted : null), !state.loaded?.fit),
    change: ({ wanted }: Shown, state: ArmsState): string => (state.now ? changeWords(row, state.now, wanted) : ''),
  }), [row, sampled])
  return (
    <tr title={`${capital(row.meaning)}. ${capital(basis)}.`} data-row={row.id}>
      <th scope="row">{row.name}</th>
      <td><Live read={read.now} /></td>
      <td><Live read={read.wanted} className="arms-wanted" /></td>
      <td><Live read={read.change} /></td>
    </tr>
  )
}

/** Joint angles of both arms against their ranges, of a fitted body. */
export function Joints({ sampled }: { readonly sampled: Sampled }) {
  const fit = useArms((state) => state.loaded?.fit ?? null)
  if (!fit) return <p className="small quiet">Joint angles are shown for a fitted body: those of a sketch have no error that could be given.</p>
  return (
    <table className="numbers arms-joints">
      <thead><tr><th scope="col"><span className="unseen">Joint</span></th><th scope="col">Lead, filmed</th><th scope="col">Trail, filmed</th><th scope="col">Trail, wanted</th></tr></thead>
      <tbody>
        {shownJoints.map((joint) => {
          const words = (value: number, sigma: number | undefined): string => (sigma === undefined ? '\u2013' : numberWords({ value, sigma }, '\u00b0'))
          return (
            <tr key={joint}>
              <th scope="row">{capital(jointNames[joint])}</th>
              {(['lead', 'trail'] as const).map((side) => <td key={side}>{words(fit.pose[side].angles[joint], sampled.now?.joints[jointKey(side, joint)])}</td>)}
              <td><WantedJoint joint={joint} sampled={sampled} /></td>
            </tr>
          )
        })}
      </tbody>
    </table>
  )
}

function WantedJoint({ joint, sampled }: { readonly joint: (typeof shownJoints)[number]; readonly sampled: Sampled }) {
  const read = useMemo(() => ({ wanted }: Shown): string => {
    const sigma = Math.abs(sampled.atChange - wanted.change.swivelDeg) < 8 ? sampled.wanted?.joints[jointKey('trail', joint)] : undefined
    return sigma === undefined ? '\u2013' : numberWords({ value: wanted.trail.angles[joint], sigma }, '\u00b0')
  }, [joint, sampled])
  return <Live read={read} />
}

const capital = (text: string): string => `${text[0]?.toUpperCase() ?? ''}${text.slice(1)}`
