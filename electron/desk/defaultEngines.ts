import { join } from 'node:path'
import type { DemoKitOptions } from './demo/kit.ts'
import { OriginalFrames } from '../media/originalFrame.ts'
import { probe, type Probed } from '../media/probe.ts'
import { makeReviewCopy } from '../media/reviewCopy.ts'
import { takenIn, writeClipFiles } from './clipFiles.ts'
import type { Engines, MediaEngine } from './engines.ts'
import { runTask } from './tasks.ts'

function mediaEngine(): MediaEngine {
  const originals = new OriginalFrames()
  return {
    inspect: async (path, { signal } = {}) => void (await probe(path, signal)),
    async takeIn(path, folder, { signal, onProgress } = {}) {
      const probed = await probe(path, signal)
      const review = await makeReviewCopy({
        path, ...probed, out: join(folder, 'review.mp4'),
        ...(signal ? { signal } : {}),
        onProgress: ({ framesDone, framesTotal }) => onProgress?.({ share: framesDone / framesTotal, step: 'Making the review copy' }),
      })
      await writeClipFiles(folder, review)
      return takenIn(probed, review)
    },
    async frame(path, index, frame) {
      const picture = await originals.get({ path, ...(index as Probed), frame }, path)
      return { data: picture.data, width: picture.width, height: picture.height, range: 'limited' }
    },
    close: () => originals[Symbol.asyncDispose](),
  }
}

/** The real ones. `kit` makes the demo smaller or shorter, for tests. */
export function defaultEngines(kit: Pick<DemoKitOptions, 'scale' | 'seconds' | 'only' | 'workers'> = {}): Engines {
  return {
    media: mediaEngine(),
    render: async (request, options) => void (await runTask('render', request, options)),
    kit: (folder, options) => runTask('kit', { folder, options: kit }, options),
  }
}
