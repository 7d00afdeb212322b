import { Worker } from 'node:worker_threads'
import type { FromWorker, ToWorker } from './filmWorker.ts'
import type { Shot } from './plan.ts'

export interface PoolOptions {
  readonly workers: number
  readonly scale: number
  readonly signal?: AbortSignal | undefined
  /** Takes a clip's frames in order; the next is sent while this one is being written, three at most. */
  readonly onFrame: (shot: Shot, index: number, planes: Uint8Array) => Promise<void>
  readonly onClip: (shot: Shot) => Promise<void>
}

/** The worker's own file, as written or bundled. */
const workerFile = new URL(import.meta.url.endsWith('.ts') ? './filmWorker.ts' : './filmWorker.js', import.meta.url)

/** Films all shots, each by one worker, as many at once as there are workers. Rejects at the first failure or when aborted, with all workers ended. */
export async function filmAll(shots: readonly Shot[], options: PoolOptions): Promise<void> {
  const waiting = [...shots]
  const running: Worker[] = []
  const { promise: stopped, reject: stop } = Promise.withResolvers<never>()
  // The race below may be over before anything stops it; a late reason must not count as unhandled.
  stopped.catch(() => undefined)
  const onAbort = () => stop(options.signal?.reason)
  options.signal?.throwIfAborted()
  options.signal?.addEventListener('abort', onAbort, { once: true })
  try {
    const lanes = Array.from({ length: Math.min(options.workers, shots.length) }, async () => {
      const worker = new Worker(workerFile)
      running.push(worker)
      for (let shot = waiting.shift(); shot; shot = waiting.shift()) await filmOne(worker, shot, options)
    })
    await Promise.race([Promise.all(lanes), stopped])
  } finally {
    options.signal?.removeEventListener('abort', onAbort)
    await Promise.all(running.map((worker) => worker.terminate()))
  }
}

function filmOne(worker: Worker, shot: Shot, options: PoolOptions): Promise<void> {
  const send = (message: ToWorker, transfer: ArrayBuffer[] = []) => worker.postMessage(message, transfer)
  return new Promise((resolve, reject) => {
    let written: Promise<void> = Promise.resolve()
    const over = (settle: () => void) => {
      worker.off('message', onMessage)
      worker.off('error', onError)
      settle()
    }
    const onError = (error: unknown) => over(() => reject(error))
    const onMessage = (message: FromWorker) => {
      if (message.kind === 'failed') over(() => reject(new Error(`${shot.fileName} could not be filmed: ${message.why}`)))
      else if (message.kind === 'frame') {
        const { index, buffer } = message
        written = written
          .then(() => options.onFrame(shot, index, new Uint8Array(buffer)))
          .then(() => send({ kind: 'spare', buffer }, [buffer]))
        written.catch(onError)
      } else written.then(() => options.onClip(shot)).then(() => over(resolve), onError)
    }
    worker.on('message', onMessage)
    worker.on('error', onError)
    send({ kind: 'film', shot, scale: options.scale })
  })
}
