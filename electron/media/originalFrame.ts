import { avImageCopyToBuffer, avImageGetBufferSize, AV_PIX_FMT_YUV420P, type Frame } from 'node-av'
import { FrameReader } from './decodeFrames.ts'
import { displayFilter } from './displayFilter.ts'
import { pictureChain, type FilterChain } from './filterChain.ts'
import { must } from './ffmpeg.ts'
import type { MediaIndex } from './frameIndex.ts'
import { asMediaError, MediaError } from './mediaError.ts'
import type { MediaDescription } from './probe.ts'

/**
 * A picture ready for a WebCodecs VideoFrame: `new VideoFrame(data, { format, codedWidth: width, codedHeight: height,
 * timestamp, colorSpace })`. Upright, square pixels, 8 bits, colours as in the review copy.
 */
export interface OriginalFrame {
  format: 'I420'
  width: number
  height: number
  /** Y, then U, then V, rows without padding; chroma is (width + 1) / 2 by (height + 1) / 2. */
  data: Uint8Array<ArrayBuffer>
  colorSpace: { primaries: 'bt709', transfer: 'bt709', matrix: 'bt709', fullRange: false }
  frame: number
  tick: number
}

export interface OriginalFrameRequest {
  path: string
  description: Pick<MediaDescription, 'stored' | 'display' | 'orientation' | 'colour'>
  index: MediaIndex
  frame: number
}

/** One clip open with its filters. */
interface Opened {
  path: string
  reader: FrameReader
  chain: FilterChain | null
}

/**
 * Single frames of originals at full resolution, for a pane at rest. The clips last used (two, for two panes) stay
 * open, so that a neighbour of the last frame costs one decode. Of overlapping requests for one `pane` only the latest
 * is answered; the others reject with MediaError `superseded`.
 */
export class OriginalFrames implements AsyncDisposable {
  readonly #open: Opened[] = []
  readonly #latest = new Map<string, AbortController>()
  readonly #mostOpen: number
  #last: Promise<unknown> = Promise.resolve()

  constructor(mostOpen = 2) {
    this.#mostOpen = mostOpen
  }

  /**
   * @param pane requests of one pane supersede each other, requests of different panes wait for each other
   * @param signal that nobody waits for it any more: decoding stops where it is and leaves the processor to what is wanted now
   */
  async get(request: OriginalFrameRequest, pane = 'only', signal?: AbortSignal): Promise<OriginalFrame> {
    const mine = new AbortController()
    const give = (): void => mine.abort()
    if (signal?.aborted) give()
    signal?.addEventListener('abort', give, { once: true })
    this.#latest.get(pane)?.abort()
    this.#latest.set(pane, mine)
    const answer = this.#last.then(() => this.#make(request, mine.signal))
    this.#last = answer.catch(() => {})
    try {
      return await answer
    } catch (error) {
      if (mine.signal.aborted) throw new MediaError('superseded', request.path)
      throw error instanceof RangeError ? error : asMediaError(error, request.path)
    } finally {
      signal?.removeEventListener('abort', give)
      if (this.#latest.get(pane) === mine) this.#latest.delete(pane)
    }
  }

  async #make(request: OriginalFrameRequest, signal: AbortSignal): Promise<OriginalFrame> {
    if (signal.aborted) throw new MediaError('superseded', request.path)
    const opened = await this.#clip(request)
    using stored = await opened.reader.frameAt(request.frame, signal)
    const { display, colour } = request.description
    opened.chain ??= await pictureChain(displayFilter(request.description, display), {
      width: stored.width, height: stored.height, format: stored.format, timeBase: { num: 1, den: request.index.timescale },
      colorSpace: stored.colorSpace, colorRange: stored.colorRange,
    }, colour.hdr ? 2 : 1)
    let data: Uint8Array<ArrayBuffer> | null = null
    await opened.chain.push(stored, (shown) => {
      using own = shown
      data = packedI420(own)
    })
    if (!data) throw new MediaError('failed', request.path, 'the picture did not come out of its filters')
    return {
      format: 'I420', width: display.width, height: display.height, data, frame: request.frame, tick: request.index.ticks[request.frame]!,
      colorSpace: { primaries: 'bt709', transfer: 'bt709', matrix: 'bt709', fullRange: false },
    }
  }

  async #clip(request: OriginalFrameRequest): Promise<Opened> {
    const at = this.#open.findIndex((opened) => opened.path === request.path)
    const found = at >= 0 ? this.#open.splice(at, 1)[0]! : null
    const opened = found ?? { path: request.path, reader: await FrameReader.open(request.path, request.index), chain: null }
    this.#open.unshift(opened)
    for (const old of this.#open.splice(this.#mostOpen)) await closeClip(old)
    return opened
  }

  /** Lets go of one clip's file, so that it can be deleted; of all when no path is given. */
  async release(path?: string): Promise<void> {
    const done = this.#last.then(async () => {
      for (const opened of this.#open.filter((each) => path === undefined || each.path === path)) {
        this.#open.splice(this.#open.indexOf(opened), 1)
        await closeClip(opened)
      }
    })
    this.#last = done.catch(() => {})
    await done
  }

  async [Symbol.asyncDispose](): Promise<void> {
    for (const request of this.#latest.values()) request.abort()
    await this.release()
  }
}

async function closeClip(opened: Opened): Promise<void> {
  opened.chain?.close()
  await opened.reader.close()
}

function packedI420(frame: Frame): Uint8Array<ArrayBuffer> {
  const size = must(avImageGetBufferSize(AV_PIX_FMT_YUV420P, frame.width, frame.height, 1), 'measure a picture')
  const out = new Uint8Array(size)
  must(avImageCopyToBuffer(Buffer.from(out.buffer), size, frame.data, frame.linesize, AV_PIX_FMT_YUV420P, frame.width, frame.height, 1), 'copy a picture')
  return out
}
