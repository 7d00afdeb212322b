import { consentGap } from '../../shared/contract/student.ts'
import { useLibrary, useNow } from '../ui/desk.tsx'
import { Warning } from '../ui/Field.tsx'
import { useClips, useDelivery } from '../ui/useRecords.ts'
import { isoDay } from '../ui/words.ts'
import { useBench, useRenderCount } from './benchContext.tsx'

/** Whose swing is on the panes, and what they asked and felt: the lesson answers it, so it stays in sight. */
export function About() {
  useRenderCount()
  const clipIds = useBench((state) => state.clipIds)
  const open = useClips(clipIds)
  const students = useLibrary((library) => library.students)
  const today = isoDay(useNow())
  const [first] = open
  const delivery = useDelivery(first?.deliveryId ?? null)
  if (!first) return null
  const student = students.find(({ id }) => id === first.studentId) ?? null
  const beside = open.find(({ studentId }) => studentId !== first.studentId)
  const besideName = beside ? students.find(({ id }) => id === beside.studentId)?.name ?? 'no student yet' : null
  const gap = student ? consentGap(student, today) : null
  return (
    <section className="about" aria-label="Student">
      <h2>{student?.name ?? 'No student yet'}{besideName ? <span className="quiet"> beside {besideName}</span> : null}</h2>
      {delivery && (delivery.question || delivery.feel) ? (
        <dl tabIndex={0} aria-label="What came with the clips">
          {delivery.question ? <><dt>Asks</dt><dd>{delivery.question}</dd></> : null}
          {delivery.feel ? <><dt>Feels</dt><dd>{delivery.feel}</dd></> : null}
        </dl>
      ) : null}
      {gap ? <p className="warned"><Warning /> {gap}</p> : null}
    </section>
  )
}
