import { useMemo } from 'react'
import { Button } from '../ui/Button.tsx'
import { useLibrary, useNow } from '../ui/desk.tsx'
import { Warning } from '../ui/Field.tsx'
import { isoDay, waited } from '../ui/words.ts'
import { gapOf, studentsInOrder } from './groups.ts'
import { chooseStudent, openSheet, useArrivals } from './roomStore.ts'

/** Everybody the coach teaches, the longest wait on top. Choosing one shows only theirs. */
export function StudentsColumn() {
  const library = useLibrary((state) => state)
  const studentId = useArrivals((state) => state.filter.studentId)
  const now = useNow()
  const list = useMemo(() => (library.loaded ? studentsInOrder(library) : []), [library])
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
