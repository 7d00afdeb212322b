import { basename } from 'node:path'
import { DeskError } from '../../shared/contract/errors.ts'

interface CodedError extends Error {
  readonly code: string
}
const hasCode = (error: unknown): error is CodedError => error instanceof Error && 'code' in error && typeof error.code === 'string'

export const isSqliteError = (error: unknown): error is CodedError => hasCode(error) && error.code.startsWith('SQLITE_')

/** What a thrown system or database error means for the coach, as a DeskError; null where it is none of the known ones. */
export function knownFault(error: unknown, where: string | null = null): DeskError | null {
  if (error instanceof DeskError) return error
  if (!hasCode(error)) return null
  const path = where ?? ('path' in error && typeof error.path === 'string' ? error.path : null)
  const name = path === null ? 'A file' : basename(path)
  switch (error.code) {
    case 'SQLITE_FULL':
    case 'ENOSPC':
    case 'EDQUOT':
      return new DeskError('disk-full', 'The disk is full.', { where: path, remedy: 'Make room on it, then try again.', cause: error })
    case 'SQLITE_CORRUPT':
    case 'SQLITE_NOTADB':
      return new DeskError('library-damaged', "The library's database is damaged.", {
        where: path,
        remedy: 'Restore a backup: crossbearing restore FOLDER.',
        cause: error,
      })
    case 'SQLITE_CONSTRAINT_FOREIGNKEY':
      return new DeskError('not-found', 'What this refers to is not in the library any more.', {
        where: path,
        remedy: 'Reload and try again.',
        cause: error,
      })
    case 'ENOENT':
      return new DeskError('not-found', `${name} is not there.`, {
        where: path,
        remedy: 'See whether it was moved or renamed.',
        cause: error,
      })
    case 'EEXIST':
      return new DeskError('bad-input', `${name} is already there.`, { where: path, remedy: 'Choose another name.', cause: error })
    case 'EACCES':
    case 'EPERM':
    case 'EROFS':
      return new DeskError('not-allowed', `${name} may not be read or written by this program.`, {
        where: path,
        remedy: 'Choose another folder, or allow it.',
        cause: error,
      })
    case 'EISDIR':
      return new DeskError('bad-input', `${name} is a folder, not a file.`, {
        where: path,
        remedy: 'Choose the files in it.',
        cause: error,
      })
    default:
      return null
  }
}
