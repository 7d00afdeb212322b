import { join } from 'node:path'
import { MediaClient } from '../media/mediaClient.ts'
import { MediaError } from '../media/mediaError.ts'
import type { Probed } from '../media/probe.ts'
import { takenIn, writeClipFiles } from './clipFiles.ts'
import type { MediaEngine, OriginalFrame } from './engines.ts'

/** Waiting for one clip's frames beyond this many, the oldest are for places the coach has long left. */
const mostWaiting = 3

interface Waiting {
  readonly path: string
  readonly signal: AbortSignal | undefined
  readonly make: () => Promise<OriginalFrame>
  readonly resolve: (frame: OriginalFrame) => void
  readonly reject: (error: Error) => void
}

/** One frame at a time; whoever has gone meanwhile is passed over. */
class FrameQueue {
  readonly #waiting: Waiting[] = []
  #busy = false

  ask(path: string, signal: AbortSignal | undefined, make: () => Promise<OriginalFrame>): Promise<OriginalFrame> {
    return new Promise((resolve, reject) => {
      this.#waiting.push({ path, signal, make, resolve, reject })
      const same = this.#waiting.filter((each) => each.path === path)
      for (const old of same.slice(0, Math.max(0, same.length - mostWaiting))) {
        this.#waiting.splice(this.#waiting.indexOf(old), 1)
        old.reject(new MediaError('superseded', path))
      }
      void this.#work()
    })
  }

  async #work(): Promise<void> {
    if (this.#busy) return
    this.#busy = true
    for (let next = this.#waiting.shift(); next; next = this.#waiting.shift()) {
      if (next.signal?.aborted) next.reject(new MediaError('cancelled', next.path))
      else await next.make().then(next.resolve, next.reject)
    }
    this.#busy = false
  }
}

/** The media engine over two media processes: one takes in, the other serves pictures at rest, so that neither waits for the other. */
export function createMediaEngine(): MediaEngine {
  const takeIn = new MediaClient()
  const rest = new MediaClient()
  const queue = new FrameQueue()
  return {
    inspect: async (path, { signal } = {}) => void (await takeIn.probe(path, signal)),
    async takeIn(path, folder, { signal, onProgress } = {}) {
      const probed = await takeIn.probe(path, signal)
      const review = await takeIn.makeReviewCopy({
        path,
        ...probed,
        out: join(folder, 'review.mp4'),
        ...(signal ? { signal } : {}),
        onProgress: ({ framesDone, framesTotal }) => onProgress?.({ share: framesDone / framesTotal, step: 'Making the review copy' }),
      })
      await writeClipFiles(folder, review)
      return takenIn(probed, review)
    },
    async strip(path, out, { signal, onProgress } = {}) {
      const { index, ...written } = await takeIn.remux({
        path, out, ...(signal ? { signal } : {}),
        onProgress: ({ framesDone, framesTotal }) => onProgress?.({ share: framesDone / framesTotal, step: 'Copying the pictures without their tags' }),
      })
      return { ...written, frames: { timescale: index.timescale, ticks: index.ticks, endTick: index.endTick } }
    },
    frame: (path, index, frame, { signal } = {}) =>
      queue.ask(path, signal, async () => {
        // The index is what takeIn answered, back from the library.
        const { description, index: media } = index as Probed
        const { data, width, height } = await rest.originalFrame({ path, description, index: media, frame }, 'only', signal)
        return { data, width, height, range: 'limited' }
      }),
    release: (path) => rest.release(path),
    async close() {
      await Promise.all([takeIn.close(), rest.close()])
    },
  }
}
