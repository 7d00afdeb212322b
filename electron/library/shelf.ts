import type { Clip } from '../../shared/contract/clip.ts'
import { permissionGap, type Permission, type ShelfItem } from '../../shared/contract/shelf.ts'
import type { Sqlite } from './database.ts'
import { all, one, run } from './statement.ts'

interface ShelfRow { id: number; key: string; swingId: string | null; firstClipId: string; secondClipId: string | null; student: string; club: string; title: string | null }
type ClipRow = Pick<Clip, 'id' | 'studentId' | 'view' | 'fileName' | 'handedness' | 'width' | 'height' | 'captureRate' | 'note'> & {
  mirrored: number; date: number; seconds: number; question: string; feel: string
}
interface NotesRow { clipId: string; favourite: number; reference: number; permission: Permission; source: string; licence: string }

/** A row's id begins with its time; see migration 0005. */
export const idsAMillisecond = 1024
const rowsIn = 'FROM shelf h LEFT JOIN swings s ON s.id = h.swingId WHERE'
const rowColumns = 'h.id, h.key, h.swingId, h.firstClipId, h.secondClipId, h.student, h.club, s.title'

/** Swings of the Shelf by their row ids, in the same order. */
export function itemsOfRows(db: Sqlite, ids: readonly number[]): ShelfItem[] {
  const rows = new Map(all<ShelfRow>(db, `SELECT ${rowColumns} ${rowsIn} h.id IN (SELECT value FROM json_each(?))`, JSON.stringify(ids)).map((row) => [row.id, row]))
  return itemsOf(db, ids.flatMap((id) => rows.get(id) ?? []))
}

/** Swings of the Shelf by their keys, in the same order; those that are not there any more are left out. */
export function itemsOfKeys(db: Sqlite, keys: readonly string[]): ShelfItem[] {
  const rows = new Map(all<ShelfRow>(db, `SELECT ${rowColumns} ${rowsIn} h.key IN (SELECT value FROM json_each(?))`, JSON.stringify(keys)).map((row) => [row.key, row]))
  return itemsOf(db, keys.flatMap((key) => rows.get(key) ?? []))
}

function itemsOf(db: Sqlite, rows: readonly ShelfRow[]): ShelfItem[] {
  const list = JSON.stringify(rows.flatMap(({ firstClipId, secondClipId }) => (secondClipId === null ? [firstClipId] : [firstClipId, secondClipId])))
  const wanted = '(SELECT value FROM json_each(?))'
  const clips = new Map(all<ClipRow>(db,
    `SELECT c.id, c.studentId, c.view, c.fileName, c.handedness, EXISTS (SELECT 1 FROM mirroredClips m WHERE m.clipId = c.id) AS mirrored, c.width, c.height, c.captureRate, c.note, coalesce(c.filmedAt, c.takenInAt) AS date,
      (f.endTick - (f.ticks ->> 0)) * 1.0 / f.timescale AS seconds, coalesce(d.question, '') AS question, coalesce(d.feel, '') AS feel
     FROM clips c JOIN frameIndexes f ON f.clipId = c.id LEFT JOIN deliveries d ON d.id = c.deliveryId WHERE c.id IN ${wanted}`, list).map((clip) => [clip.id, clip]))
  const notes = new Map(all<NotesRow>(db, `SELECT * FROM clipNotes WHERE clipId IN ${wanted}`, list).map((row) => [row.clipId, row]))
  const tags = Map.groupBy(all<{ clipId: string; tag: string }>(db, `SELECT clipId, tag FROM clipTags WHERE clipId IN ${wanted} ORDER BY tag`, list), (row) => row.clipId)
  const collections = Map.groupBy(all<{ clipId: string; collectionId: string }>(db, `SELECT clipId, collectionId FROM collectionClips WHERE clipId IN ${wanted}`, list), (row) => row.clipId)
  return rows.flatMap(({ key, swingId, firstClipId, secondClipId, student, club, title }) => {
    const own = [firstClipId, secondClipId].flatMap((id) => (id === null ? [] : (clips.get(id) ?? [])))
    const first = own[0]
    if (!first) return []
    const said = own.flatMap(({ id }) => notes.get(id) ?? [])
    return [{
      key, swingId, student, club, title: title ?? '',
      clips: own.map(({ id, view, mirrored, fileName, seconds, captureRate, width, height }) => ({ id, view, mirrored: mirrored === 1, fileName, seconds, captureRate, width, height })),
      studentId: first.studentId, handedness: first.handedness, date: first.date, question: first.question, feel: first.feel,
      note: own.map(({ note }) => note).filter(Boolean).join('\n'),
      tags: [...new Map(own.flatMap(({ id }) => tags.get(id) ?? []).map(({ tag }) => [tag.toLowerCase(), tag])).values()],
      collections: [...new Set(own.flatMap(({ id }) => collections.get(id) ?? []).map(({ collectionId }) => collectionId))],
      favourite: said.some(({ favourite }) => favourite === 1), reference: said.some(({ reference }) => reference === 1),
      permission: strictest(own.map(({ id }) => notes.get(id)?.permission ?? 'not-said')),
      source: said.find(({ source }) => source !== '')?.source ?? '', licence: said.find(({ licence }) => licence !== '')?.licence ?? '',
    }]
  })
}

/** Of two clips that stand together the stricter word holds for both. */
export const strictest = (permissions: readonly Permission[]): Permission =>
  permissions.includes('lessons-only') ? 'lessons-only' : permissions.every((one) => one === 'may-be-sent') ? 'may-be-sent' : 'not-said'

/** The clips of swings on the Shelf, by their keys. */
export const clipsOfKeys = (db: Sqlite, keys: readonly string[]): string[] =>
  all<{ firstClipId: string; secondClipId: string | null }>(db, 'SELECT firstClipId, secondClipId FROM shelf WHERE key IN (SELECT value FROM json_each(?))', JSON.stringify(keys))
    .flatMap(({ firstClipId, secondClipId }) => (secondClipId === null ? [firstClipId] : [firstClipId, secondClipId]))

export type NotesPatch = Partial<{ [K in keyof Omit<NotesRow, 'clipId'>]: (NotesRow[K] extends number ? boolean : NotesRow[K]) | undefined }>

/**
 * Writes what the coach notes of clips. One that becomes a reference without a word on what it may be used for is kept for
 * lessons only: a model's picture goes to other people than the one who was filmed.
 */
export function noteClips(db: Sqlite, clipIds: readonly string[], patch: NotesPatch): void {
  const given = Object.entries(patch).filter(([, value]) => value !== undefined)
  for (const clipId of clipIds) {
    run(db, 'INSERT INTO clipNotes (clipId) VALUES (?) ON CONFLICT (clipId) DO NOTHING', clipId)
    for (const [name, value] of given) run(db, `UPDATE clipNotes SET ${name} = ? WHERE clipId = ?`, typeof value === 'boolean' ? Number(value) : (value as string), clipId)
    if (patch.reference === true && patch.permission === undefined)
      run(db, `UPDATE clipNotes SET permission = 'lessons-only' WHERE clipId = ? AND permission = 'not-said'`, clipId)
  }
}

export function tagClips(db: Sqlite, clipIds: readonly string[], add: readonly string[], remove: readonly string[]): void {
  for (const clipId of clipIds) {
    for (const tag of remove) run(db, 'DELETE FROM clipTags WHERE clipId = ? AND tag = ?', clipId, tag)
    for (const tag of add) run(db, 'INSERT INTO clipTags (clipId, tag) VALUES (?, ?) ON CONFLICT DO NOTHING', clipId, tag)
  }
}

/** Clips that may not be sent, each with the reason in one sentence. `studentId`: whom the lesson is for; null where that is not known. */
export function permissionGaps(db: Sqlite, clipIds: readonly string[], studentId: string | null): { readonly key: string; readonly name: string; readonly why: string }[] {
  const rows = all<{ key: string; permission: Permission; owner: string | null; student: string | null; club: string; fileName: string }>(db,
    `SELECT coalesce(h.key, c.id) AS key, coalesce(n.permission, 'not-said') AS permission, c.studentId AS owner, st.name AS student, c.club, c.fileName
     FROM clips c LEFT JOIN clipNotes n ON n.clipId = c.id LEFT JOIN shelf h ON c.id IN (h.firstClipId, h.secondClipId) AND h.key IN (c.id, c.swingId) LEFT JOIN students st ON st.id = c.studentId
     WHERE c.id IN (SELECT value FROM json_each(?)) ORDER BY c.id`, JSON.stringify(clipIds))
  const gaps = rows.flatMap(({ key, permission, owner, student, club, fileName }) => {
    const name = [student, club].filter(Boolean).join(', ') || fileName
    const why = permissionGap({ permission, name }, owner !== null && studentId !== null && owner !== studentId)
    return why === null ? [] : [{ key, name, why }]
  })
  // Both views of one swing are one reason.
  return [...new Map(gaps.map((gap) => [gap.why, gap])).values()]
}

/** What stands behind the fields' names, the most used first. */
export function shelfWords(db: Sqlite): { tags: string[]; clubs: string[]; students: string[]; total: number } {
  const list = (source: string): string[] => all<{ word: string }>(db, source).map(({ word }) => word)
  return {
    tags: list('SELECT tag AS word FROM clipTags GROUP BY tag ORDER BY count(*) DESC, tag LIMIT 200'),
    clubs: list(`SELECT club AS word FROM clips WHERE club <> '' GROUP BY club ORDER BY count(*) DESC, club LIMIT 60`),
    students: list('SELECT name AS word FROM students ORDER BY name LIMIT 500'),
    total: one<{ n: number }>(db, 'SELECT count(*) AS n FROM shelf')!.n,
  }
}
