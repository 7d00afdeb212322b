import type { Sqlite } from '../database.ts'

/** Students, what they sent, clips with their frame indexes and marks, swings. Times are milliseconds since 1970. */
export function studentsAndClips(db: Sqlite): void {
  db.exec(`
    CREATE TABLE students (
      id TEXT PRIMARY KEY,
      name TEXT NOT NULL,
      handedness TEXT NOT NULL CHECK (handedness IN ('right', 'left')),
      statureM REAL,
      clubs TEXT NOT NULL CHECK (json_valid(clubs)),
      goals TEXT NOT NULL,
      ballFlight TEXT NOT NULL,
      injuries TEXT NOT NULL,
      minor INTEGER NOT NULL CHECK (minor IN (0, 1)),
      consent TEXT NOT NULL CHECK (json_valid(consent)),
      createdAt INTEGER NOT NULL
    ) STRICT;

    CREATE TABLE deliveries (
      id TEXT PRIMARY KEY,
      studentId TEXT REFERENCES students (id) ON DELETE CASCADE,
      question TEXT NOT NULL,
      feel TEXT NOT NULL,
      receivedAt INTEGER NOT NULL,
      pair TEXT NOT NULL CHECK (pair IN ('one-swing', 'two-swings', 'none')),
      paired INTEGER NOT NULL DEFAULT 0 CHECK (paired IN (0, 1))
    ) STRICT;
    CREATE INDEX deliveriesOfStudent ON deliveries (studentId);

    CREATE TABLE swings (
      id TEXT PRIMARY KEY,
      studentId TEXT REFERENCES students (id) ON DELETE CASCADE,
      deliveryId TEXT REFERENCES deliveries (id) ON DELETE SET NULL,
      title TEXT NOT NULL,
      leftClipId TEXT REFERENCES clips (id) ON DELETE SET NULL,
      rightClipId TEXT REFERENCES clips (id) ON DELETE SET NULL,
      pairing TEXT NOT NULL CHECK (pairing IN ('one-swing', 'two-swings')),
      tieLeft REAL,
      tieRight REAL,
      createdAt INTEGER NOT NULL,
      CHECK ((tieLeft IS NULL) = (tieRight IS NULL))
    ) STRICT;
    CREATE INDEX swingsOfStudent ON swings (studentId);

    CREATE TABLE originals (
      hash TEXT PRIMARY KEY CHECK (length(hash) = 64),
      bytes INTEGER NOT NULL,
      addedAt INTEGER NOT NULL
    ) STRICT;

    CREATE TABLE clips (
      id TEXT PRIMARY KEY,
      studentId TEXT REFERENCES students (id) ON DELETE CASCADE,
      swingId TEXT REFERENCES swings (id) ON DELETE SET NULL,
      deliveryId TEXT REFERENCES deliveries (id) ON DELETE SET NULL,
      view TEXT NOT NULL CHECK (view IN ('face-on', 'down-the-line', 'other')),
      club TEXT NOT NULL,
      handedness TEXT NOT NULL CHECK (handedness IN ('right', 'left')),
      fileName TEXT NOT NULL,
      hash TEXT NOT NULL REFERENCES originals (hash),
      width INTEGER NOT NULL,
      height INTEGER NOT NULL,
      captureRate REAL NOT NULL CHECK (captureRate > 0),
      captureRateBasis TEXT NOT NULL CHECK (captureRateBasis IN ('tag', 'file', 'coach')),
      playRate REAL NOT NULL CHECK (playRate > 0),
      hasSound INTEGER NOT NULL CHECK (hasSound IN (0, 1)),
      hdr INTEGER NOT NULL CHECK (hdr IN (0, 1)),
      codec TEXT NOT NULL,
      reviewWidth INTEGER NOT NULL,
      reviewHeight INTEGER NOT NULL,
      takenInAt INTEGER NOT NULL,
      filmedAt INTEGER,
      note TEXT NOT NULL
    ) STRICT;
    CREATE UNIQUE INDEX clipsByHash ON clips (hash);
    CREATE INDEX clipsOfStudent ON clips (studentId);
    CREATE INDEX clipsOfDelivery ON clips (deliveryId);

    -- ticks: the shown frames; media: what leads from a frame back into the original file.
    CREATE TABLE frameIndexes (
      clipId TEXT PRIMARY KEY REFERENCES clips (id) ON DELETE CASCADE,
      timescale INTEGER NOT NULL,
      ticks TEXT NOT NULL CHECK (json_valid(ticks)),
      frameCount INTEGER NOT NULL,
      endTick INTEGER NOT NULL,
      media TEXT NOT NULL CHECK (json_valid(media))
    ) STRICT;

    CREATE TABLE marks (
      id TEXT PRIMARY KEY,
      clipId TEXT NOT NULL REFERENCES clips (id) ON DELETE CASCADE,
      record TEXT NOT NULL CHECK (json_valid(record))
    ) STRICT;
    CREATE INDEX marksOfClip ON marks (clipId);
  `)
}
