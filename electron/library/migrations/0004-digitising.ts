import type { Sqlite } from '../database.ts'

/** Points, positions and guides placed on clips, and sets of marks under a name. */
export function digitising(db: Sqlite): void {
  db.exec(`
    CREATE TABLE digitised (
      id TEXT PRIMARY KEY,
      clipId TEXT NOT NULL REFERENCES clips (id) ON DELETE CASCADE,
      record TEXT NOT NULL CHECK (json_valid(record))
    ) STRICT;
    CREATE INDEX digitisedOfClip ON digitised (clipId);

    CREATE TABLE markSets (
      id TEXT PRIMARY KEY,
      name TEXT NOT NULL UNIQUE COLLATE NOCASE,
      record TEXT NOT NULL CHECK (json_valid(record))
    ) STRICT;
  `)
}
