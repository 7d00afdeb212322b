import type { Dose, Prescription } from '../../../shared/contract/drill.ts'
import { mostDrills } from '../../../shared/plan/page.ts'
import { longDay } from '../../../shared/plan/words.ts'
import { useAsked, type Part } from '../../ui/asked.ts'
import { Button } from '../../ui/Button.tsx'
import { useDesk } from '../../ui/desk.tsx'
import { PhraseField } from '../../ui/PhraseField.tsx'
import { useLessonWork } from '../lessonWork.tsx'
import { ToMind } from './CardView.tsx'

const parts: readonly Part[] = ['prescriptions']

/** Bare of what the desk fills in itself. */
const toSave = ({ card: _card, handedOverAt: _over, createdAt: _at, ...rest }: Prescription) => rest

/** What the student is to practise: doses, dates, the coach's word for this student, in the order of the plan. */
export function Prescribed({ prescribed }: { readonly prescribed: readonly Prescription[] }) {
  const desk = useDesk()
  const { walkthrough, student, steps } = useLessonWork()
  const { answer: all } = useAsked('prescription.list', walkthrough.studentId === null ? null : { studentId: walkthrough.studentId }, parts)
  const save = (one: Prescription, patch: Partial<Prescription>, words: string): void => {
    const before = toSave(one)
    void steps.act(words, () => desk.call('prescription.save', { ...before, ...toSave({ ...one, ...patch }) }), () => desk.call('prescription.save', before))
  }
  const remove = (one: Prescription): void => {
    void steps.act(`Took off “${one.card.title}”`, () => desk.call('prescription.remove', { id: one.id }), () => desk.call('prescription.save', toSave(one)))
  }
  const move = (at: number, by: 1 | -1): void => {
    const ids = prescribed.map((one) => one)
    const other = ids[at + by]
    if (!other) return
    const next = ids.with(at, other).with(at + by, ids[at]!)
    const put = (order: readonly Prescription[]) => async () => {
      for (const [i, one] of order.entries()) if (one.order !== i || order !== prescribed) await desk.call('prescription.save', { ...toSave(one), order: i })
    }
    void steps.act('Changed the order of the drills', put(next), put(prescribed))
  }
  const earlier = (all ?? []).filter((one) => one.walkthroughId !== walkthrough.id)
  return (
    <section className="prescribed" aria-label="Prescribed drills">
      <h3>Prescribed{student ? ` to ${student.name}` : ''}</h3>
      {prescribed.length === 0 ? <p className="quiet">Nothing yet. Find a card, and press Enter or Prescribe.</p> : null}
      {prescribed.length > mostDrills ? <p className="quiet">The plan has room for {mostDrills}: the first {mostDrills} go onto it.</p> : null}
      <ul>
        {prescribed.map((one, i) => (
          <li key={one.id} className="prescription">
            <p className="prescription-head">
              <strong>{one.card.title}</strong>
              <Button look="plain" disabled={i === 0} aria-label={`Up: ${one.card.title}`} onClick={() => move(i, -1)}>Up</Button>
              <Button look="plain" disabled={i === prescribed.length - 1} aria-label={`Down: ${one.card.title}`} onClick={() => move(i, 1)}>Down</Button>
              <Button look="plain" aria-label={`Remove: ${one.card.title}`} onClick={() => remove(one)}>Remove</Button>
            </p>
            <DoseFields title={one.card.title} dose={one.dose} onChange={(dose) => save(one, { dose }, 'Changed a dose')} />
            <label className="prescription-by">
              <span className="quiet small">Next film by</span>
              <input type="date" value={one.filmBy ?? ''} onChange={(event) => save(one, { filmBy: event.target.value || null }, 'Changed the day of the next film')} />
            </label>
            <PhraseField bare label={`A word on ${one.card.title}`} kind="note" rows={1} most={400} value={one.note} placeholder="A word for this student" onCommit={(note) => save(one, { note }, 'Changed a word on a drill')} />
            <ToMind card={one.card} student={student} />
            {one.handedOverAt === null ? null : <p className="quiet small">Handed over: the card stays as the student has it.</p>}
          </li>
        ))}
      </ul>
      {earlier.length > 0 ? (
        <details>
          <summary className="quiet">Before this lesson: {earlier.length}</summary>
          <ul className="earlier">{earlier.map((one) => <li key={one.id}>{one.card.title}{one.filmBy === null ? '' : <span className="quiet">, film by {longDay(one.filmBy)}</span>}</li>)}</ul>
        </details>
      ) : null}
    </section>
  )
}

const fields: readonly { readonly key: keyof Dose; readonly words: string; readonly most: number }[] = [
  { key: 'sets', words: 'sets', most: 20 }, { key: 'repetitions', words: 'repetitions', most: 100 }, { key: 'daysAWeek', words: 'days a week', most: 7 },
]

export function DoseFields({ title, dose, onChange }: { readonly title: string; readonly dose: Dose; readonly onChange: (dose: Dose) => void }) {
  return (
    <div className="dose" role="group" aria-label={`Dose of ${title}`}>
      {fields.map(({ key, words, most }) => (
        <label key={key}>
          <input
            type="number"
            min={1}
            max={most}
            defaultValue={dose[key]}
            key={dose[key]}
            onBlur={(event) => {
              const value = Math.min(Math.max(Math.round(event.target.valueAsNumber), 1), most)
              if (Number.isFinite(value) && value !== dose[key]) onChange({ ...dose, [key]: value })
              else event.target.value = String(dose[key])
            }}
            onKeyDown={(event) => { if (event.key === 'Enter') event.currentTarget.blur() }}
          />
          <span className="quiet small">{words}</span>
        </label>
      ))}
    </div>
  )
}
