import type { Delivery, Student } from '../../shared/contract/student.ts'
import type { Batch } from '../../shared/contract/operations.ts'
import type { Sqlite } from './database.ts'
import { readRepeatability } from './repeatability.ts'
import { all, one, put, run } from './statement.ts'

type StudentRow = Omit<Student, 'clubs' | 'minor' | 'consent' | 'repeatability'> & { clubs: string; minor: number; consent: string; repeatability: string | null }

const columns = 's.*, r.record AS repeatability FROM students s LEFT JOIN repeatability r ON r.studentId = s.id'

const asStudent = (row: StudentRow): Student => ({
  ...row,
  clubs: JSON.parse(row.clubs) as Student['clubs'],
  minor: row.minor === 1,
  consent: JSON.parse(row.consent) as Student['consent'],
  repeatability: readRepeatability(row.repeatability),
})

export const listStudents = (db: Sqlite): Student[] =>
  all<StudentRow>(db, `SELECT ${columns} ORDER BY s.name COLLATE NOCASE, s.id`).map(asStudent)

export function getStudent(db: Sqlite, id: string): Student | null {
  const row = one<StudentRow>(db, `SELECT ${columns} WHERE s.id = ?`, id)
  return row ? asStudent(row) : null
}

/** Writes a student's record; how the swing repeats is kept apart and stays. */
export function saveStudent(db: Sqlite, student: Student): void {
  const { repeatability: _kept, ...record } = student
  put(db, 'students', { ...record, clubs: JSON.stringify(record.clubs), minor: record.minor ? 1 : 0, consent: JSON.stringify(record.consent) })
}

export type Pair = Batch['pair']
/** A delivery with what the batch asked about pairs. */
export interface DeliveryRow extends Delivery {
  readonly pair: Pair
  readonly paired: number
}

export const listDeliveries = (db: Sqlite): Delivery[] =>
  all<Delivery>(db, 'SELECT id, studentId, question, feel, receivedAt FROM deliveries ORDER BY receivedAt DESC, id')

/** Deliveries by id, in the same order; those that are not there are left out. */
export function someDeliveries(db: Sqlite, ids: readonly string[]): Delivery[] {
  const rows = all<Delivery>(db, 'SELECT id, studentId, question, feel, receivedAt FROM deliveries WHERE id IN (SELECT value FROM json_each(?))', JSON.stringify(ids))
  const found = new Map(rows.map((row) => [row.id, row]))
  return ids.flatMap((id) => found.get(id) ?? [])
}

export const getDelivery = (db: Sqlite, id: string): DeliveryRow | null =>
  one<DeliveryRow>(db, 'SELECT * FROM deliveries WHERE id = ?', id) ?? null

export const addDelivery = (db: Sqlite, delivery: Delivery, pair: Pair): void =>
  put(db, 'deliveries', { ...delivery, pair, paired: pair === 'none' ? 1 : 0 })

/** Changes what the coach may change of a delivery that is there. */
export const updateDelivery = (db: Sqlite, { id, studentId, question, feel, receivedAt }: Delivery): boolean =>
  run(
    db,
    'UPDATE deliveries SET studentId = ?, question = ?, feel = ?, receivedAt = ? WHERE id = ?',
    studentId,
    question,
    feel,
    receivedAt,
    id,
  ) === 1

export const setPaired = (db: Sqlite, id: string): number => run(db, 'UPDATE deliveries SET paired = 1 WHERE id = ?', id)
export const unpairedDeliveries = (db: Sqlite): DeliveryRow[] => all<DeliveryRow>(db, 'SELECT * FROM deliveries WHERE paired = 0')
