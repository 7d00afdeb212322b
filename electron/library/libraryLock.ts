import Database from 'better-sqlite3'
import { DeskError } from '../../shared/contract/errors.ts'
import { isSqliteError } from './faults.ts'

/**
 * Holds a library for this process. The lock is the operating system's own, on a small database kept open in an
 * exclusive transaction: it goes when the process goes, however that ends, so that there are no stale locks to judge.
 * Throws `library-in-use` where another holds it.
 */
export function holdLibrary(lockFile: string, folder: string): { release(): void } {
  const lock = new Database(lockFile, { timeout: 0 })
  try {
    lock.pragma('journal_mode = MEMORY')
    lock.exec('BEGIN EXCLUSIVE')
  } catch (error) {
    lock.close()
    if (!isSqliteError(error) || !error.code.startsWith('SQLITE_BUSY')) throw error
    throw new DeskError('library-in-use', 'This library is already open in another Crossbearing window or command.', {
      where: folder,
      remedy: 'Close the other one, or choose another library folder.',
      cause: error,
    })
  }
  return {
    release() {
      if (lock.open) lock.close()
    },
  }
}
