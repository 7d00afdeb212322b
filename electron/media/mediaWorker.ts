/**
 * The media process: all that decodes and encodes files for the desk, so that a crash in a decoder cannot take the
 * desk with it. Started by mediaClient.ts; ends when the desk does.
 */
import { asMediaError, stopIfCancelled } from './mediaError.ts'
import type { FromMedia, MediaCallName, MediaCalls, ToMedia } from './mediaMessages.ts'
import { OriginalFrames } from './originalFrame.ts'
import { probe } from './probe.ts'
import { remux } from './remux.ts'
import { makeReviewCopy, type TakeInProgress } from './reviewCopy.ts'
import { measureLoudness, normaliseSpeech } from './sound.ts'

interface Context { signal: AbortSignal, onProgress: (progress: TakeInProgress) => void }

/** Progress goes out so often at most; a bar does not show more. */
const progressEveryMs = 80

const frames = new OriginalFrames()

const calls: { [Name in MediaCallName]: (ask: MediaCalls[Name]['ask'], context: Context) => Promise<MediaCalls[Name]['answer']> } = {
  probe: ({ path }, { signal }) => probe(path, signal),
  reviewCopy: (ask, context) => makeReviewCopy({ ...ask, ...context }),
  remux: (ask, context) => remux({ ...ask, ...context }),
  originalFrame: async ({ pane, ...request }, { signal }) => {
    stopIfCancelled(signal, request.path)
    return frames.get(request, pane, signal)
  },
  release: async ({ path }) => {
    await frames.release(path)
    return null
  },
  loudness: ({ path }, { signal }) => measureLoudness(path, signal),
  normaliseSpeech: ({ path, out, target }, { signal }) => normaliseSpeech(path, out, { ...target, signal }),
  usage: async () => {
    const { user, system } = process.cpuUsage()
    return { memoryBytes: process.memoryUsage().rss, cpuSeconds: (user + system) / 1e6 }
  },
}

const running = new Map<number, AbortController>()

const send = (message: FromMedia) => { process.send?.(message) }

async function answer(message: Exclude<ToMedia, { abort: true }>): Promise<void> {
  const { id, call, ask } = message
  const controller = new AbortController()
  running.set(id, controller)
  let lastProgress = 0
  const onProgress = (progress: TakeInProgress) => {
    const now = performance.now()
    if (progress.framesDone < progress.framesTotal && now - lastProgress < progressEveryMs) return
    lastProgress = now
    send({ id, progress })
  }
  try {
    // The table above ties each name to its question; the compiler cannot follow the pair through a union.
    const run = calls[call] as (ask: unknown, context: Context) => Promise<unknown>
    send({ id, answer: await run(ask, { signal: controller.signal, onProgress }) })
  } catch (thrown) {
    const error = thrown instanceof RangeError ? { kind: 'failed' as const, path: '', detail: thrown.message } : asMediaError(thrown, 'path' in ask ? ask.path ?? '' : '')
    send({ id, error: { kind: error.kind, path: error.path, detail: error.detail } })
  } finally {
    running.delete(id)
  }
}

process.on('message', (message: ToMedia) => {
  if ('abort' in message) running.get(message.id)?.abort()
  else void answer(message)
})
process.on('disconnect', () => process.exit(0))
// A terminal's interrupt reaches the whole group; the desk decides what is stopped.
process.on('SIGINT', () => {})
