import { existsSync, readdirSync, statSync } from 'node:fs'
import { join } from 'node:path'
import type { Output } from '../../shared/contract/operations.ts'
import type { Layout } from './layout.ts'
import type { Sqlite } from './database.ts'
import { derivedFolder, dropFile, originalPath } from './mediaStore.ts'
import { filesOfPack } from './packFiles.ts'
import { listPacks, removePacksShowing } from './plans.ts'
import { all, count, run } from './statement.ts'

export type Removed = Output<'student.remove'>
/** What is counted, and the table that holds it. */
const counted = {
  students: 'students', clips: 'clips', swings: 'swings', marks: 'marks', points: 'digitised', findings: 'findings', prescriptions: 'prescriptions', plans: 'plans',
  walkthroughs: 'walkthroughs', lessons: 'lessons', handoffs: 'handoffs',
} as const
type Counts = Record<keyof typeof counted, number>
const countAll = (db: Sqlite): Counts => Object.fromEntries(Object.entries(counted).map(([what, table]) => [what, count(db, table)])) as Counts

interface HandoffFile {
  id: string
  target: string
  finished: number
  bytes: number | null
}

/**
 * Runs `remove` in one transaction and takes away the files that no row needs any more. A walkthrough that shows a clip
 * which goes must go too, and with it the videos made of it: their pictures are that clip's.
 * Answers with what went, files by their full path.
 */
function removing(db: Sqlite, layout: Layout, clipIds: readonly string[], remove: () => void): Removed {
  const files: string[] = []
  const before = countAll(db)
  const take = db.transaction(() => {
    const handoffs = all<HandoffFile>(db, 'SELECT id, target, finished, bytes FROM handoffs')
    const packs = listPacks(db)
    removePacksShowing(db, clipIds)
    const walkthroughs = all<{ id: string }>(db, 'SELECT id FROM walkthroughs').map((row) => row.id)
    run(
      db,
      'DELETE FROM walkthroughs WHERE id IN (SELECT walkthroughId FROM walkthroughClips WHERE clipId IN (SELECT value FROM json_each(?)))',
      JSON.stringify(clipIds),
    )
    remove()
    run(
      db,
      `DELETE FROM swings WHERE leftClipId IS NULL AND rightClipId IS NULL AND id IN (SELECT value FROM json_each(?))`,
      JSON.stringify(swingsBefore),
    )
    const unused = all<{ hash: string }>(db, 'SELECT hash FROM originals WHERE hash NOT IN (SELECT hash FROM clips)').map((row) => row.hash)
    for (const hash of unused) run(db, 'DELETE FROM originals WHERE hash = ?', hash)
    const left = new Set(all<{ id: string }>(db, 'SELECT id FROM handoffs').map((row) => row.id))
    const packsLeft = new Set(listPacks(db).map(({ id }) => id))
    const walkthroughsLeft = new Set(all<{ id: string }>(db, 'SELECT id FROM walkthroughs').map((row) => row.id))
    return {
      unused,
      packs: packs.filter(({ id }) => !packsLeft.has(id)),
      handoffs: handoffs.filter((handoff) => handoff.finished === 1 && !left.has(handoff.id)),
      walkthroughs: walkthroughs.filter((id) => !walkthroughsLeft.has(id)),
    }
  })
  const swingsBefore = all<{ id: string }>(
    db,
    'SELECT swings.id FROM swings JOIN json_each(?) ON value IN (leftClipId, rightClipId) GROUP BY swings.id',
    JSON.stringify(clipIds),
  ).map((row) => row.id)
  const gone = take.immediate()
  // The words of deleted rows stay in the Shelf's index until its parts are put together anew.
  run(db, `INSERT INTO shelfText (shelfText) VALUES ('optimize')`)
  // Deleted rows must not live on in the write-ahead log.
  db.pragma('wal_checkpoint(TRUNCATE)')
  const drop = (path: string) => {
    if (!existsSync(path)) return
    files.push(path)
    dropFile(path)
  }
  for (const hash of gone.unused) {
    drop(originalPath(layout, hash))
    const derived = derivedFolder(layout, hash)
    if (existsSync(derived)) for (const name of readdirSync(derived)) files.push(join(derived, name))
    dropFile(derived)
  }
  // What was drawn of a clip that stays may show one that went beside it; it is drawn anew without that when it is asked for.
  for (const { id, hash } of all<{ id: string; hash: string }>(
    db, `SELECT f.id, c.hash FROM findings f JOIN clips c ON c.id = f.clipId WHERE f.record ->> '$.picture.beside.clipId' IN (SELECT value FROM json_each(?))`, JSON.stringify(clipIds),
  )) {
    const folder = derivedFolder(layout, hash)
    if (existsSync(folder)) for (const name of readdirSync(folder)) if (name.startsWith(`finding-${id}-`)) drop(join(folder, name))
  }
  for (const id of gone.walkthroughs) {
    const folder = join(layout.walkthroughs, id)
    if (existsSync(folder)) for (const name of readdirSync(folder)) files.push(join(folder, name))
    dropFile(folder)
  }
  // A file of the same name that the coach has put there since is not ours to delete.
  for (const { target, bytes } of gone.handoffs) if (existsSync(target) && statSync(target).size === bytes) drop(target)
  // Parts of renders do not say whom they show; what of others goes with them is made again when it is needed.
  if ((gone.walkthroughs.length > 0 || gone.unused.length > 0) && existsSync(layout.segments)) for (const name of readdirSync(layout.segments)) drop(join(layout.segments, name))
  for (const pack of gone.packs) for (const path of filesOfPack(pack)) drop(path)
  const after = countAll(db)
  for (const what of Object.keys(counted) as (keyof Counts)[]) before[what] -= after[what]
  return { ...before, files }
}

const clipIdsWhere = (db: Sqlite, condition: string, value: string): string[] =>
  all<{ id: string }>(db, `SELECT id FROM clips WHERE ${condition}`, value).map((row) => row.id)

/** Everything of a student, and the database copies of earlier layouts, in which the student would live on. */
export function removeStudent(db: Sqlite, layout: Layout, id: string): Removed {
  const removed = removing(db, layout, clipIdsWhere(db, 'studentId = ?', id), () => run(db, 'DELETE FROM students WHERE id = ?', id))
  if (existsSync(layout.backups))
    for (const name of readdirSync(layout.backups)) {
      const path = join(layout.backups, name)
      dropFile(path)
      removed.files.push(path)
    }
  return removed
}

/** A clip, and the swings that are left without one. */
export const removeClip = (db: Sqlite, layout: Layout, id: string): Removed =>
  removing(db, layout, [id], () => run(db, 'DELETE FROM clips WHERE id = ?', id))

/** A swing; its clips stay. */
export const removeSwing = (db: Sqlite, layout: Layout, id: string): Removed =>
  removing(db, layout, [], () => run(db, 'DELETE FROM swings WHERE id = ?', id))

/** A lesson: its first recording and those that were made to be put into it. */
export const removeWalkthrough = (db: Sqlite, layout: Layout, id: string): Removed =>
  removing(db, layout, [], () => {
    run(db, 'DELETE FROM walkthroughs WHERE id IN (SELECT takeId FROM lessonTakes WHERE lessonId = ? AND own = 1)', id)
    run(db, 'DELETE FROM walkthroughs WHERE id = ?', id)
  })
