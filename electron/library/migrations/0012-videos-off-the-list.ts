import type { Sqlite } from '../database.ts'

/** Finished videos that were taken off their lesson's list, and what became of the file; that they were handed over stays known. */
export function videosOffTheList(db: Sqlite): void {
  db.exec(`
    CREATE TABLE videosOffTheList (
      handoffId TEXT PRIMARY KEY REFERENCES handoffs (id) ON DELETE CASCADE,
      file TEXT NOT NULL CHECK (file IN ('kept', 'deleted'))
    ) STRICT, WITHOUT ROWID;
  `)
}
