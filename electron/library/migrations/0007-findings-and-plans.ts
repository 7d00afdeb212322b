import type { Sqlite } from '../database.ts'

/**
 * Findings, the coach's own drill cards, prescriptions, kept phrases, plans and what was put together for students.
 * A finding shows its clip and goes with it; a plan and what was made of it go with the walkthrough.
 */
export function findingsAndPlans(db: Sqlite): void {
  db.exec(`
    CREATE TABLE findings (
      id TEXT PRIMARY KEY,
      clipId TEXT NOT NULL REFERENCES clips (id) ON DELETE CASCADE,
      swingId TEXT REFERENCES swings (id) ON DELETE SET NULL,
      saw TEXT NOT NULL,
      record TEXT NOT NULL CHECK (json_valid(record)),
      shown INTEGER NOT NULL CHECK (shown IN (0, 1)),
      role TEXT NOT NULL CHECK (role IN ('cause', 'follows', 'aside')),
      place REAL NOT NULL,
      createdAt INTEGER NOT NULL
    ) STRICT;
    CREATE INDEX findingsOfClip ON findings (clipId);
    CREATE INDEX findingsOfSwing ON findings (swingId);

    -- A card with the id of a starter card stands in its place.
    CREATE TABLE drillCards (
      id TEXT PRIMARY KEY,
      clipId TEXT REFERENCES clips (id) ON DELETE SET NULL,
      record TEXT NOT NULL CHECK (json_valid(record)),
      createdAt INTEGER NOT NULL
    ) STRICT;

    CREATE TABLE prescriptions (
      id TEXT PRIMARY KEY,
      studentId TEXT REFERENCES students (id) ON DELETE CASCADE,
      walkthroughId TEXT REFERENCES walkthroughs (id) ON DELETE SET NULL,
      cardId TEXT NOT NULL,
      card TEXT NOT NULL CHECK (json_valid(card)),
      dose TEXT NOT NULL CHECK (json_valid(dose)),
      note TEXT NOT NULL,
      filmBy TEXT,
      place REAL NOT NULL,
      handedOverAt INTEGER,
      createdAt INTEGER NOT NULL
    ) STRICT;
    CREATE INDEX prescriptionsOfStudent ON prescriptions (studentId);
    CREATE INDEX prescriptionsOfWalkthrough ON prescriptions (walkthroughId);

    CREATE TABLE phrases (
      id TEXT PRIMARY KEY,
      kind TEXT NOT NULL CHECK (kind IN ('saw', 'cause', 'because', 'film', 'note')),
      text TEXT NOT NULL,
      createdAt INTEGER NOT NULL,
      UNIQUE (kind, text)
    ) STRICT;

    CREATE TABLE plans (
      walkthroughId TEXT PRIMARY KEY REFERENCES walkthroughs (id) ON DELETE CASCADE,
      record TEXT NOT NULL CHECK (json_valid(record))
    ) STRICT;

    -- clips: ids of all that its pictures and demonstrations show; it goes with any of them.
    CREATE TABLE packs (
      id TEXT PRIMARY KEY,
      walkthroughId TEXT NOT NULL REFERENCES walkthroughs (id) ON DELETE CASCADE,
      kind TEXT NOT NULL CHECK (kind IN ('folder', 'zip')),
      target TEXT NOT NULL,
      bytes INTEGER NOT NULL,
      files TEXT NOT NULL CHECK (json_valid(files)),
      clips TEXT NOT NULL CHECK (json_valid(clips)),
      createdAt INTEGER NOT NULL
    ) STRICT;
    CREATE INDEX packsOfWalkthrough ON packs (walkthroughId);
  `)
}
