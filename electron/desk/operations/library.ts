import { readdirSync, statSync } from 'node:fs'
import { isAbsolute, join, relative, resolve } from 'node:path'
import { DeskError } from '../../../shared/contract/errors.ts'
import { backupLibrary, restoreLibrary } from '../../library/backup.ts'
import { checkLibrary } from '../../library/check.ts'
import { schemaVersion } from '../../library/database.ts'
import { getSettings, setSettings } from '../../library/settings.ts'
import { count, one } from '../../library/statement.ts'
import type { DeskContext, Group } from '../context.ts'
import { neededIncoming } from '../incoming.ts'

const folderBytes = (folder: string): number =>
  readdirSync(folder, { withFileTypes: true, recursive: true }).reduce(
    (sum, entry) => sum + (entry.isFile() ? (statSync(join(entry.parentPath, entry.name), { throwIfNoEntry: false })?.size ?? 0) : 0),
    0,
  )

/** A folder named in full; a window has no current folder that a short name could mean. */
function fullPath(given: string, what: string): string {
  if (!isAbsolute(given))
    throw new DeskError('bad-input', `${what} needs the full path of a folder.`, { where: given, remedy: 'Name it from the root of the disk on.' })
  return resolve(given)
}

function isInside(folder: string, path: string): boolean {
  const way = relative(folder, path)
  return !way.startsWith('..') && !isAbsolute(way)
}

export function libraryOperations(context: DeskContext): Group<'library'> & Group<'settings'> {
  const { library, hub } = context
  const { db, layout } = library
  return {
    'library.info': () => {
      const students = count(db, 'students')
      const clips = count(db, 'clips')
      const originals = one<{ bytes: number | null }>(db, 'SELECT sum(bytes) AS bytes FROM originals')!.bytes ?? 0
      const made = [layout.derived, layout.walkthroughs, layout.handoffs].reduce((sum, folder) => sum + folderBytes(folder), 0)
      return {
        folder: layout.folder,
        schemaVersion: schemaVersion(db),
        students,
        clips,
        walkthroughs: count(db, 'walkthroughs'),
        bytes: originals + made + statSync(layout.database).size,
        empty: students === 0 && clips === 0,
      }
    },
    'library.backup': async ({ to }) => {
      const path = fullPath(to, 'A backup')
      if (isInside(layout.folder, path))
        throw new DeskError('bad-input', 'A backup cannot lie inside the library itself.', {
          where: to,
          remedy: 'Choose a folder outside it, best on another disk.',
        })
      return { path, bytes: await backupLibrary(db, layout, path) }
    },
    'library.restore': async ({ from, to }) => {
      const path = fullPath(to, 'A restored library')
      if (isInside(layout.folder, path))
        throw new DeskError('bad-input', 'A library cannot lie inside the one that is open.', { where: to, remedy: 'Choose a folder outside it.' })
      return { path, bytes: await restoreLibrary(fullPath(from, 'The backup'), path) }
    },
    'library.check': ({ deep }) => checkLibrary(db, layout, { deep, keepIncoming: () => neededIncoming(db) }),
    'settings.get': () => getSettings(db),
    'settings.set': (patch) => {
      const settings = setSettings(db, patch)
      hub.changed('settings')
      return settings
    },
  }
}
