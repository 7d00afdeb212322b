import { basename } from 'node:path'
import { FFmpegError } from 'node-av'
import { DeskError } from '../../shared/contract/errors.ts'
import { MediaError } from '../media/mediaError.ts'

export const cancelled = (): DeskError => new DeskError('cancelled', 'The hand-off was cancelled.')

const systemCodes: Readonly<Record<string, number>> = { ENOSPC: -28, EACCES: -13, EPERM: -1, EROFS: -30, ENOENT: -2 }

/** What went wrong, in terms of the coach's file. FFmpeg's codes are negative errno values: -28 is "no space left", -13 "not allowed", -2 "no such folder". */
export function asHandoffError(error: unknown, out: string, signal?: AbortSignal): Error {
  if (signal?.aborted) return cancelled()
  if (error instanceof DeskError || (error instanceof MediaError && error.kind !== 'disk-full')) return error
  const code = error instanceof FFmpegError ? error.code
    : error instanceof Error && 'code' in error && typeof error.code === 'string' ? (systemCodes[error.code] ?? null) : null
  const name = basename(out)
  if (code === -28 || error instanceof MediaError) {
    return new DeskError('disk-full', `The disk filled up before ${name} was finished.`, { where: out, remedy: 'Make room on it, or choose another folder, and hand off again.', cause: error })
  }
  if (code === -13 || code === -1 || code === -30) {
    return new DeskError('not-allowed', `${name} may not be written there.`, { where: out, remedy: 'Choose a folder of your own.', cause: error })
  }
  if (code === -2) return new DeskError('not-found', `The folder for ${name} is not there any more.`, { where: out, remedy: 'Choose another folder.', cause: error })
  return error instanceof Error ? error : new Error(String(error))
}
