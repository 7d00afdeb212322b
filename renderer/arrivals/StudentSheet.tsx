import { useState } from 'react'
import type { Delivery, Student } from '../../shared/contract/student.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk } from '../ui/desk.tsx'
import { Dialog } from '../ui/Dialog.tsx'
import { Check, Choices, TextArea, TextField } from '../ui/Field.tsx'
import { attempt, faultOf } from '../ui/notices.ts'
import { FaultNote } from '../ui/Notices.tsx'
import { handednessWords, isoDay } from '../ui/words.ts'
import { clubListId } from './ChoiceLists.tsx'
import { blankStudent, type StudentDraft } from './studentDraft.ts'

const metres = (text: string): number | null => (text.trim() === '' ? null : Number(text.replace(',', '.')) / 100)
const centimetres = (m: number | null): string => (m === null ? '' : String(Number((m * 100).toFixed(1))))

/** A student's record, new or known. */
export function StudentSheet({ student, onClose, onSaved }: { readonly student: Student | null; readonly onClose: () => void; readonly onSaved: (student: Student) => void }) {
  const desk = useDesk()
  const [draft, setDraft] = useState<StudentDraft>(student ?? blankStudent)
  const [stature, setStature] = useState(centimetres(draft.statureM))
  const [clubs, setClubs] = useState(draft.clubs.map(({ kind, lengthM }) => ({ kind, length: centimetres(lengthM) })))
  const [fault, setFault] = useState<{ message: string; remedy: string | null } | null>(null)
  const set = (patch: Partial<StudentDraft>): void => setDraft({ ...draft, ...patch })
  const setConsent = (patch: Partial<StudentDraft['consent']>): void => set({ consent: { ...draft.consent, ...patch } })
  const { consent } = draft
  const statureM = metres(stature)
  const statureFault = statureM !== null && !(statureM >= 0.8 && statureM <= 2.4) ? 'Write centimetres between 80 and 240, or leave it out.' : null
  const clubFaults = clubs.map(({ length }) => {
    const m = metres(length)
    return m !== null && !(m >= 0.45 && m <= 1.3) ? 'Between 45 and 130 cm' : null
  })
  const ready = draft.name.trim() !== '' && !statureFault && clubFaults.every((one) => one === null)

  const save = async (): Promise<void> => {
    if (!ready) return
    try {
      onSaved(await desk.call('student.save', {
        ...draft, id: student?.id ?? null, name: draft.name.trim(), statureM,
        clubs: clubs.filter(({ kind }) => kind.trim()).map(({ kind, length }) => ({ kind: kind.trim(), lengthM: metres(length) })),
      }))
      onClose()
    } catch (error) {
      setFault(faultOf(error))
    }
  }
  return (
    <Dialog
      title={student ? `Record of ${student.name}` : 'New student'}
      onClose={onClose}
      onSubmit={() => void save()}
      size="large"
      actions={
        <>
          {fault ? <FaultNote {...fault} /> : null}
          <Button onClick={onClose}>Cancel</Button>
          <Button look="primary" type="submit" disabled={!ready}>{student ? 'Save record' : 'Add student'}</Button>
        </>
      }
    >
      <div className="sheet-columns">
        <div className="fields">
          <TextField label="Name" required maxLength={120} value={draft.name} onChange={(event) => set({ name: event.target.value })} />
          <Choices label="Plays" value={draft.handedness} choices={(['right', 'left'] as const).map((value) => ({ value, words: handednessWords[value] }))} onChoose={(handedness) => set({ handedness })} />
          <TextField label="Stature in cm" hint="With shoes; sets the scale where nothing better is in the picture." fault={statureFault} inputMode="decimal" value={stature} onChange={(event) => setStature(event.target.value)} />
          <TextArea label="Goals" value={draft.goals} onChange={(event) => set({ goals: event.target.value })} />
          <TextArea label="Usual ball flight" value={draft.ballFlight} onChange={(event) => set({ ballFlight: event.target.value })} />
          <TextArea label="Injuries to mind" value={draft.injuries} onChange={(event) => set({ injuries: event.target.value })} />
        </div>
        <div className="fields">
          <fieldset className="clubs">
            <legend>Clubs</legend>
            {clubs.map((club, i) => (
              <div key={i} className="club-row">
                <input aria-label={`Club ${i + 1}`} list={clubListId} value={club.kind} placeholder="7-iron" onChange={(event) => setClubs(clubs.with(i, { ...club, kind: event.target.value }))} />
                <input aria-label={`Length of club ${i + 1} in cm`} aria-invalid={clubFaults[i] ? true : undefined} inputMode="decimal" placeholder="cm" title={clubFaults[i] ?? undefined}
                  value={club.length} onChange={(event) => setClubs(clubs.with(i, { ...club, length: event.target.value }))} />
                <Button look="plain" aria-label={`Take out club ${i + 1}`} onClick={() => setClubs(clubs.toSpliced(i, 1))}>Take out</Button>
              </div>
            ))}
            {clubFaults.some((one) => one !== null) ? <p className="field-fault">A club measures between 45 and 130 cm.</p> : null}
            <Button onClick={() => setClubs([...clubs, { kind: '', length: '' }])}>Add a club</Button>
          </fieldset>
          <fieldset className="consent">
            <legend>Consent</legend>
            <Check label="A minor" hint="Then the child and a parent must both agree before anything is handed off." checked={draft.minor} onCheck={(minor) => set({ minor })} />
            <Agreement label={draft.minor ? 'The child agrees' : 'The student agrees'} given={consent.student.given} on={consent.student.on} onChange={(own) => setConsent({ student: own })} />
            {draft.minor ? (
              <>
                <Agreement label="A parent or guardian agrees" given={consent.guardian.given} on={consent.guardian.on} onChange={(theirs) => setConsent({ guardian: { ...consent.guardian, ...theirs } })} />
                <TextField label="Parent's or guardian's name" value={consent.guardian.name} onChange={(event) => setConsent({ guardian: { ...consent.guardian, name: event.target.value } })}
                  fault={consent.guardian.given && !consent.guardian.name.trim() ? 'Their consent counts only with a name.' : null} />
              </>
            ) : null}
            <TextField label="For what" placeholder="Lessons to the student alone" value={consent.purpose} onChange={(event) => setConsent({ purpose: event.target.value })} />
            <TextField label="Until" type="date" value={consent.until ?? ''} hint="Empty for no end." onChange={(event) => setConsent({ until: event.target.value || null })} />
          </fieldset>
        </div>
      </div>
    </Dialog>
  )
}

function Agreement({ label, given, on, onChange }: { readonly label: string; readonly given: boolean; readonly on: string | null; readonly onChange: (value: { given: boolean; on: string | null }) => void }) {
  return (
    <div className="agreement">
      <Check label={label} checked={given} onCheck={(checked) => onChange({ given: checked, on: checked ? (on ?? isoDay(Date.now())) : null })} />
      <input type="date" aria-label={`${label} since`} disabled={!given} value={on ?? ''} onChange={(event) => onChange({ given, on: event.target.value || null })} />
    </div>
  )
}

/** The question and the feel that came with a delivery. */
export function DeliverySheet({ delivery, onClose }: { readonly delivery: Delivery; readonly onClose: () => void }) {
  const desk = useDesk()
  const [words, setWords] = useState({ question: delivery.question, feel: delivery.feel })
  const save = async (): Promise<void> => {
    await desk.call('delivery.save', { ...delivery, ...words })
    onClose()
  }
  return (
    <Dialog title="What the student wrote" size="small" onClose={onClose} onSubmit={() => void attempt(save)}
      actions={<><Button onClick={onClose}>Cancel</Button><Button look="primary" type="submit">Save</Button></>}>
      <div className="fields">
        <TextArea label="Asks" rows={3} value={words.question} onChange={(event) => setWords({ ...words, question: event.target.value })} />
        <TextArea label="Feels" rows={3} value={words.feel} onChange={(event) => setWords({ ...words, feel: event.target.value })} />
      </div>
    </Dialog>
  )
}
