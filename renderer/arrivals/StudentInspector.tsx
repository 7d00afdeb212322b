import { useState } from 'react'
import type { RepeatabilityFigure } from '../../shared/contract/repeatability.ts'
import type { Student } from '../../shared/contract/student.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk, useNow } from '../ui/desk.tsx'
import { Warning } from '../ui/Field.tsx'
import { attempt } from '../ui/notices.ts'
import { RepeatsWithin } from '../ui/RepeatsWithin.tsx'
import { handednessWords, isoDay } from '../ui/words.ts'
import { gapOf } from './groups.ts'
import { openSheet } from './roomStore.ts'

/** Consent in words, as it is recorded. */
function consentWords({ minor, consent }: Student): string {
  const day = (on: string | null): string => (on ? ` on ${on}` : '')
  const parts = [
    consent.student.given ? `${minor ? 'The child agreed' : 'Agreed'}${day(consent.student.on)}` : `${minor ? "The child's" : 'Own'} consent not recorded`,
    ...(minor ? [consent.guardian.given ? `${consent.guardian.name} agreed${day(consent.guardian.on)}` : "A parent's consent not recorded"] : []),
    ...(consent.purpose ? [`For: ${consent.purpose.replace(/\.+$/, '')}`] : []),
    consent.until ? `Until ${consent.until}` : 'No end set',
  ]
  return parts.join('. ')
}

/** What the coach knows of a student. */
export function StudentInspector({ student }: { readonly student: Student }) {
  const gap = gapOf(student, isoDay(useNow()))
  const clubs = student.clubs.map(({ kind, lengthM }) => (lengthM === null ? kind : `${kind} (${(lengthM * 100).toFixed(1)} cm)`)).join(', ')
  const rows: readonly (readonly [string, string])[] = [
    ['Plays', `${handednessWords[student.handedness]}${student.minor ? ', a minor' : ''}`],
    ['Stature', student.statureM === null ? '' : `${(student.statureM * 100).toFixed(0)} cm`],
    ['Goals', student.goals],
    ['Usual flight', student.ballFlight],
    ['Injuries', student.injuries],
    ['Clubs', clubs],
    ['Consent', consentWords(student)],
  ]
  return (
    <div className="inspector-body">
      <h2>{student.name}</h2>
      {gap ? <p className="docket-gap"><Warning /><span>{gap} Until then nothing of them can be handed off.</span></p> : null}
      <dl className="facts">{rows.map(([name, value]) => <div key={name}><dt>{name}</dt><dd>{value || <span className="quiet">Not noted</span>}</dd></div>)}</dl>
      <HowItRepeats key={student.id} student={student} />
      <div className="pairing">
        <Button onClick={() => openSheet({ kind: 'student', studentId: student.id })}>Edit record</Button>
        <Button look="danger" onClick={() => openSheet({ kind: 'remove-student', studentId: student.id })}>Delete student</Button>
      </div>
    </div>
  )
}

/** The figure for two tied swings, with the way back to what stood before. */
function HowItRepeats({ student }: { readonly student: Student }) {
  const desk = useDesk()
  const [before, setBefore] = useState<readonly (RepeatabilityFigure | null)[]>([])
  const put = (figure: RepeatabilityFigure | null): Promise<unknown> => attempt(() => desk.call('repeatability.set', { studentId: student.id, figure }))
  const set = (figure: RepeatabilityFigure | null): void => {
    setBefore([...before, student.repeatability ?? null])
    void put(figure)
  }
  const undo = (): void => {
    setBefore(before.slice(0, -1))
    void put(before.at(-1) ?? null)
  }
  return (
    <div className="how-it-repeats">
      <RepeatsWithin student={student} onSet={set} />
      {before.length > 0 ? <Button look="plain" onClick={undo}>Undo</Button> : null}
    </div>
  )
}
