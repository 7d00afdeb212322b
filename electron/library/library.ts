import { mkdirSync } from 'node:fs'
import { knownFault } from './faults.ts'
import { holdLibrary } from './libraryLock.ts'
import { layoutOf, type Layout } from './layout.ts'
import { openDatabase, type Sqlite } from './database.ts'

/** An open library: its folder is held by this process until it is closed. */
export interface Library {
  readonly layout: Layout
  readonly db: Sqlite
  close(): void
}

/** Opens the library in a folder, making both where they are not there. Throws DeskErrors that say why it cannot. */
export function openLibrary(folder: string): Library {
  const layout = layoutOf(folder)
  try {
    for (const path of [folder, layout.originals, layout.derived, layout.walkthroughs, layout.handoffs, layout.incoming])
      mkdirSync(path, { recursive: true, mode: 0o700 })
    const lock = holdLibrary(layout.lock, folder)
    try {
      const db = openDatabase({ file: layout.database, backups: layout.backups })
      return {
        layout,
        db,
        close() {
          if (db.open) {
            db.pragma('optimize')
            db.close()
          }
          lock.release()
        },
      }
    } catch (error) {
      lock.release()
      throw error
    }
  } catch (error) {
    throw knownFault(error, folder) ?? error
  }
}
