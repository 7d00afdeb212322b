import { useEffect, useMemo, useState } from 'react'
import { tellFault } from '../ui/notices.ts'
import { openOnBench } from '../ui/appStore.ts'
import { Button, ToolButton } from '../ui/Button.tsx'
import { useLibrary } from '../ui/desk.tsx'
import { Select, Warning } from '../ui/Field.tsx'
import { useClips, useNewestSwings, useSwing } from '../ui/useRecords.ts'
import { Live, LiveSlider, useArms, useArmsRoom } from './armsContext.tsx'
import type { Shown } from './armsRoom.ts'
import type { ArmsState } from './armsState.ts'
import { clipOfSwing, swingTitle } from './ghost.ts'
import { Joints, Numbers, useSampled } from './Numbers.tsx'
import { azimuthOf, elbowWords, intervalWords, signed } from './numbers.ts'
import { putInCorner, putOnPicture, takeOff } from './put.ts'
import { Stale } from './Stale.tsx'
import { numberWords } from '../../shared/picture/plate.ts'

/** The newest swings stand in the list; any other comes from the Bench. */
const mostSwings = 100

/** Whose arms these are: the swing on the Bench, or another of the library; and how well the body is known. */
export function Source({ choice, onChoose }: { readonly choice: string; readonly onChoose: (choice: string) => void }) {
  const loaded = useArms((state) => state.loaded)
  const loading = useArms((state) => state.loading)
  const fault = useArms((state) => state.fault)
  const swings = useNewestSwings(mostSwings)
  const chosen = useSwing(choice === 'bench' || choice === 'standard' ? null : choice)
  const listed = useMemo(() => [...(swings ?? []), ...(chosen && !swings?.some(({ id }) => id === chosen.id) ? [chosen] : [])], [swings, chosen])
  const students = useLibrary((library) => library.students)
  const clips = useClips(listed.flatMap(clipOfSwing))
  const choices = useMemo(() => [
    { value: 'bench', words: 'The swing on the Bench' }, { value: 'standard', words: 'A standard body, 1.80 m' },
    ...listed.map((swing) => ({ value: swing.id, words: swingTitle(swing, students, clips) })),
  ], [listed, students, clips])
  return (
    <section className="arms-source" aria-label="Whose arms">
      <Select label="Whose arms" choices={choices} value={choice} onChoose={onChoose} />
      {loading ? <p className="quiet" role="status">{loading}</p> : null}
      {fault ? <p className="arms-said" role="alert"><Warning /><span>{fault.message} {fault.remedy}</span></p> : null}
      {loading || fault ? null : <Known loaded={loaded} choice={choice} />}
    </section>
  )
}

/** How the body was had, and what would make it the student's. */
function Known({ loaded, choice }: { readonly loaded: ArmsState['loaded']; readonly choice: string }) {
  const swing = loaded?.swing
  if (loaded?.fit) {
    const { fit } = loaded
    return (
      <>
      <details className="arms-known">
        <summary><strong>{loaded.title}</strong><span className="quiet"> fitted at the top; misfit {fit.misfit.toFixed(1)}</span></summary>
        <p className="small quiet">{fit.residuals.length} points, {fit.views.map((view) => view.replaceAll('-', ' ')).join(' and ')}. A misfit of about 1 says that points and body agree within their errors{fit.misfit > 2 ? '; this one does not: look over the points that lie farthest off' : ''}.</p>
        {fit.views.length === 1 ? <p className="small quiet">From one view the errors hold the truth about two times in three, but up to one time in twelve it lies farther off than three of them: a second view makes sure.</p> : null}
        <Residuals />
        {fit.assumptions.length > 0 ? <ul className="small quiet">{fit.assumptions.map((one) => <li key={one}>Taken for granted: {one}</li>)}</ul> : null}
      </details>
      <Contradictions contradictions={fit.contradictions} />
      </>
    )
  }
  return (
    <div className="arms-lacking">
      <p className="arms-said"><Warning /><span><strong>Sketch.</strong> {loaded ? `${loaded.title} has no arms to fit yet, so a standard body${loaded.statureM ? ` of ${loaded.statureM.toFixed(2)} m` : ''} stands here.` : choice === 'bench' ? 'Nothing is open on the Bench: a standard body of 1.80 m stands here.' : 'A standard body of 1.80 m stands here.'} Its shaft may be tens of degrees off.</span></p>
      {loaded && loaded.lacking.length > 0 ? (
        <>
          <details className="small" open>
            <summary>What a fit needs, at the top, in both views (one does with larger errors)</summary>
            <ul>{loaded.lacking.map((one) => <li key={one}>{one}</li>)}</ul>
          </details>
          <Button onClick={() => openOnBench(swing ? { swingId: swing.id } : { clipId: loaded.clips[0]!.clip.id })}>Place them on the Bench</Button>
        </>
      ) : null}
      {loaded ? null : <p className="small quiet">Open a swing on the Bench and place its points at the top, or choose one from the list.</p>}
    </div>
  )
}

/** What of the marked points cannot hold together: the first in sight, the rest on asking. */
function Contradictions({ contradictions: [first, ...rest] }: { readonly contradictions: readonly string[] }) {
  if (!first) return null
  return (
    <div className="arms-lacking small" role="status">
      <p className="arms-said"><Warning /><span>{first} What stands here is the nearest that holds.</span></p>
      {rest.length > 0 ? <details><summary>{rest.length} more that do{rest.length === 1 ? 'es' : ''} not hold</summary><ul>{rest.map((one) => <li key={one}>{one}</li>)}</ul></details> : null}
    </div>
  )
}

/** The points that lie farthest from the fitted body, in units of their own error. */
function Residuals() {
  const residuals = useArms((state) => state.loaded?.fit?.residuals ?? null)
  const worst = useMemo(() => (residuals ?? []).map((one) => ({ ...one, share: Math.hypot(...one.off) / one.sigma })).toSorted((a, b) => b.share - a.share).slice(0, 5), [residuals])
  if (worst.length === 0) return null
  return (
    <dl className="arms-residuals numbers">
      {worst.map((one) => <div key={`${one.view} ${one.point}`}><dt>{one.point.replace(/([A-Z])/g, ' $1').toLowerCase()}, {one.view.replaceAll('-', ' ')}</dt><dd>{Math.hypot(...one.off).toFixed(1)} {'\u00b1'} {one.sigma.toFixed(1)} {one.view === 'world' ? 'mm' : 'px'} off</dd></div>)}
    </dl>
  )
}

/** The elbow, the shaft and what is wished of it. */
export function ElbowPanel() {
  const sampled = useSampled()
  return (
    <>
      <Movers />
      <WishRow />
      <Numbers sampled={sampled} />
      <Limits />
      <details className="arms-more"><summary>Joint angles</summary><Joints sampled={sampled} /></details>
      <GhostRow />
    </>
  )
}

const swivelOf = ({ wanted }: Shown): number => wanted.readings.swivelDeg
const swivelWords = ({ wanted }: Shown): string => `elbow ${signed(wanted.readings.elbowOutCm, 1)} cm behind the body, ${signed(wanted.readings.swivelDeg, 1)} degrees on its arc`
const azimuthAt = ({ wanted }: Shown): number => wanted.readings.azimuthDeg
const azimuthWords = ({ wanted }: Shown, state: ArmsState): string => {
  const known = azimuthOf(state, wanted)
  return known ? `shaft ${numberWords(known, ' degrees')}` : 'shaft, its error being sampled'
}
const movedRead = ({ wanted }: Shown, { now }: ArmsState): string => (now ? elbowWords(now, wanted) : '')

function Movers() {
  const room = useArmsRoom()
  const sweep = useArms((state) => state.sweep)
  const rows = sweep?.rows
  const isEmpty = useArms((state) => state.now === null)
  const azimuths = (rows ?? []).map(({ azimuthDeg }) => azimuthDeg)
  return (
    <section className="arms-movers" aria-label="Move">
      <label htmlFor="arms-elbow">Trail elbow <Live className="quiet" read={movedRead} /></label>
      <div className="arms-mover">
        <span>in and down</span>
        <LiveSlider id="arms-elbow" disabled={isEmpty} key={rows ? 'e' : 'e0'} min={rows ? Math.ceil(rows[0]!.swivelDeg) : -90} max={rows ? Math.floor(rows.at(-1)!.swivelDeg) : 120} step={0.2} value={swivelOf} valueWords={swivelWords} onMove={(value) => room.setSwivel(value)} />
        <span>out behind</span>
      </div>
      <label htmlFor="arms-shaft">Shaft; the elbow follows</label>
      <div className="arms-mover">
        <span>laid off</span>
        <LiveSlider id="arms-shaft" disabled={isEmpty} key={rows ? 's' : 's0'} min={rows ? Math.floor(Math.min(...azimuths)) : -90} max={rows ? Math.ceil(Math.max(...azimuths)) : 90} step={0.5} value={azimuthAt} valueWords={azimuthWords} onMove={(value) => room.setAzimuth(value)} />
        <span>across</span>
      </div>
    </section>
  )
}

/** The shaft that is wished for, and the elbow that gives it. */
function WishRow() {
  const room = useArmsRoom()
  const wish = useArms((state) => state.wish)
  const found = useArms((state) => state.found)
  const now = useArms((state) => state.now)
  const [text, setText] = useState(String(wish.deg))
  useEffect(() => setText(String(wish.deg)), [wish.deg])
  const take = (): void => {
    const deg = Number(text.replace(',', '.').replace('\u2212', '-'))
    if (Number.isFinite(deg) && Math.abs(deg) <= 90 && text.trim() !== '') room.setWish({ ...wish, deg })
    else setText(String(wish.deg))
  }
  return (
    <section className="arms-wish" aria-label="The shaft that is wished for">
      <form onSubmit={(event) => { event.preventDefault(); take(); room.fulfil() }}>
        <label htmlFor="arms-wish">Shaft wished</label>
        <input id="arms-wish" inputMode="decimal" value={text} onChange={(event) => setText(event.target.value)} onBlur={take} aria-describedby="arms-wish-said" />
        <span>{'\u00b0'}</span>
        <div className="switch" role="group" aria-label="Where">
          <button type="button" aria-pressed={wish.atLevel} onClick={() => room.setWish({ ...wish, atLevel: true })}>at level</button>
          <button type="button" aria-pressed={!wish.atLevel} onClick={() => room.setWish({ ...wish, atLevel: false })}>where it stops</button>
        </div>
        <Button type="submit" look="primary" disabled={!found}>Find the elbow</Button>
      </form>
      <div id="arms-wish-said" className="arms-found" aria-live="polite">
        {!now ? null : !found ? <p className="quiet">Being worked out</p>
          : found.found ? <><p>{capital(found.words)}</p>{now ? <p className="small quiet">{intervalWords(found.interval.swivelDeg, now)}</p> : null}</>
          : <><p><Warning /> {capital(found.why)}</p>{found.instead.length > 0 ? <ul className="small">{found.instead.map((one) => <li key={one}>{capital(one)}</li>)}</ul> : null}</>}
      </div>
    </section>
  )
}

const limitsRead = ({ pose }: Shown): string => pose.limits.map(({ words, beyond }) => `${beyond ? 'Past its range: ' : 'Near its limit: '}${words}`).join('\n')
const noLimitsRead = ({ pose }: Shown): string => (pose.limits.length > 0 ? '' : 'Every joint is well inside its range.')

function Limits() {
  return (
    <section className="arms-limits" aria-label="Limits" aria-live="polite">
      <Live className="arms-limit-words" read={limitsRead} />
      <Live className="quiet" read={noLimitsRead} />
    </section>
  )
}

function GhostRow() {
  const room = useArmsRoom()
  const ghost = useArms((state) => state.ghost)
  const said = useArms((state) => state.ghostSaid)
  const others = useArms((state) => state.others)
  const isRead = useLibrary((library) => library.loaded)
  useEffect(() => {
    if (isRead) void room.findOthers()
  }, [room, others, isRead])
  const choices = [{ value: '', words: others === null ? 'Looking for swings with points' : others.length === 0 ? 'No other swing has points yet' : 'None' }, ...(others ?? []).map(({ id, title }) => ({ value: id, words: title }))]
  return (
    <section className="arms-ghost" aria-label="Reference">
      <Select label="Arms of a reference swing behind" choices={choices} value={ghost?.swingId ?? ''} onChoose={(id) => void room.setGhost(id === '' ? null : id)} disabled={!others || others.length === 0} />
      {ghost ? <p className="small quiet">{capital(ghost.basis)}.</p> : said ? <p className="small arms-said" role="status">{said.startsWith('This') ? <Warning /> : null}<span>{said}</span></p> : null}
    </section>
  )
}

/** What goes onto the pictures: marks on the Bench. */
export function PutRow() {
  const room = useArmsRoom()
  const loaded = useArms((state) => state.loaded)
  const isLoading = useArms((state) => state.loading !== null)
  const run = (what: (of: typeof room) => Promise<void>) => (): void => void what(room).catch(tellFault)
  return (
    <section className="arms-put" aria-label="Onto the picture">
      <Button look="primary" onClick={run(putOnPicture)} disabled={!loaded?.fit}>Put on the picture</Button>
      <Button onClick={run(putInCorner)} disabled={!loaded}>Put in the corner</Button>
      <ToolButton onClick={run(takeOff)} disabled={!loaded}>Take off</ToolButton>
      <Stale />
      {loaded?.fit || isLoading ? null : <p className="small quiet">{loaded ? 'Over the picture once the body is fitted; in the corner at once, named a sketch.' : 'Open a swing first.'}</p>}
    </section>
  )
}

const capital = (text: string): string => `${text[0]?.toUpperCase() ?? ''}${text.slice(1)}`
