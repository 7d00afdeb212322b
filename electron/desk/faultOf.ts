import { basename } from 'node:path'
import { DeskError } from '../../shared/contract/errors.ts'
import { knownFault } from '../library/faults.ts'
import { MediaError, type MediaErrorKind } from '../media/mediaError.ts'

const kinds: Partial<Record<MediaErrorKind, DeskError['fault']['kind']>> = {
  absent: 'not-found',
  permission: 'not-allowed',
  'not-a-file': 'bad-input',
  'disk-full': 'disk-full',
  cancelled: 'cancelled',
  superseded: 'cancelled',
  crashed: 'internal',
  failed: 'internal',
}

export const isAbort = (error: unknown): boolean => error instanceof Error && error.name === 'AbortError'

/**
 * Any thrown value as what crosses the contract. What nobody foresaw becomes `internal`, and goes to the log whole.
 * @param file the name that the coach knows a file by, put in the place of the one it has on this machine
 */
export function faultOf(error: unknown, log: (line: string) => void, file: { path: string; name: string } | null = null): DeskError {
  if (isAbort(error)) return new DeskError('cancelled', 'This was cancelled.', { where: file?.name ?? null, cause: error })
  if (error instanceof MediaError) {
    const known = basename(error.path)
    const name = file?.name ?? known
    return new DeskError(kinds[error.kind] ?? 'bad-media', error.message.replaceAll(known, name), {
      where: file?.name ?? error.path,
      cause: error,
    })
  }
  const fault = knownFault(error, file?.path ?? null)
  if (fault) return fault
  log(error instanceof Error ? (error.stack ?? error.message) : String(error))
  return new DeskError('internal', 'Something went wrong inside Crossbearing.', {
    where: file?.name ?? null,
    remedy: `Try once more; if it happens again, send the log: ${error instanceof Error ? error.message : String(error)}`,
    cause: error,
  })
}
