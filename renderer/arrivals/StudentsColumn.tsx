import { useMemo } from 'react'
import { useAsked } from '../ui/asked.ts'
import { Button } from '../ui/Button.tsx'
import { useLibrary, useNow } from '../ui/desk.tsx'
import { Warning } from '../ui/Field.tsx'
import { isoDay, waited } from '../ui/words.ts'
import { gapOf } from './groups.ts'
import { arrivalParts } from './pages.ts'
import { chooseStudent, openSheet, useArrivals } from './roomStore.ts'

/** Everybody the coach teaches, the longest wait on top. Choosing one shows only theirs. */
export function StudentsColumn() {
  const students = useLibrary((library) => library.students)
  const { answer } = useAsked('arrival.students', {}, arrivalParts)
  const studentId = useArrivals((state) => state.filter.studentId)
  const now = useNow()
  const list = useMemo(() => {
    const byId = new Map(students.map((student) => [student.id, student]))
    return (answer ?? []).flatMap(({ studentId: id, ...told }) => {
      const student = byId.get(id)
      return student ? [{ student, ...told }] : []
    })
  }, [answer, students])
  const waiting = list.filter((one) => one.waitsSince !== null).length
  return (
    <nav className="students" aria-label="Students">
      <header>
        <h2>Students</h2>
        <Button look="plain" onClick={() => openSheet({ kind: 'student', studentId: null })}>Add</Button>
      </header>
      <ul>
        <li>
          <button type="button" className="student" aria-pressed={studentId === null} onClick={() => chooseStudent(null)}>
            <span className="clip-text">Everyone</span>
            <span className="quiet">{waiting ? `${waiting} waiting` : ''}</span>
          </button>
        </li>
        {list.map(({ student, waitsSince, answered, clips }) => {
          const gap = gapOf(student, isoDay(now))
          return (
            <li key={student.id}>
              <button type="button" className="student" aria-pressed={studentId === student.id} onClick={() => chooseStudent(student.id)}>
                <span className="clip-text">{student.name}</span>
                <span className="quiet">{waitsSince === null ? (!clips ? 'no clips' : answered ? 'answered' : '') : waited(waitsSince, now)}</span>
                {gap ? <span className="student-gap"><Warning />Consent missing</span> : null}
              </button>
            </li>
          )
        })}
      </ul>
    </nav>
  )
}
