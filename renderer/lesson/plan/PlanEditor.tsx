import { useState } from 'react'
import { planNames, type PlanRecord } from '../../../shared/contract/plan.ts'
import { viewNames } from '../../../shared/contract/pointsFile.ts'
import { firstName } from '../../../shared/plan/words.ts'
import { useAsked, type Part } from '../../ui/asked.ts'
import { goTo } from '../../ui/appStore.ts'
import { Button } from '../../ui/Button.tsx'
import { useDesk, useLibrary } from '../../ui/desk.tsx'
import { Waiting } from '../../ui/EmptyState.tsx'
import { BareSelect, Check, Choices, Warning } from '../../ui/Field.tsx'
import { PhraseField } from '../../ui/PhraseField.tsx'
import { dayWords, viewWords } from '../../ui/words.ts'
import { useWalkthroughs } from '../../ui/useRecords.ts'
import { useLessonWork } from '../lessonWork.tsx'
import { HeadingFields } from './HeadingFields.tsx'
import { PackDialog } from './PackDialog.tsx'
import { PlanPreview } from './PlanPreview.tsx'
import './plan.css'

const parts: readonly Part[] = ['plans', 'findings', 'prescriptions', 'settings', 'students', 'digitising', 'clips', 'swings', 'lessons', 'shelf']

/** The one page the student gets: what the coach says on it, and the page itself as it will be sent. */
export function PlanEditor() {
  const desk = useDesk()
  const { walkthrough, student, steps } = useLessonWork()
  const { answer } = useAsked('plan.get', { walkthroughId: walkthrough.id }, parts)
  const [packing, setPacking] = useState(false)
  const [heading, setHeading] = useState(false)
  if (!answer) return <Waiting words="Putting the plan together" />
  const { plan, gaps, barred, advice } = answer
  const save = (patch: Partial<PlanRecord>, words: string): void => {
    void steps.act(words, () => desk.call('plan.save', { ...plan, ...patch }), () => desk.call('plan.save', plan))
  }
  const file = (ending: 'pdf' | 'html') => desk.mediaUrl(`plan/${walkthrough.id}.${ending}`)
  const name = student?.name ?? ''
  const names = planNames.map((value) => ({ value, words: value === 'none' ? 'Not at all' : value === 'first-name' ? firstName(name) || 'First name' : name || 'Full name' })).filter(({ value, words }, i, all) => value === 'none' || all.findIndex((one) => one.words === words) === i)
  return (
    <div className="plan-page">
      <section className="plan-form fields" aria-label="What the plan says">
        <StartFrom />
        <PhraseField label="The one thing to change" kind="cause" most={400} value={plan.cause} hint="Empty: the words of the finding that is the cause." onCommit={(cause) => save({ cause }, 'Changed the cause’s sentence')} />
        <PhraseField label="How it makes what follows" kind="because" value={plan.because} onCommit={(because) => save({ because }, 'Changed how the cause works')} />
        <fieldset className="choices">
          <legend>Film next</legend>
          <div className="choices-row">
            {viewNames.map((view) => <Check key={view} label={viewWords[view]} checked={plan.filmViews.includes(view)} onCheck={(on) => save({ filmViews: viewNames.filter((each) => (each === view ? on : plan.filmViews.includes(each))) }, 'Changed what to film next')} />)}
          </div>
        </fieldset>
        <PhraseField label="How to film it" kind="film" value={plan.filmWords} hint={`Empty: ${advice.filter(({ view }) => plan.filmViews.includes(view)).map(({ sentences }) => sentences[0]).join(' ') || 'choose a view above.'}`} onCommit={(filmWords) => save({ filmWords }, 'Changed how to film')} />
        <label className="field">
          <span className="quiet small">Next film by</span>
          <input type="date" value={plan.filmBy ?? ''} onChange={(event) => save({ filmBy: event.target.value || null }, 'Changed the day of the next film')} />
          <span className="field-hint">Empty: the first day that a drill asks for.</span>
        </label>
        <Choices label="The student is named" choices={names} value={names.some(({ value }) => value === plan.named) ? plan.named : 'first-name'} onChoose={(named) => save({ named }, 'Changed how the student is named')} />
        <Button onClick={() => setHeading(true)}>Your heading and paper</Button>
      </section>
      <section className="plan-side" aria-label="The plan as the student gets it">
        <div className="plan-acts">
          {barred === null ? (
            <>
              <a className="button button-normal" href={file('pdf')} download="Practice plan.pdf">Save as PDF</a>
              <a className="button button-normal" href={file('html')} download="Practice plan.html">Save as a page</a>
            </>
          ) : null}
          <Button look="primary" disabled={barred !== null} onClick={() => setPacking(true)}>Hand over everything</Button>
        </div>
        {barred === null ? null : (
          <div className="lesson-gap" role="alert">
            <p><Warning /> {barred}</p>
            <Button onClick={() => goTo('arrivals')}>Go to the student</Button>
          </div>
        )}
        {gaps.length > 0 ? <ul className="plan-gaps quiet" aria-label="Still lacking">{gaps.map((gap) => <li key={gap}>{gap}</li>)}</ul> : null}
        <PlanPreview walkthroughId={walkthrough.id} answer={answer} />
      </section>
      {packing ? <PackDialog onClose={() => setPacking(false)} /> : null}
      {heading ? <HeadingFields onClose={() => setHeading(false)} /> : null}
    </div>
  )
}

/** Sentences and drills of an earlier lesson, taken over. */
function StartFrom() {
  const desk = useDesk()
  const { walkthrough, steps } = useLessonWork()
  const own = useWalkthroughs({ text: '', studentId: walkthrough.studentId, limit: 60 })
  const newest = useWalkthroughs({ text: '', limit: 60 })
  const students = useLibrary((library) => library.students)
  // The same student's first.
  const others = [...new Map([...(own?.items ?? []), ...(newest?.items ?? [])].map((one) => [one.id, one])).values()].filter(({ id }) => id !== walkthrough.id)
  const [from, setFrom] = useState('')
  if (others.length === 0) return null
  const start = async (): Promise<void> => {
    const asked = { walkthroughId: walkthrough.id }
    const [{ plan }, drills] = await Promise.all([desk.call('plan.get', asked), desk.call('prescription.list', asked)])
    const had = new Set(drills.map(({ id }) => id))
    await steps.act('Started from an earlier lesson', () => desk.call('plan.startFrom', { ...asked, from }), async () => {
      await desk.call('plan.save', plan)
      for (const { id } of await desk.call('prescription.list', asked)) if (!had.has(id)) await desk.call('prescription.remove', { id })
    })
    setFrom('')
  }
  return (
    <div className="field">
      <span className="quiet small">Start from an earlier lesson</span>
      <div className="start-from">
        <BareSelect aria-label="Start from an earlier lesson" value={from} choices={[{ value: '', words: 'Choose' }, ...others.map((one) => ({ value: one.id, words: [one.title, students.find(({ id }) => id === one.studentId)?.name, dayWords(one.createdAt)].filter(Boolean).join(', ') }))]} onChoose={setFrom} />
        <Button disabled={from === ''} onClick={() => void start()}>Take over</Button>
      </div>
      <span className="field-hint">Its sentences and drills; what stands here already stays.</span>
    </div>
  )
}
