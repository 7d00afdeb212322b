import type { DrillCard } from '../../../shared/contract/drill.ts'
import type { Student } from '../../../shared/contract/student.ts'
import { listWords, partWords, partsToMind, safetyOf } from '../../../shared/plan/safety.ts'
import { areaTitles, doseWords, firstName } from '../../../shared/plan/words.ts'
import { Button } from '../../ui/Button.tsx'
import { useDesk } from '../../ui/desk.tsx'
import { Warning } from '../../ui/Field.tsx'

/** One card in full, as it is prescribed, with what to mind for this student. */
export function CardView({ card, student, isPrescribed, onPrescribe, onEdit }: {
  readonly card: DrillCard
  readonly student: Student | null
  readonly isPrescribed: boolean
  readonly onPrescribe: () => void
  readonly onEdit: () => void
}) {
  const desk = useDesk()
  return (
    <section className="card-view" aria-label={`Drill card: ${card.title}`}>
      <header>
        <div>
          <h3>{card.title}</h3>
          <p className="quiet">{areaTitles[card.area]}, {doseWords(card.dose)}{card.origin === 'copy' ? ', in your version' : card.origin === 'own' ? ', your own' : ''}</p>
        </div>
        <Button onClick={onEdit}>{card.origin === 'starter' ? 'Make it yours' : 'Edit'}</Button>
        <Button look="primary" disabled={isPrescribed} onClick={onPrescribe}>{isPrescribed ? 'Prescribed' : 'Prescribe'}</Button>
      </header>
      <ToMind card={card} student={student} />
      <p>{card.changes}</p>
      <ol>{card.how.map((step) => <li key={step}>{step}</li>)}</ol>
      <dl>
        <dt>Feel</dt><dd>{card.feel}</dd>
        {card.needs.length > 0 ? <><dt>Needs</dt><dd>{listWords(card.needs)}</dd></> : null}
        <dt>Film it</dt><dd>{card.film}</dd>
        <dt>Mistake</dt><dd>{card.mistake}</dd>
      </dl>
      {card.clipId ? <video className="card-clip" src={desk.mediaUrl(`review/${card.clipId}.mp4`)} controls muted loop playsInline aria-label={`Demonstration of ${card.title}`} /> : null}
      <div className="card-safety quiet">{safetyOf(card).map((line) => <p key={line}>{line}</p>)}</div>
    </section>
  )
}

/** A student's injuries, beside every drill: with a sign where the card loads a part that the note names. */
export function ToMind({ card, student }: { readonly card: Pick<DrillCard, 'loads'>; readonly student: Student | null }) {
  if (!student || student.injuries.trim() === '') return null
  const parts = partsToMind(card.loads, student.injuries)
  const note = `${firstName(student.name)}: “${student.injuries.trim()}”`
  if (parts.length === 0) return <p className="to-mind quiet">To mind of {note}</p>
  return <p className="to-mind" data-loads="true" role="note"><Warning /> <span>This loads the {listWords(parts.map((part) => partWords[part]))}. To mind of {note}</span></p>
}
