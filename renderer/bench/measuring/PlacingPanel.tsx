import { useEffect, useRef } from 'react'
import { positionNames, type PointName } from '../../../shared/contract/pointsFile.ts'
import { clickSigma } from '../../../shared/swing/clickError.ts'
import { pointTitle, positionTitle } from '../../../shared/swing/digitised.ts'
import { isPlaced } from '../../../shared/swing/plan.ts'
import { frameAt } from '../../../shared/walkthrough/motion.ts'
import { Button } from '../../ui/Button.tsx'
import { useBench, useParts } from '../benchContext.tsx'
import { MeasureChooser, type Wish } from './MeasureChooser.tsx'
import { useMeasuring, useMeasuringParts } from './measuringContext.tsx'
import { positionDigit } from './positionLines.ts'

/** What to measure, and the points it needs: those that are placed, and what is still missing. */
export function PlacingPanel() {
  const { measuring, placer } = useMeasuringParts()
  const task = useMeasuring((state) => state.task)
  const table = useMeasuring((state) => state.table)
  const outcome = useMeasuring((state) => state.outcome)
  // A position that was set or found since changes what is to be placed.
  useEffect(() => placer.replan(), [placer, table, outcome])
  const choose = (chosen: Wish | null): void => {
    if (chosen === null) placer.stop()
    else if (chosen.kind === 'follow') placer.follow(chosen.point, 1)
    else if (chosen.kind === 'measure' && chosen.id === 'toe-alignment') placer.guide('stanceLine')
    else placer.choose(chosen)
  }
  const wish: Wish | null = task?.kind === 'plan' ? task.choice : task?.kind === 'follow' ? { kind: 'follow', point: task.point } : null
  return (
    <section className="placing" aria-label="Placing points">
      <MeasureChooser wish={wish} onChoose={choose} />
      {task?.kind === 'plan' ? <Steps /> : null}
      {task?.kind === 'follow' ? <Follow point={task.point} every={task.every} /> : null}
      {task && task.kind !== 'guide' && task.kind !== 'mat' ? <Hand /> : null}
      {task ? null : <p className="quiet small">{Object.keys(table).length === 0 ? 'Choose a measure or a position; its points are then asked for one after another.' : `${pointsIn(measuring.table)} points placed.`}</p>}
    </section>
  )
}

const pointsIn = (table: object): number => Object.values(table as Record<string, { kind: string }>).filter(({ kind }) => kind === 'landmark').length

function Steps() {
  const { measuring, placer } = useMeasuringParts()
  const task = useMeasuring((state) => state.task)
  const table = useMeasuring((state) => state.table)
  const list = useRef<HTMLDivElement>(null)
  useEffect(() => {
    // Newer browsers answer with a promise, which an effect must not return.
    void list.current?.querySelector('[aria-current]')?.scrollIntoView({ block: 'nearest' })
  }, [task])
  if (task?.kind !== 'plan') return null
  const { steps, unset } = task.plan
  const done = steps.filter((step) => isPlaced(step, table)).length
  const groups = new Map<string, { title: string; items: number[] }>()
  steps.forEach((step, i) => {
    const clip = measuring.clipOf(step.clipId)
    const key = `${step.clipId} ${step.tick}`
    const frame = clip ? frameAt(clip.frames, step.tick) + 1 : 0
    const group = groups.get(key) ?? { title: `${step.position === 'swing' ? 'throughout' : positionTitle(step.position)}, frame ${frame}${clip && measuring.records().clips.length > 1 ? `, ${clip.view === 'face-on' ? 'face-on' : 'down the line'}` : ''}`, items: [] }
    group.items.push(i)
    groups.set(key, group)
  })
  const first = unset[0]
  return (
    <>
      {unset.length > 0 ? (
        <p className="small unset">
          Not set yet: {[...new Set(unset.map(({ name }) => positionTitle(name)))].join(', ')}. Go to the frame, press <kbd>L</kbd>{first ? <kbd>{positionDigit(positionNames.indexOf(first.name))}</kbd> : null}
        </p>
      ) : null}
      {steps.length > 0 ? (
        <>
          <p className="placing-count"><span className="numbers">{done} of {steps.length} placed</span>
            <span><Button look="plain" onClick={() => placer.move(-1)} disabled={task.at === 0}>Back <kbd aria-hidden="true">,</kbd></Button><Button look="plain" onClick={() => placer.move(1)} disabled={task.at >= steps.length}>Skip <kbd aria-hidden="true">.</kbd></Button></span>
          </p>
          <div className="placing-steps" ref={list}>
            {[...groups].map(([key, { title, items }]) => (
              <section key={key} aria-label={title}>
                <h3>{title}</h3>
                <ul>
                  {items.map((i) => {
                    const step = steps[i]!
                    const isDone = isPlaced(step, table)
                    return (
                      <li key={i}>
                        <button type="button" data-done={isDone} aria-current={i === task.at ? 'step' : undefined} onClick={() => placer.to(i)} aria-label={`${pointTitle(step.point)}, ${isDone ? 'placed' : 'missing'}`}>
                          {pointTitle(step.point)}
                        </button>
                      </li>
                    )
                  })}
                </ul>
              </section>
            ))}
          </div>
        </>
      ) : null}
    </>
  )
}

function Follow({ point, every }: { readonly point: PointName; readonly every: number }) {
  const { placer } = useMeasuringParts()
  const table = useMeasuring((state) => state.table)
  const active = useBench((state) => state.active)
  const { bench } = useParts()
  const clipId = bench.clip(active)?.id
  const placed = Object.values(table).filter((record) => record.kind === 'landmark' && record.point === point && record.clipId === clipId).length
  return (
    <p className="placing-count">
      <span className="numbers">{placed} frames placed</span>
      <label className="every">on by <input type="number" inputMode="decimal" min={1} max={30} value={every} onChange={(event) => placer.follow(point, Number(event.target.value) || 1)} /> frames</label>
    </p>
  )
}

/** How well the coach clicks, and how that is learnt. */
function Hand() {
  const { measuring, placer } = useMeasuringParts()
  const thrice = useMeasuring((state) => state.thrice)
  const clickError = useMeasuring((state) => state.clickError)
  const chosen = useMeasuring((state) => state.chosen)
  const active = useBench((state) => state.active)
  const { bench } = useParts()
  const clip = bench.clip(active)
  if (!clip) return null
  const hand = clickSigma(clickError, clip)
  return (
    <div className="hand small">
      <p><span className="quiet">Your click: </span><span className="numbers">{'\u00b1'} {hand.sigmaPx.toFixed(2)} px{hand.uncertainty === null ? '' : ` (known to ${hand.uncertainty.toFixed(2)})`}</span><span className="quiet">, {hand.basis}</span>
        {clickError.freedom > 0 ? <Button look="plain" onClick={() => placer.forgetHand()}>Forget</Button> : null}
      </p>
      <label className="check"><input type="checkbox" checked={thrice} onChange={(event) => measuring.state.setState({ thrice: event.target.checked, repeat: null })} /><span>Place each point three times</span></label>
      {chosen !== null && measuring.chosen ? <Button look="plain" onClick={() => placer.repeat()}>Again, three times: {pointTitle(measuring.chosen.point)} <kbd aria-hidden="true">R</kbd></Button> : null}
    </div>
  )
}

