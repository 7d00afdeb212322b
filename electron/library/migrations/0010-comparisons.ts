import type { Sqlite } from '../database.ts'

/** What stood beside a clip last is kept with it, for as long as the clip and what stood beside it are there. */
export function comparisons(db: Sqlite): void {
  db.exec(`
    CREATE TABLE comparisons (
      clipId TEXT PRIMARY KEY REFERENCES clips (id) ON DELETE CASCADE,
      referenceClipId TEXT NOT NULL REFERENCES clips (id) ON DELETE CASCADE,
      record TEXT NOT NULL CHECK (json_valid(record)),
      keptAt INTEGER NOT NULL
    ) STRICT, WITHOUT ROWID;
    CREATE INDEX comparisonsByReference ON comparisons (referenceClipId);
  `)
}
