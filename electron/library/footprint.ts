import type { Footprint } from '../../shared/contract/lists.ts'
import type { Sqlite } from './database.ts'
import { all, one } from './statement.ts'

/** So many names are told of each kind; a list that is longer is not read. */
const mostNames = 200

/** What would go with some clips. */
export const footprintOfClips = (db: Sqlite, ids: readonly string[]): Footprint => footprint(db, ids, null)

/** What would go with a student. */
export const footprintOfStudent = (db: Sqlite, id: string): Footprint =>
  footprint(db, all<{ id: string }>(db, 'SELECT id FROM clips WHERE studentId = ?', id).map((row) => row.id), id)

/** What is asked about: `wanted` holds the clips' ids, `who` the student's or null, and nothing equals null. */
const given = 'WITH wanted AS (SELECT value FROM json_each(?)), who (id) AS (SELECT ?)'
const theirs = 'studentId = (SELECT id FROM who)'

/** The same conditions as those by which `removal.ts` and the tables' own rules delete. */
function footprint(db: Sqlite, clipIds: readonly string[], studentId: string | null): Footprint {
  const clips = JSON.stringify(clipIds)
  const number = (what: string): number => one<{ n: number | null }>(db, `${given} SELECT ${what}`, clips, studentId)!.n ?? 0
  const count = (what: string): number => number(`count(*) AS n FROM ${what}`)
  const walkthroughs = all<{ id: string; title: string }>(db,
    `${given} SELECT id, title FROM walkthroughs WHERE ${theirs} OR id IN (SELECT walkthroughId FROM walkthroughClips WHERE clipId IN wanted) ORDER BY createdAt DESC, id`, clips, studentId)
  const lessonIds = JSON.stringify(walkthroughs.map(({ id }) => id))
  const ofLessons = (table: string, key: string): number => one<{ n: number }>(db, `SELECT count(*) AS n FROM ${table} WHERE ${key} IN (SELECT value FROM json_each(?))`, lessonIds)!.n
  const videos = all<{ target: string }>(db, 'SELECT target FROM handoffs WHERE finished = 1 AND walkthroughId IN (SELECT value FROM json_each(?)) ORDER BY createdAt DESC LIMIT ?', lessonIds, mostNames)
  const touched = '(leftClipId IN wanted OR rightClipId IN wanted)'
  return {
    students: studentId === null ? 0 : 1,
    clips: clipIds.length,
    // A swing goes with its last clip.
    swings: count(`swings WHERE ${theirs} OR (${touched} AND (leftClipId IS NULL OR leftClipId IN wanted) AND (rightClipId IS NULL OR rightClipId IN wanted))`),
    pairings: count(`swings WHERE leftClipId IS NOT NULL AND rightClipId IS NOT NULL AND (${theirs} OR ${touched})`),
    marks: count('marks WHERE clipId IN wanted'),
    points: count('digitised WHERE clipId IN wanted'),
    findings: count('findings WHERE clipId IN wanted'),
    prescriptions: count(`prescriptions WHERE ${theirs}`),
    deliveries: count(`deliveries WHERE ${theirs}`),
    plans: ofLessons('plans', 'walkthroughId'),
    walkthroughs: walkthroughs.length,
    lessons: ofLessons('lessons', 'id'),
    handoffs: ofLessons('handoffs', 'walkthroughId'),
    bytes: number('sum(o.bytes) AS n FROM clips c JOIN originals o ON o.hash = c.hash WHERE c.id IN wanted'),
    fileNames: all<{ fileName: string }>(db, 'SELECT c.fileName FROM json_each(?) JOIN clips c ON c.id = value ORDER BY key LIMIT ?', clips, mostNames).map(({ fileName }) => fileName),
    titles: walkthroughs.slice(0, mostNames).map(({ title }) => title),
    videos: videos.map(({ target }) => target),
  }
}
