import type { Sqlite } from '../database.ts'

/** How far a student's swing comes back to the same place is kept with the student. */
export function repeatability(db: Sqlite): void {
  db.exec(`
    CREATE TABLE repeatability (
      studentId TEXT PRIMARY KEY REFERENCES students (id) ON DELETE CASCADE,
      record TEXT NOT NULL CHECK (json_valid(record))
    ) STRICT, WITHOUT ROWID;
  `)
}
