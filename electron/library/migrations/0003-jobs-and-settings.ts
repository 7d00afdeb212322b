import type { Sqlite } from '../database.ts'

/** Long work that outlives a window, and the coach's own settings. */
export function jobsAndSettings(db: Sqlite): void {
  db.exec(`
    CREATE TABLE jobs (
      place INTEGER PRIMARY KEY AUTOINCREMENT,
      id TEXT NOT NULL UNIQUE,
      kind TEXT NOT NULL CHECK (kind IN ('take-in', 'handoff', 'demo')),
      title TEXT NOT NULL,
      state TEXT NOT NULL CHECK (state IN ('waiting', 'running', 'done', 'failed', 'cancelled')),
      step TEXT NOT NULL,
      result TEXT,
      fault TEXT CHECK (fault IS NULL OR json_valid(fault)),
      payload TEXT NOT NULL CHECK (json_valid(payload)),
      deliveryId TEXT REFERENCES deliveries (id) ON DELETE CASCADE,
      walkthroughId TEXT REFERENCES walkthroughs (id) ON DELETE CASCADE,
      createdAt INTEGER NOT NULL
    ) STRICT;
    CREATE INDEX jobsByState ON jobs (state, place);

    CREATE TABLE settings (
      name TEXT PRIMARY KEY,
      value TEXT NOT NULL CHECK (json_valid(value))
    ) STRICT, WITHOUT ROWID;
  `)
}
