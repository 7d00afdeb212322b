import type { Sqlite } from '../database.ts'

/** Walkthroughs, which clips each shows, and what was handed off. The log and the sound are files. */
export function walkthroughs(db: Sqlite): void {
  db.exec(`
    CREATE TABLE walkthroughs (
      id TEXT PRIMARY KEY,
      swingId TEXT REFERENCES swings (id) ON DELETE SET NULL,
      studentId TEXT REFERENCES students (id) ON DELETE CASCADE,
      title TEXT NOT NULL,
      samples INTEGER NOT NULL CHECK (samples >= 0),
      sampleRate INTEGER NOT NULL CHECK (sampleRate > 0),
      state TEXT NOT NULL CHECK (state IN ('recording', 'whole', 'recovered')),
      createdAt INTEGER NOT NULL
    ) STRICT;
    CREATE INDEX walkthroughsOfStudent ON walkthroughs (studentId);

    CREATE TABLE walkthroughClips (
      walkthroughId TEXT NOT NULL REFERENCES walkthroughs (id) ON DELETE CASCADE,
      clipId TEXT NOT NULL REFERENCES clips (id) ON DELETE CASCADE,
      PRIMARY KEY (walkthroughId, clipId)
    ) STRICT, WITHOUT ROWID;
    CREATE INDEX walkthroughsOfClip ON walkthroughClips (clipId);

    CREATE TABLE handoffs (
      id TEXT PRIMARY KEY,
      walkthroughId TEXT NOT NULL REFERENCES walkthroughs (id) ON DELETE CASCADE,
      jobId TEXT NOT NULL,
      settings TEXT NOT NULL CHECK (json_valid(settings)),
      target TEXT NOT NULL,
      finished INTEGER NOT NULL DEFAULT 0 CHECK (finished IN (0, 1)),
      bytes INTEGER,
      createdAt INTEGER NOT NULL
    ) STRICT;
    CREATE INDEX handoffsOfWalkthrough ON handoffs (walkthroughId);
  `)
}
