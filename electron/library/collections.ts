import type { Collection } from '../../shared/contract/shelf.ts'
import type { Sqlite } from './database.ts'
import { all, one, run } from './statement.ts'

const columns = `k.id, k.name, (SELECT count(DISTINCT h.id) FROM collectionClips x JOIN clips c ON c.id = x.clipId JOIN shelf h ON h.key IN (c.id, c.swingId) WHERE x.collectionId = k.id) AS count`

export const listCollections = (db: Sqlite): Collection[] => all<Collection>(db, `SELECT ${columns} FROM collections k ORDER BY k.name`)

export const getCollection = (db: Sqlite, id: string): Collection | null => one<Collection>(db, `SELECT ${columns} FROM collections k WHERE k.id = ?`, id) ?? null

/** The one of this name, however it is written, other than `except`. */
export const collectionCalled = (db: Sqlite, name: string, except: string | null = null): { id: string; name: string } | null =>
  one<{ id: string; name: string }>(db, 'SELECT id, name FROM collections WHERE name = ? AND id IS NOT ?', name, except) ?? null

export const addCollection = (db: Sqlite, id: string, name: string, createdAt: number): number =>
  run(db, 'INSERT INTO collections (id, name, createdAt) VALUES (?, ?, ?)', id, name, createdAt)

export const renameCollection = (db: Sqlite, id: string, name: string): number => run(db, 'UPDATE collections SET name = ? WHERE id = ?', name, id)

/** Takes a collection away and answers with the keys of what was in it; the swings stay. */
export function removeCollection(db: Sqlite, id: string): string[] {
  const keys = all<{ key: string }>(db, 'SELECT DISTINCT h.key FROM collectionClips x JOIN clips c ON c.id = x.clipId JOIN shelf h ON h.key IN (c.id, c.swingId) WHERE x.collectionId = ?', id).map(({ key }) => key)
  run(db, 'DELETE FROM collections WHERE id = ?', id)
  return keys
}

export function putInCollection(db: Sqlite, id: string, clipIds: readonly string[], on: boolean): void {
  for (const clipId of clipIds)
    if (on) run(db, 'INSERT INTO collectionClips (collectionId, clipId) VALUES (?, ?) ON CONFLICT DO NOTHING', id, clipId)
    else run(db, 'DELETE FROM collectionClips WHERE collectionId = ? AND clipId = ?', id, clipId)
}
