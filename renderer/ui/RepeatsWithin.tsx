import { useEffect } from 'react'
import { repeatabilityBounds, type RepeatabilityFigure, type Repeats } from '../../shared/contract/repeatability.ts'
import type { Student } from '../../shared/contract/student.ts'
import { usualRepeatabilityM } from '../../shared/swing/twoSwings.ts'
import { useAsked, type Part } from './asked.ts'
import { Button } from './Button.tsx'
import { CommitField } from './CommitField.tsx'
import { useDesk } from './desk.tsx'
import { viewWords } from './words.ts'
import './repeatsWithin.css'

const parts: readonly Part[] = ['clips', 'students']
/** Points are placed one after another; the clips are read again once the hand rests, milliseconds. */
const restMs = 2500

const cm = (m: number): string => String(Number((100 * m).toFixed(1)))
const read = (text: string): number => Number(text.replace(',', '.')) / 100

function faultIn(text: string): string | null {
  const m = read(text)
  return text.trim() !== '' && m >= repeatabilityBounds.least && m <= repeatabilityBounds.most ? null
    : `Write centimetres between ${cm(repeatabilityBounds.least)} and ${cm(repeatabilityBounds.most)}.`
}

/** Whose figure it is, in words. */
export function repeatabilityWords(figure: RepeatabilityFigure | null | undefined): string {
  if (!figure) return `${cm(usualRepeatabilityM)} cm, assumed: none is set`
  return figure.from.by === 'coach' ? `${cm(figure.m)} cm, set by you` : `${cm(figure.m)} \u00b1 ${cm(figure.from.sigmaM)} cm, from ${figure.from.swings} swings`
}

/** How far a student's swing comes back to the same place: the coach's figure, or what the student's own swings show. */
export function RepeatsWithin({ student, onSet }: { readonly student: Student; readonly onSet: (figure: RepeatabilityFigure | null) => void }) {
  const desk = useDesk()
  const { answer, again } = useAsked('repeatability.fromSwings', { studentId: student.id }, parts)
  useEffect(() => {
    let timer: ReturnType<typeof setTimeout> | undefined
    const stop = desk.listen((event) => {
      if (event.type !== 'changed' || event.what !== 'digitising') return
      clearTimeout(timer)
      timer = setTimeout(() => void again(), restMs)
    })
    return () => {
      clearTimeout(timer)
      stop()
    }
  }, [desk, again])
  const figure = student.repeatability ?? null
  return (
    <section className="repeats-within" aria-label="How the swing repeats">
      <div className="repeats-row">
        <CommitField key={`${student.id} ${figure?.m ?? ''}`} label="Repeats within, cm" value={figure ? cm(figure.m) : ''} placeholder={cm(usualRepeatabilityM)} inputMode="decimal" check={faultIn}
          onCommit={(text) => onSet({ m: read(text), from: { by: 'coach' } })} />
        <p className="numbers" role="status">{repeatabilityWords(figure)}</p>
        {figure ? <Button look="plain" onClick={() => onSet(null)}>Back to assumed</Button> : null}
      </div>
      <p className="quiet">How far a point comes back to its place at the same position of another swing: two times in three within this, in each direction. It is in every error that two tied swings give.</p>
      <Offers repeats={answer ?? []} figure={figure} onSet={onSet} />
    </section>
  )
}

const mostShown = 3

function Offers({ repeats, figure, onSet }: { readonly repeats: readonly Repeats[]; readonly figure: RepeatabilityFigure | null; readonly onSet: (figure: RepeatabilityFigure) => void }) {
  const told = repeats.filter(({ m }) => m !== null).slice(0, mostShown)
  if (told.length === 0) {
    const why = repeats[0]?.why
    return <p className="quiet">Three measured swings of one view and club tell it by themselves.{why ? ` ${why}` : ''}</p>
  }
  return (
    <ul className="repeats-offers">
      {told.map(({ view, club, swings, m, sigmaM }) => {
        const isTaken = figure?.from.by === 'swings' && Math.abs(figure.m - m!) < 5e-5 && figure.from.swings === swings
        return (
          <li key={`${view} ${club}`}>
            <span className="numbers">{cm(m!)} {'\u00b1'} {cm(sigmaM!)} cm <span className="quiet">from {swings} swings, {[viewWords[view].toLowerCase(), club].filter(Boolean).join(', ')}; too large where the phone was set up anew between them</span></span>
            {isTaken ? <span className="quiet">Taken</span> : <Button onClick={() => onSet({ m: Math.round(m! * 1e4) / 1e4, from: { by: 'swings', swings, sigmaM: Math.max(1e-4, Math.round(sigmaM! * 1e4) / 1e4) } })} aria-label={`Take ${cm(m!)} cm from ${swings} swings`}>Take it</Button>}
          </li>
        )
      })}
    </ul>
  )
}
