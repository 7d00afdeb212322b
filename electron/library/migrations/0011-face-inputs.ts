import type { Sqlite } from '../database.ts'

/** What the coach says of face, path and timing of a swing is kept with its clips, for as long as they are there. */
export function faceInputs(db: Sqlite): void {
  db.exec(`
    CREATE TABLE faceInputs (
      clipId TEXT PRIMARY KEY REFERENCES clips (id) ON DELETE CASCADE,
      record TEXT NOT NULL CHECK (json_valid(record)),
      keptAt INTEGER NOT NULL
    ) STRICT, WITHOUT ROWID;
  `)
}
