import { DeskError } from '../../shared/contract/errors.ts'
import { MediaError } from '../media/mediaError.ts'
import type { SentError } from './taskMessages.ts'

/** A thrown value as plain data. */
export function packError(error: unknown): SentError {
  if (error instanceof MediaError) return { type: 'media', kind: error.kind, path: error.path, detail: error.detail }
  if (error instanceof DeskError) return { type: 'desk', fault: error.fault }
  if (!(error instanceof Error)) return { type: 'other', message: String(error), stack: '' }
  if (error.name === 'AbortError') return { type: 'abort' }
  const stack = error.stack ?? ''
  if ('code' in error && typeof error.code === 'string')
    return {
      type: 'system',
      code: error.code,
      path: 'path' in error && typeof error.path === 'string' ? error.path : null,
      message: error.message,
      stack,
    }
  return { type: 'other', message: error.message, stack }
}

/** The error again, of the class that it had. */
export function unpackError(sent: SentError): Error {
  switch (sent.type) {
    case 'media':
      return new MediaError(sent.kind, sent.path, sent.detail)
    case 'desk':
      return DeskError.from(sent.fault)
    case 'abort':
      return new DOMException('cancelled', 'AbortError')
    case 'system':
      return Object.assign(new Error(sent.message), {
        code: sent.code,
        stack: sent.stack,
        ...(sent.path === null ? {} : { path: sent.path }),
      })
    case 'other':
      return Object.assign(new Error(sent.message), { stack: sent.stack })
  }
}
