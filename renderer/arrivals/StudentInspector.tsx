import type { Student } from '../../shared/contract/student.ts'
import { Button } from '../ui/Button.tsx'
import { useNow } from '../ui/desk.tsx'
import { Warning } from '../ui/Field.tsx'
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
      <div className="pairing">
        <Button onClick={() => openSheet({ kind: 'student', studentId: student.id })}>Edit record</Button>
        <Button look="danger" onClick={() => openSheet({ kind: 'remove-student', studentId: student.id })}>Delete student</Button>
      </div>
    </div>
  )
}
