import { decode } from '@msgpack/msgpack'
import { z } from 'zod'
import { DeskError, faultSchema } from '../../shared/contract/errors.ts'
import type { StageOptions } from './bridge.ts'

const answerSchema = z.object({ staged: z.string() })

/** Hands a file's bytes over; an XMLHttpRequest, because fetch tells nothing of how far it is. Answers with the staged name. */
export function upload(url: string, file: File, { onProgress, signal }: StageOptions): Promise<string> {
  return new Promise((resolve, reject) => {
    const cancelled = (): void => reject(new DeskError('cancelled', `${file.name} was not handed over.`, { where: file.name }))
    if (signal?.aborted) return cancelled()
    const request = new XMLHttpRequest()
    const abort = (): void => request.abort()
    signal?.addEventListener('abort', abort, { once: true })
    request.open('PUT', url)
    request.responseType = 'arraybuffer'
    request.setRequestHeader('content-type', 'application/octet-stream')
    request.upload.addEventListener('progress', ({ loaded, total }) => onProgress?.(total === 0 ? 1 : loaded / total))
    request.addEventListener('abort', cancelled)
    request.addEventListener('error', () =>
      reject(
        new DeskError('internal', `${file.name} could not be handed over: the desk does not answer.`, {
          where: file.name,
          remedy: 'See whether Crossbearing still runs; start it again if not.',
        }),
      ),
    )
    request.addEventListener('loadend', () => signal?.removeEventListener('abort', abort))
    request.addEventListener('load', () => {
      try {
        const body: unknown = decode(new Uint8Array(request.response as ArrayBuffer))
        if (request.status === 200) resolve(answerSchema.parse(body).staged)
        else reject(DeskError.from(faultSchema.parse(body)))
      } catch {
        reject(
          new DeskError('internal', `${file.name} could not be handed over: the desk answered ${request.status}.`, { where: file.name }),
        )
      }
    })
    request.send(file)
  })
}
