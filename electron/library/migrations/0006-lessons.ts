import type { Sqlite } from '../database.ts'

/**
 * Lessons: a walkthrough with what was edited of it. A lesson has its first recording's id; one without a row here was never
 * edited and is that recording as it is. `lessonTakes` names the other recordings it has to do with: its own ones (recorded to
 * be put into it; `place` says where, in samples) and those of other lessons that it shows parts of.
 * `editSteps` is the way from the untouched recording to the newest edit, step by step; `step` is how many of them are done.
 */
export function lessons(db: Sqlite): void {
  db.exec(`
    CREATE TABLE lessons (
      id TEXT PRIMARY KEY REFERENCES walkthroughs (id) ON DELETE CASCADE,
      edits TEXT NOT NULL CHECK (json_valid(edits)),
      step INTEGER NOT NULL CHECK (step >= 0),
      version INTEGER NOT NULL CHECK (version >= 0)
    ) STRICT;

    CREATE TABLE editSteps (
      lessonId TEXT NOT NULL REFERENCES lessons (id) ON DELETE CASCADE,
      number INTEGER NOT NULL CHECK (number > 0),
      name TEXT NOT NULL,
      change TEXT NOT NULL CHECK (json_valid(change)),
      madeAt INTEGER NOT NULL,
      PRIMARY KEY (lessonId, number)
    ) STRICT, WITHOUT ROWID;

    CREATE TABLE lessonTakes (
      lessonId TEXT NOT NULL REFERENCES walkthroughs (id) ON DELETE CASCADE,
      takeId TEXT NOT NULL REFERENCES walkthroughs (id) ON DELETE CASCADE,
      own INTEGER NOT NULL CHECK (own IN (0, 1)),
      place TEXT CHECK (place IS NULL OR json_valid(place)),
      PRIMARY KEY (lessonId, takeId)
    ) STRICT, WITHOUT ROWID;
    CREATE INDEX lessonsOfTake ON lessonTakes (takeId, own);
    CREATE UNIQUE INDEX oneOwnerOfTake ON lessonTakes (takeId) WHERE own = 1;
  `)
}
