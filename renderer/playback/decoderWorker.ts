/** The decoder's worker: one for each open clip. See protocol.ts for what it understands. */
import { FrameDecoder, type DecoderParts } from './frameDecoder.ts'
import { openPackets, type PacketReader } from './packetReader.ts'
import { PlaybackError, type FromWorker, type ToWorker } from './protocol.ts'
import type { Picture } from './sharedPicture.ts'
import { Shrinker } from './shrinker.ts'

/** The worker's own end; the page's types are the only ones at hand, so this says what is used of it. */
interface WorkerEnd {
  postMessage(message: FromWorker, transfer?: Transferable[]): void
  close(): void
  onmessage: ((event: MessageEvent<ToWorker>) => void) | null
}
const end = self as unknown as WorkerEnd

const parts: DecoderParts = {
  makeDecoder: (output, error) => new VideoDecoder({ output, error }),
  makeChunk: (init) => new EncodedVideoChunk(init),
}

let reader: PacketReader | null = null
let decoder: FrameDecoder | null = null
let pending: Extract<ToWorker, { type: 'want' }> | null = null
let disposed = false
let shrinker: Shrinker | null = null
/** The newest want that a frame was decoded for. */
let newest = 0

function problem(error: unknown, fatal: boolean): void {
  const typed = error instanceof PlaybackError ? error : new PlaybackError({
    kind: 'decoder-failed', frame: null, message: `Playing this clip failed (${error instanceof Error ? error.message : String(error)}). Open it again.`,
  })
  end.postMessage({ type: 'problem', problem: typed.toProblem(), fatal })
}

async function open(url: string, frames: number, budgetBytes: number): Promise<void> {
  const began = performance.now()
  const opened = await openPackets(url, frames)
  if (disposed) {
    opened.dispose()
    return
  }
  const { supported } = await VideoDecoder.isConfigSupported(opened.config)
  if (!supported) {
    opened.dispose()
    throw new PlaybackError({ kind: 'not-decodable', frame: null, message: 'This computer cannot decode the review copy. Have it made again from the clip\'s menu.' })
  }
  reader = opened
  decoder = new FrameDecoder({
    isKey: opened.isKey, config: opened.config, read: opened.read, budgetBytes, parts,
    deliver: (serial, index, frame) => {
      const send = (picture: Picture): void => end.postMessage({ type: 'frame', serial, index, frame: picture }, [picture])
      const by = shrinker
      if (!by) send(frame)
      else {
        newest = Math.max(newest, serial)
        // In a drag faster than this, only the latest of those that were passed over is worth the work.
        void by.shrink(frame, () => serial === newest || (decoder?.wants(index) ?? false)).then((picture) => {
          // Of another size by now, it goes out again by itself if it is still wanted.
          if (disposed || by !== shrinker) picture?.close()
          else if (picture) send(picture)
        })
      }
    },
    fail: problem,
  })
  end.postMessage({
    type: 'opened',
    copy: { frames: opened.isKey.length, width: opened.width, height: opened.height, allKeys: opened.isKey.every(Boolean), indexMs: performance.now() - began },
  })
  if (pending) decoder.want(pending.serial, pending.index, pending.ahead)
}

end.onmessage = ({ data }) => {
  if (data.type === 'open') open(data.url, data.frames, data.budgetBytes).catch((error: unknown) => problem(error, true))
  else if (data.type === 'want') {
    if (decoder) decoder.want(data.serial, data.index, data.ahead)
    else pending = data
  } else if (data.type === 'size') {
    shrinker = data.size && new Shrinker(data.size)
    decoder?.sendAgain()
  } else if (data.type === 'stats') {
    end.postMessage({
      type: 'stats', reply: data.reply,
      stats: decoder?.stats ?? { decoded: 0, restarts: 0, cachedFrames: 0, cachedBytes: 0, peakBytes: 0, budgetBytes: 0 },
    })
  } else {
    disposed = true
    decoder?.dispose()
    reader?.dispose()
    void (shrinker?.idle ?? Promise.resolve()).then(() => {
      end.postMessage({ type: 'disposed' })
      end.close()
    })
  }
}
