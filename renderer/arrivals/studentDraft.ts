import type { Student } from '../../shared/contract/student.ts'

export type StudentDraft = Omit<Student, 'id' | 'createdAt'>

export const blankStudent: StudentDraft = {
  name: '', handedness: 'right', statureM: null, clubs: [], goals: '', ballFlight: '', injuries: '', minor: false,
  consent: { student: { given: false, on: null }, guardian: { given: false, name: '', on: null }, purpose: '', until: null },
}
