import type { Sqlite } from '../database.ts'

/**
 * The Shelf: what the coach notes of each clip beside what it is (favourite, reference, what it may be used for, tags,
 * collections), and an index over it all, kept in step by triggers.
 *
 * A unit on the Shelf is a swing with the one or two clips that belong to it, or a clip that belongs to none; its `key` is the
 * swing's or the clip's id. `shelf` has one row a unit. Its id is the unit's time in milliseconds times 1024, plus a number that
 * makes it unique: rows lie in order of time, so that the newest come first, and a span of dates is a span of ids, without any
 * sorting. `shelfText` finds words in those rows; yes-or-no facts are words of the column `flags`, so that one look-up answers all.
 *
 * Writing a key into the view `shelfAgain` makes that unit's row anew where it is not as it should be; every trigger below does just that.
 * The index keeps deleted words until its parts are merged: whoever removes what must not live on has to have it merged (removal.ts).
 */
export function shelf(db: Sqlite): void {
  db.exec(`
    -- Kinds of work come with later layouts; the program knows them, so the table need not.
    CREATE TABLE jobsNow (
      place INTEGER PRIMARY KEY AUTOINCREMENT,
      id TEXT NOT NULL UNIQUE,
      kind TEXT NOT NULL,
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
    INSERT INTO jobsNow SELECT * FROM jobs;
    DROP TABLE jobs;
    ALTER TABLE jobsNow RENAME TO jobs;
    CREATE INDEX jobsByState ON jobs (state, place);

    -- A clip without a row here is no favourite, no reference, and nothing was said about sending it.
    CREATE TABLE clipNotes (
      clipId TEXT PRIMARY KEY REFERENCES clips (id) ON DELETE CASCADE,
      favourite INTEGER NOT NULL DEFAULT 0 CHECK (favourite IN (0, 1)),
      reference INTEGER NOT NULL DEFAULT 0 CHECK (reference IN (0, 1)),
      permission TEXT NOT NULL DEFAULT 'not-said' CHECK (permission IN ('not-said', 'lessons-only', 'may-be-sent')),
      source TEXT NOT NULL DEFAULT '',
      licence TEXT NOT NULL DEFAULT ''
    ) STRICT, WITHOUT ROWID;

    CREATE TABLE clipTags (
      clipId TEXT NOT NULL REFERENCES clips (id) ON DELETE CASCADE,
      tag TEXT NOT NULL COLLATE NOCASE CHECK (tag <> ''),
      PRIMARY KEY (clipId, tag)
    ) STRICT, WITHOUT ROWID;
    CREATE INDEX clipsByTag ON clipTags (tag);

    CREATE TABLE collections (
      id TEXT PRIMARY KEY,
      name TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (name <> ''),
      createdAt INTEGER NOT NULL
    ) STRICT;
    CREATE TABLE collectionClips (
      collectionId TEXT NOT NULL REFERENCES collections (id) ON DELETE CASCADE,
      clipId TEXT NOT NULL REFERENCES clips (id) ON DELETE CASCADE,
      PRIMARY KEY (collectionId, clipId)
    ) STRICT, WITHOUT ROWID;
    CREATE INDEX collectionsOfClip ON collectionClips (clipId);

    CREATE INDEX clipsOfSwing ON clips (swingId);
    CREATE INDEX clipsByClub ON clips (club);
    CREATE INDEX swingsByLeft ON swings (leftClipId);
    CREATE INDEX swingsByRight ON swings (rightClipId);

    CREATE TABLE shelf (
      id INTEGER PRIMARY KEY,
      key TEXT NOT NULL UNIQUE,
      swingId TEXT,
      firstClipId TEXT NOT NULL,
      secondClipId TEXT,
      student TEXT NOT NULL,
      club TEXT NOT NULL,
      view TEXT NOT NULL,
      tags TEXT NOT NULL,
      notes TEXT NOT NULL,
      words TEXT NOT NULL,
      source TEXT NOT NULL,
      day TEXT NOT NULL,
      flags TEXT NOT NULL
    ) STRICT;

    CREATE VIRTUAL TABLE shelfText USING fts5 (
      student, club, view, tags, notes, words, source, day, flags,
      content = 'shelf', content_rowid = 'id', tokenize = 'unicode61 remove_diacritics 2', prefix = '1 2 3'
    );
    CREATE VIRTUAL TABLE shelfWords USING fts5vocab ('shelfText', 'row');

    CREATE TRIGGER shelfRowIn AFTER INSERT ON shelf BEGIN
      INSERT INTO shelfText (rowid, student, club, view, tags, notes, words, source, day, flags)
      VALUES (new.id, new.student, new.club, new.view, new.tags, new.notes, new.words, new.source, new.day, new.flags);
    END;
    CREATE TRIGGER shelfRowOut AFTER DELETE ON shelf BEGIN
      INSERT INTO shelfText (shelfText, rowid, student, club, view, tags, notes, words, source, day, flags)
      VALUES ('delete', old.id, old.student, old.club, old.view, old.tags, old.notes, old.words, old.source, old.day, old.flags);
    END;

    -- Which clips stand on the Shelf together.
    CREATE VIEW shelfUnits AS
      SELECT c.id AS key, NULL AS swingId, c.id AS firstClipId, NULL AS secondClipId
      FROM clips c
      WHERE NOT EXISTS (SELECT 1 FROM swings s WHERE s.id = c.swingId AND c.id IN (s.leftClipId, s.rightClipId))
      UNION ALL
      SELECT s.id, s.id, coalesce(l.id, r.id), CASE WHEN l.id <> r.id THEN r.id END
      FROM swings s
        LEFT JOIN clips l ON l.id = s.leftClipId AND l.swingId = s.id
        LEFT JOIN clips r ON r.id = s.rightClipId AND r.swingId = s.id
      WHERE coalesce(l.id, r.id) IS NOT NULL;

    -- What is to be found of them. U+E000 parts tags, so that no phrase reaches from one into the next.
    CREATE VIEW shelfNow AS
      SELECT u.key, u.swingId, u.firstClipId, u.secondClipId,
        coalesce(a.filmedAt, a.takenInAt) AS date,
        coalesce(st.name, '') AS student,
        CASE WHEN b.club IS NULL OR b.club = a.club THEN a.club ELSE concat_ws(', ', a.club, b.club) END AS club,
        concat_ws(' ', CASE a.view WHEN 'down-the-line' THEN 'down the line dtl' WHEN 'face-on' THEN 'face on faceon' ELSE a.view END,
          CASE WHEN b.view = a.view THEN NULL WHEN b.view = 'down-the-line' THEN 'down the line dtl' WHEN b.view = 'face-on' THEN 'face on faceon' ELSE b.view END) AS view,
        coalesce((SELECT group_concat(tag, ' ' || char(0xE000) || ' ') FROM (SELECT tag FROM clipTags WHERE clipId IN (a.id, b.id) GROUP BY tag ORDER BY tag)), '') AS tags,
        concat_ws(char(10), s.title, a.note, b.note) AS notes,
        concat_ws(char(10), d.question, d.feel) AS words,
        concat_ws(char(10), a.fileName, b.fileName, n.source, n.licence) AS source,
        concat_ws(' ', strftime('%Y-%m-%d', coalesce(a.filmedAt, a.takenInAt) / 1000, 'unixepoch', 'localtime'),
          substr('January  February March    April    May      June     July     August   SeptemberOctober  November December ',
            9 * (CAST(strftime('%m', coalesce(a.filmedAt, a.takenInAt) / 1000, 'unixepoch', 'localtime') AS INTEGER) - 1) + 1, 9)) AS day,
        concat_ws(' ', 'every',
          CASE WHEN n.favourite = 1 OR m.favourite = 1 THEN 'favourite' END,
          CASE WHEN n.reference = 1 OR m.reference = 1 THEN 'reference' END,
          CASE WHEN 'lessons-only' IN (n.permission, m.permission) THEN 'lessonsonly'
            WHEN n.permission = 'may-be-sent' AND (b.id IS NULL OR m.permission = 'may-be-sent') THEN 'maybesent' ELSE 'notsaid' END,
          a.handedness || 'handed', CASE WHEN b.id IS NOT NULL THEN 'pair' END,
          (SELECT group_concat('k' || replace(collectionId, '-', ''), ' ') FROM (SELECT DISTINCT collectionId FROM collectionClips WHERE clipId IN (a.id, b.id)))) AS flags
      FROM shelfUnits u
        JOIN clips a ON a.id = u.firstClipId
        LEFT JOIN clips b ON b.id = u.secondClipId
        LEFT JOIN students st ON st.id = a.studentId
        LEFT JOIN swings s ON s.id = u.swingId
        LEFT JOIN deliveries d ON d.id = a.deliveryId
        LEFT JOIN clipNotes n ON n.clipId = a.id
        LEFT JOIN clipNotes m ON m.clipId = b.id;

    CREATE VIEW shelfAgain AS SELECT NULL AS key;
    CREATE TRIGGER shelfMadeAgain INSTEAD OF INSERT ON shelfAgain WHEN new.key IS NOT NULL BEGIN
      DELETE FROM shelf WHERE key = new.key AND NOT EXISTS (
        SELECT 1 FROM shelfNow n WHERE n.key = new.key AND n.date = shelf.id / 1024 AND n.swingId IS shelf.swingId
          AND n.firstClipId = shelf.firstClipId AND n.secondClipId IS shelf.secondClipId AND n.student = shelf.student AND n.club = shelf.club
          AND n.view = shelf.view AND n.tags = shelf.tags AND n.notes = shelf.notes AND n.words = shelf.words AND n.source = shelf.source
          AND n.day = shelf.day AND n.flags = shelf.flags);
      INSERT INTO shelf (id, key, swingId, firstClipId, secondClipId, student, club, view, tags, notes, words, source, day, flags)
      SELECT
        CASE WHEN NOT EXISTS (SELECT 1 FROM shelf WHERE id = date * 1024) THEN date * 1024
          ELSE (SELECT taken.id + 1 FROM shelf taken WHERE taken.id >= date * 1024
            AND NOT EXISTS (SELECT 1 FROM shelf next WHERE next.id = taken.id + 1) ORDER BY taken.id LIMIT 1) END,
        key, swingId, firstClipId, secondClipId, student, club, view, tags, notes, words, source, day, flags
      FROM shelfNow WHERE key = new.key AND NOT EXISTS (SELECT 1 FROM shelf WHERE key = new.key);
    END;
  `)

  const clipOf = (row: string): string => `SELECT id FROM clips WHERE id = ${row}.clipId UNION SELECT swingId FROM clips WHERE id = ${row}.clipId`
  const trigger = (name: string, on: string, ...keys: readonly string[]): void => {
    db.exec(`CREATE TRIGGER ${name} AFTER ${on} BEGIN ${keys.map((key) => `INSERT INTO shelfAgain (key) ${key};`).join(' ')} END`)
  }

  const clipFacts = 'studentId, swingId, deliveryId, view, club, handedness, fileName, takenInAt, filmedAt, note'
  trigger('shelfClipIn', 'INSERT ON clips', 'VALUES (new.id), (new.swingId)')
  trigger('shelfClipOut', 'DELETE ON clips', 'VALUES (old.id), (old.swingId)')
  trigger('shelfClipChanged', `UPDATE OF ${clipFacts} ON clips`, 'VALUES (new.id), (new.swingId)', 'SELECT old.swingId WHERE old.swingId IS NOT new.swingId')
  const swingKeys = (row: string): string => `VALUES (${row}.id), (${row}.leftClipId), (${row}.rightClipId)`
  trigger('shelfSwingIn', 'INSERT ON swings', swingKeys('new'))
  trigger('shelfSwingOut', 'DELETE ON swings', swingKeys('old'))
  trigger('shelfSwingChanged', 'UPDATE OF title, leftClipId, rightClipId ON swings', swingKeys('new'), 'VALUES (old.leftClipId), (old.rightClipId)')
  trigger('shelfStudentRenamed', 'UPDATE OF name ON students WHEN old.name <> new.name', 'SELECT DISTINCT coalesce(swingId, id) FROM clips WHERE studentId = new.id', 'SELECT id FROM clips WHERE studentId = new.id AND swingId IS NOT NULL')
  trigger('shelfWordsChanged', 'UPDATE OF question, feel ON deliveries', 'SELECT id FROM clips WHERE deliveryId = new.id UNION SELECT swingId FROM clips WHERE deliveryId = new.id')
  for (const table of ['clipNotes', 'clipTags', 'collectionClips']) {
    const what = table[0]!.toUpperCase() + table.slice(1)
    trigger(`shelf${what}In`, `INSERT ON ${table}`, clipOf('new'))
    trigger(`shelf${what}Out`, `DELETE ON ${table}`, clipOf('old'))
    trigger(`shelf${what}Changed`, `UPDATE ON ${table}`, clipOf('new'))
  }

  const add = db.prepare('INSERT INTO shelfAgain (key) VALUES (?)')
  for (const { key } of db.prepare<[], { key: string }>('SELECT key FROM shelfUnits').all()) add.run(key)
}
