import type { Sqlite } from '../database.ts'

/** Clips whose files show the world left for right. */
export function mirroredClips(db: Sqlite): void {
  db.exec(`
    CREATE TABLE mirroredClips (
      clipId TEXT PRIMARY KEY REFERENCES clips (id) ON DELETE CASCADE
    ) STRICT, WITHOUT ROWID;
  `)
}
