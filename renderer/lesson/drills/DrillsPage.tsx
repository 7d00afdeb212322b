import { useMemo, useRef, useState, type KeyboardEvent } from 'react'
import { drillAreas, type DrillArea, type DrillCard, type Prescription } from '../../../shared/contract/drill.ts'
import { found } from '../../../shared/plan/search.ts'
import { dayAfter, areaTitles } from '../../../shared/plan/words.ts'
import { useAsked, type Part } from '../../ui/asked.ts'
import { Button } from '../../ui/Button.tsx'
import { useDesk } from '../../ui/desk.tsx'
import { Waiting } from '../../ui/EmptyState.tsx'
import { BareSelect } from '../../ui/Field.tsx'
import { isoDay } from '../../ui/words.ts'
import { useLessonWork } from '../lessonWork.tsx'
import { CardEditor } from './CardEditor.tsx'
import { CardView } from './CardView.tsx'
import { Prescribed } from './Prescribed.tsx'
import './drills.css'

const cardParts: readonly Part[] = ['drills', 'clips']
const prescribedParts: readonly Part[] = ['prescriptions', 'plans']

/** Where words are looked for in a card, from the most telling to the least. */
export const cardFields = (card: DrillCard): readonly string[] => [card.title, areaTitles[card.area], card.changes, card.feel, [...card.how, ...card.needs, card.mistake].join(' ')]

type Area = DrillArea | 'all'
const areaChoices = [{ value: 'all' as Area, words: 'Whole swing' }, ...drillAreas.map((value) => ({ value: value as Area, words: areaTitles[value] }))]

/** Drill cards found as one types, read, written and prescribed with a dose and a date. */
export function DrillsPage() {
  const desk = useDesk()
  const { walkthrough, student, steps } = useLessonWork()
  const { answer: cards } = useAsked('drill.list', {}, cardParts)
  const { answer: prescribed } = useAsked('prescription.list', { walkthroughId: walkthrough.id }, prescribedParts)
  const { answer: plan } = useAsked('plan.get', { walkthroughId: walkthrough.id }, prescribedParts)
  const [typed, setTyped] = useState('')
  const [area, setArea] = useState<Area>('all')
  const [chosenId, setChosen] = useState<string | null>(null)
  const [editing, setEditing] = useState<DrillCard | 'new' | null>(null)
  const list = useRef<HTMLDivElement>(null)
  const hits = useMemo(() => found(typed, (cards ?? []).filter((card) => area === 'all' || card.area === area), cardFields), [typed, area, cards])
  if (!cards || !prescribed) return <Waiting words="Reading the drill cards" />

  const chosen = hits.find(({ id }) => id === chosenId) ?? hits[0] ?? null
  const already = new Set(prescribed.map(({ cardId }) => cardId))
  const prescribe = (card: DrillCard): void => {
    if (already.has(card.id)) return
    const id = crypto.randomUUID()
    const filmBy = plan?.plan.filmBy ?? prescribed.find((one) => one.filmBy !== null)?.filmBy ?? dayAfter(isoDay(Date.now()), 14)
    const order = Math.max(-1, ...prescribed.map((one) => one.order)) + 1
    const given = { id, studentId: walkthrough.studentId, walkthroughId: walkthrough.id, cardId: card.id, dose: card.dose, note: '', filmBy, order }
    void steps.act(`Prescribed “${card.title}”`, () => desk.call('prescription.save', given), () => desk.call('prescription.remove', { id }))
  }
  const move = (event: KeyboardEvent): void => {
    const by = event.key === 'ArrowDown' ? 1 : event.key === 'ArrowUp' ? -1 : 0
    if (by && !event.altKey && chosen) {
      event.preventDefault()
      const next = hits[Math.min(Math.max(hits.indexOf(chosen) + by, 0), hits.length - 1)]!
      setChosen(next.id)
      list.current?.querySelector(`[data-card="${next.id}"]`)?.scrollIntoView({ block: 'nearest' })
    } else if (event.key === 'Enter' && chosen) {
      event.preventDefault()
      prescribe(chosen)
    }
  }
  return (
    <div className="drills-page">
      <section className="drills-find" aria-label="Drill cards">
        <div className="drills-search" onKeyDown={move}>
          <input type="search" role="combobox" aria-expanded="true" aria-controls="drill-hits" aria-activedescendant={chosen ? `drill-${chosen.id}` : undefined} aria-label="Find a drill" placeholder="Find a drill: elbow, steep, gate …" autoComplete="off" spellCheck={false} value={typed} onChange={(event) => { setTyped(event.target.value); setChosen(null) }} />
          <BareSelect aria-label="Part of the swing" value={area} choices={areaChoices} onChoose={(value) => { setArea(value); setChosen(null) }} />
        </div>
        <p className="quiet small" aria-live="polite">{hits.length === cards.length ? `${cards.length} cards` : `${hits.length} of ${cards.length} cards`}. Arrows choose, Enter prescribes.</p>
        <div className="drills-hits" id="drill-hits" role="listbox" aria-label="Cards found" ref={list} tabIndex={-1}>
          {hits.map((card) => (
            <div key={card.id} id={`drill-${card.id}`} data-card={card.id} role="option" aria-selected={card === chosen} className="drill-hit" onClick={() => setChosen(card.id)} onDoubleClick={() => prescribe(card)}>
              <span className="clip-text">{card.title}</span>
              <span className="quiet small">{already.has(card.id) ? 'prescribed' : card.origin === 'starter' ? areaTitles[card.area] : `${areaTitles[card.area]}, yours`}</span>
            </div>
          ))}
          {hits.length === 0 ? <p className="quiet">No card has these words. Write one of your own.</p> : null}
        </div>
        <Button onClick={() => setEditing('new')}>Write a card</Button>
      </section>
      {chosen ? <CardView card={chosen} student={student} isPrescribed={already.has(chosen.id)} onPrescribe={() => prescribe(chosen)} onEdit={() => setEditing(chosen)} /> : <section className="card-view" aria-label="Drill card" />}
      <Prescribed prescribed={prescribed as readonly Prescription[]} />
      {editing ? <CardEditor card={editing === 'new' ? null : editing} area={area === 'all' ? 'grip' : area} title={editing === 'new' ? typed : ''} onSaved={(id) => { setTyped(''); setChosen(id) }} onClose={() => setEditing(null)} /> : null}
    </div>
  )
}
