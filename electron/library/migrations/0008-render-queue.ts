import type { Sqlite } from '../database.ts'

/**
 * Work has a turn that the coach can change (a new one's is found from the day it is promised for), is tried again by itself
 * after a while where that may help, and lessons have captions.
 */
export function renderQueue(db: Sqlite): void {
  db.exec(`
    ALTER TABLE jobs ADD COLUMN promisedOn TEXT;
    ALTER TABLE jobs ADD COLUMN turn REAL NOT NULL DEFAULT 0;
    ALTER TABLE jobs ADD COLUMN tries INTEGER NOT NULL DEFAULT 0 CHECK (tries >= 0);
    ALTER TABLE jobs ADD COLUMN retryAt INTEGER;
    UPDATE jobs SET turn = place;

    CREATE TABLE captions (
      walkthroughId TEXT PRIMARY KEY REFERENCES walkthroughs (id) ON DELETE CASCADE,
      record TEXT NOT NULL CHECK (json_valid(record))
    ) STRICT, WITHOUT ROWID;
  `)
}
