import type { Clip } from '../../shared/contract/clip.ts'
import type { Input, Output } from '../../shared/contract/operations.ts'
import type { Sqlite } from './database.ts'
import { all, one, put, run, type Value } from './statement.ts'

type Brief = Output<'clip.list'>[number]
type ClipRow = Omit<Brief, 'hasSound' | 'hdr' | 'seconds' | 'mirrored'> & {
  mirrored: number
  hasSound: number
  hdr: number
  timescale: number
  endTick: number
  firstTick: number
}

const columns = `c.id, c.studentId, c.swingId, c.deliveryId, c.view, c.club, c.handedness, c.fileName, c.hash, o.bytes, c.width, c.height,
  c.captureRate, c.captureRateBasis, c.playRate, c.hasSound, c.hdr, c.codec, c.reviewWidth, c.reviewHeight, c.takenInAt, c.filmedAt, c.note,
  EXISTS (SELECT 1 FROM mirroredClips m WHERE m.clipId = c.id) AS mirrored, f.frameCount, f.timescale, f.endTick, f.ticks ->> 0 AS firstTick`
const from = 'FROM clips c JOIN originals o ON o.hash = c.hash JOIN frameIndexes f ON f.clipId = c.id'

function asBrief({ timescale, endTick, firstTick, ...row }: ClipRow): Brief {
  return { ...row, mirrored: row.mirrored === 1, hasSound: row.hasSound === 1, hdr: row.hdr === 1, seconds: (endTick - firstTick) / timescale }
}

function asClip(db: Sqlite, row: ClipRow): Clip {
  const { ticks } = one<{ ticks: string }>(db, 'SELECT ticks FROM frameIndexes WHERE clipId = ?', row.id)!
  const { frameCount: _count, seconds: _seconds, ...clip } = asBrief(row)
  return { ...clip, frames: { timescale: row.timescale, ticks: JSON.parse(ticks) as number[], endTick: row.endTick } }
}

/** Newest first; of one student, of none (null), or of all (undefined); or of all others than one. */
export function listClips(db: Sqlite, { studentId, otherThan, limit }: Input<'clip.list'> = {}): Brief[] {
  const values: Value[] = []
  const conditions: string[] = []
  if (studentId !== undefined) {
    conditions.push('c.studentId IS ?')
    values.push(studentId)
  }
  if (otherThan !== undefined) {
    conditions.push('c.studentId IS NOT ?')
    values.push(otherThan)
  }
  const where = conditions.length > 0 ? `WHERE ${conditions.join(' AND ')}` : ''
  return all<ClipRow>(db, `SELECT ${columns} ${from} ${where} ORDER BY c.takenInAt DESC, c.id LIMIT ?`, ...values, limit ?? -1).map(asBrief)
}

/** Clips by id, in the same order; those that are not there are left out. */
export function someClips(db: Sqlite, ids: readonly string[]): Brief[] {
  const found = new Map(all<ClipRow>(db, `SELECT ${columns} ${from} WHERE c.id IN (SELECT value FROM json_each(?))`, JSON.stringify(ids)).map((row) => [row.id, asBrief(row)]))
  return ids.flatMap((id) => found.get(id) ?? [])
}

/** What one student (or none) sent in one delivery (or in none), newest first. */
export const clipsOfArrival = (db: Sqlite, studentId: string | null, deliveryId: string | null): Brief[] =>
  all<ClipRow>(db, `SELECT ${columns} ${from} WHERE c.studentId IS ? AND c.deliveryId IS ? ORDER BY c.takenInAt DESC, c.id`, studentId, deliveryId).map(asBrief)

export function getClip(db: Sqlite, id: string): Clip | null {
  const row = one<ClipRow>(db, `SELECT ${columns} ${from} WHERE c.id = ?`, id)
  return row ? asClip(db, row) : null
}

export function getClipByHash(db: Sqlite, hash: string): Clip | null {
  const row = one<ClipRow>(db, `SELECT ${columns} ${from} WHERE c.hash = ?`, hash)
  return row ? asClip(db, row) : null
}

/** The content hash of a clip's original, without reading its frame index. */
export const hashOfClip = (db: Sqlite, id: string): string | null =>
  one<{ hash: string }>(db, 'SELECT hash FROM clips WHERE id = ?', id)?.hash ?? null

export const clipsOfDelivery = (db: Sqlite, deliveryId: string): Clip[] =>
  all<ClipRow>(db, `SELECT ${columns} ${from} WHERE c.deliveryId = ? ORDER BY c.takenInAt, c.rowid`, deliveryId).map((row) =>
    asClip(db, row),
  )

/** Adds a clip with its original's row and its frame index. `media` leads from frames back into the file. */
export function addClip(db: Sqlite, clip: Clip, media: unknown): void {
  const { frames, bytes, mirrored, ...row } = clip
  run(db, 'INSERT INTO originals (hash, bytes, addedAt) VALUES (?, ?, ?) ON CONFLICT (hash) DO NOTHING', clip.hash, bytes, clip.takenInAt)
  put(db, 'clips', { ...row, hasSound: row.hasSound ? 1 : 0, hdr: row.hdr ? 1 : 0 })
  if (mirrored) setMirrored(db, clip.id, true)
  put(
    db,
    'frameIndexes',
    {
      clipId: clip.id,
      timescale: frames.timescale,
      ticks: JSON.stringify(frames.ticks),
      frameCount: frames.ticks.length,
      endTick: frames.endTick,
      media: JSON.stringify(media),
    },
    'clipId',
  )
}

/** What addClip was given to lead from frames back into the file, as JSON; null for a clip that is not there. */
export const mediaIndexText = (db: Sqlite, clipId: string): string | null =>
  one<{ media: string }>(db, 'SELECT media FROM frameIndexes WHERE clipId = ?', clipId)?.media ?? null

export type ClipPatch = Partial<
  Pick<Clip, 'studentId' | 'swingId' | 'deliveryId' | 'view' | 'club' | 'handedness' | 'mirrored' | 'captureRate' | 'captureRateBasis' | 'note'>
>

export function updateClip(db: Sqlite, id: string, { mirrored, ...patch }: ClipPatch): void {
  if (mirrored !== undefined) setMirrored(db, id, mirrored)
  for (const [name, value] of Object.entries(patch))
    if (value !== undefined) run(db, `UPDATE clips SET ${name} = ? WHERE id = ?`, value, id)
}

const setMirrored = (db: Sqlite, id: string, mirrored: boolean): number =>
  mirrored ? run(db, 'INSERT INTO mirroredClips (clipId) VALUES (?) ON CONFLICT (clipId) DO NOTHING', id) : run(db, 'DELETE FROM mirroredClips WHERE clipId = ?', id)

export const frameCountOf = (db: Sqlite, clipId: string): number =>
  one<{ frameCount: number }>(db, 'SELECT frameCount FROM frameIndexes WHERE clipId = ?', clipId)?.frameCount ?? 0
