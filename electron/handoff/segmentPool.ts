import { Worker } from 'node:worker_threads'
import { unpackError } from '../desk/sentError.ts'
import type { PlannedSegment } from './segmentKey.ts'
import { doneAt, stopAt, type FromSegmentWorker, type SegmentWork, type ToSegmentWorker } from './segmentWorkerMessages.ts'

const workerFile = new URL(import.meta.url.endsWith('.ts') ? './segmentWorker.ts' : './segmentWorker.js', import.meta.url)

export interface PoolOptions {
  readonly workers: number
  readonly signal?: AbortSignal | undefined
  /** Hears how many pictures are done, now and then. */
  readonly onFrames: (done: number) => void
  readonly pathOf: (segment: PlannedSegment) => string
  /** After each segment; true ends the work early, as if all had been made. */
  readonly onSegment?: ((segment: PlannedSegment) => Promise<boolean> | boolean) | undefined
}

const tellEveryMs = 100

/**
 * Makes segments, several at once, each in a thread of its own. A thread goes on with what follows what it has just made,
 * where the clips' decoders stand already; where that is taken it begins in the middle of the longest stretch that is left.
 */
export async function renderSegments(todo: readonly PlannedSegment[], work: Omit<SegmentWork, 'shared'>, options: PoolOptions): Promise<void> {
  if (todo.length === 0) return
  const { signal } = options
  const shared = new SharedArrayBuffer(8)
  const counters = new Int32Array(shared)
  const left = new Set(todo.keys())
  const workers: Worker[] = []
  let ended = false
  const stop = (): void => void Atomics.store(counters, stopAt, 1)
  const lane = async (): Promise<void> => {
    const worker = new Worker(workerFile, { workerData: { ...work, shared } satisfies SegmentWork })
    workers.push(worker)
    for (let at = nextOf(left, -1); at !== null && !ended && !signal?.aborted; at = nextOf(left, at)) {
      left.delete(at)
      await ask(worker, { segment: todo[at]!, path: options.pathOf(todo[at]!) })
      if (await options.onSegment?.(todo[at]!)) ended = true
    }
    if (ended) stop()
    await over(worker)
  }
  const timer = setInterval(() => options.onFrames(Atomics.load(counters, doneAt)), tellEveryMs)
  signal?.addEventListener('abort', stop, { once: true })
  try {
    const lanes = Array.from({ length: Math.min(options.workers, todo.length) }, async () => {
      try {
        await lane()
      } catch (error) {
        stop()
        throw error
      }
    })
    const results = await Promise.allSettled(lanes)
    signal?.throwIfAborted()
    const failures = results.flatMap((result) => (result.status === 'rejected' ? [result.reason as unknown] : []))
    // Those that were only told to stop say so; the reason is what the first to fail has to say.
    const reason = failures.find((failure) => !(failure instanceof Error && failure.name === 'AbortError'))
    if (reason !== undefined) throw reason
    if (failures.length > 0 && !ended) throw failures[0]
  } finally {
    clearInterval(timer)
    signal?.removeEventListener('abort', stop)
    stop()
    await Promise.all(workers.map((worker) => worker.terminate()))
    options.onFrames(Atomics.load(counters, doneAt))
  }
}

/** Which of those left to begin, having just made `last` (-1: nothing yet); null where none is left. */
export function nextOf(left: ReadonlySet<number>, last: number): number | null {
  if (left.has(last + 1)) return last + 1
  let best: { from: number; length: number } | null = null
  for (const from of left) {
    if (left.has(from - 1)) continue
    let length = 1
    while (left.has(from + length)) length++
    if (!best || length > best.length || (length === best.length && from < best.from)) best = { from, length }
  }
  // Whoever works on what lies before it will come to its beginning.
  return best && best.from + (best.length >> 1)
}

function ask(worker: Worker, message: ToSegmentWorker): Promise<void> {
  return new Promise((resolve, reject) => {
    const settle = (then: () => void): void => {
      worker.off('message', onMessage)
      worker.off('error', reject)
      worker.off('exit', onExit)
      then()
    }
    const onMessage = (answer: FromSegmentWorker): void => settle(() => (answer.type === 'done' ? resolve() : reject(unpackError(answer.error))))
    const onExit = (code: number): void => settle(() => reject(new Error(`a thread that makes pictures ended by itself (${code})`)))
    worker.on('message', onMessage)
    worker.once('error', reject)
    worker.once('exit', onExit)
    worker.postMessage(message)
  })
}

/** Lets a worker put away what it holds and waits for its end. */
const over = (worker: Worker): Promise<void> =>
  new Promise((resolve) => {
    worker.once('exit', () => resolve())
    worker.postMessage(null)
  })
