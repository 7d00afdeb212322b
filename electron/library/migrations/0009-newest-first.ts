import type { Sqlite } from '../database.ts'

/** Ways to the newest of each list and to the groups of what came in, so that a page is read without the rest. */
export function newestFirst(db: Sqlite): void {
  db.exec(`
    CREATE INDEX clipsByTime ON clips (takenInAt);
    CREATE INDEX clipsByArrival ON clips (studentId, deliveryId, takenInAt);
    CREATE INDEX swingsByTime ON swings (createdAt);
    CREATE INDEX walkthroughsByTime ON walkthroughs (createdAt);
    CREATE INDEX walkthroughsOfSwing ON walkthroughs (swingId);
  `)
}
