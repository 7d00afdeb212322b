import { AV_PIX_FMT_YUV420P, type Frame } from 'node-av'
import type { Size } from '../../shared/picture/layout.ts'
import { effectiveMatrix } from '../media/colour.ts'
import { displayFilter } from '../media/displayFilter.ts'
import { pictureChain, type FilterChain } from '../media/filterChain.ts'
import { frameOfTimestamp, seekPointFor } from '../media/frameIndex.ts'
import { MediaError } from '../media/mediaError.ts'
import { openPictures, type Pictures } from '../media/pictures.ts'
import { probe, type Probed } from '../media/probe.ts'

const bytesOf = (frame: Frame): number => frame.linesize.reduce((sum, line, plane) => sum + line * (plane === 0 ? frame.height : (frame.height + 1) >> 1), 0)

/** A frame of a cache that stays whole until it is let go, even if the cache drops it meanwhile. */
export interface HeldFrame extends Disposable {
  readonly frame: Frame
}

/** One frame of the cache. References to it are counted here: a frame's own copies cost the garbage collector dear. */
class Entry {
  readonly frame: Frame
  readonly bytes: number
  #holds = 1

  constructor(frame: Frame) {
    this.frame = frame
    this.bytes = bytesOf(frame)
  }

  hold(): HeldFrame {
    this.#holds++
    let held = true
    return {
      frame: this.frame,
      [Symbol.dispose]: () => {
        if (held) this.letGo()
        held = false
      },
    }
  }

  letGo(): void {
    if (--this.#holds === 0) this.frame.free()
  }
}

/** As many passing frames are kept whatever their size: two panes, decoded some pictures ahead, once and mirrored. */
const fewest = 24

/**
 * Decoded frames of all clips of a render, least recently used out first, within a number of bytes. Frames of a clip that
 * plays on are wanted for a moment only and get a part of the room: memory that is used again and again is quick, and a
 * heap that grows keeps the garbage collector busy.
 */
export class FrameCache implements Disposable {
  readonly #limit: number
  readonly #passingLimit: number
  #bytes = 0
  #passingBytes = 0
  #passingCount = 0
  readonly #entries = new Map<string, { readonly entry: Entry; readonly passing: boolean }>()

  constructor(limit = 192 << 20) {
    this.#limit = limit
    this.#passingLimit = limit / 4
  }

  get limit(): number {
    return this.#limit
  }

  hold(key: string): HeldFrame | null {
    const known = this.#entries.get(key)
    if (!known) return null
    this.#entries.delete(key)
    this.#entries.set(key, known)
    return known.entry.hold()
  }

  /** Takes the frame over. */
  put(key: string, frame: Frame, passing: boolean): void {
    this.#drop(key)
    const entry = new Entry(frame)
    this.#entries.set(key, { entry, passing })
    this.#bytes += entry.bytes
    if (passing) {
      this.#passingBytes += entry.bytes
      this.#passingCount++
    }
    for (const [oldest, { passing: goes }] of this.#entries) {
      if (oldest === key || (this.#bytes <= this.#limit && (this.#passingBytes <= this.#passingLimit || this.#passingCount <= fewest))) break
      if (goes || this.#bytes > this.#limit) this.#drop(oldest)
    }
  }

  #drop(key: string): void {
    const known = this.#entries.get(key)
    if (!known) return
    const { entry, passing } = known
    this.#entries.delete(key)
    this.#bytes -= entry.bytes
    if (passing) {
      this.#passingBytes -= entry.bytes
      this.#passingCount--
    }
    entry.letGo()
  }

  [Symbol.dispose](): void {
    for (const key of this.#entries.keys()) this.#drop(key)
  }
}

/**
 * The frames of one original by number, as they are shown: upright, 8-bit 4:2:0, BT.709 in limited range. Frames on the
 * way to the wanted one are kept, so that stepping backward through a group of frames decodes it once.
 */
export class ClipFrames implements AsyncDisposable {
  readonly #path: string
  readonly #probed: Probed
  readonly #pictures: Pictures
  readonly #cache: FrameCache
  /** Null where the decoder's own frames can be used as they are. */
  readonly #target: Size | null
  #chain: FilterChain | null = null
  #chainShape = ''
  #turning: FilterChain | null = null
  /** The frame that the decoder gives next, if nothing is amiss. */
  #next = 0
  /** One request at a time. */
  #last: Promise<unknown> = Promise.resolve()

  private constructor(path: string, probed: Probed, pictures: Pictures, cache: FrameCache, target: Size | null) {
    this.#path = path
    this.#probed = probed
    this.#pictures = pictures
    this.#cache = cache
    this.#target = target
  }

  /**
   * @param scale the largest scale from image space to canvas that the clip is shown at; a picture that is converted
   *   anyway, or is far larger than it is ever shown, is kept no larger than that
   * Throws a MediaError.
   */
  static async open(path: string, scale: number, cache: FrameCache, options: { threads?: number; signal?: AbortSignal } = {}): Promise<ClipFrames> {
    const probed = await probe(path, options.signal)
    const pictures = await openPictures(path, options.threads === undefined ? {} : { threads: options.threads })
    const { description } = probed
    const { colour, orientation } = description
    const plain = orientation.rotation === 0 && !orientation.mirrored && !colour.fullRange && !colour.hdr
      && effectiveMatrix(colour, description.stored) === 'bt709' && colour.primaries !== 'bt2020' && colour.primaries !== 'smpte432'
      && pictures.stream.codecpar.format === AV_PIX_FMT_YUV420P
    const part = Math.min(1, scale)
    const even = (side: number): number => Math.max(2, 2 * Math.round((side * part) / 2))
    const target = plain && part > 0.45 ? null : { width: even(description.display.width), height: even(description.display.height) }
    return new ClipFrames(path, probed, pictures, cache, target)
  }

  get count(): number {
    return this.#probed.index.ticks.length
  }

  /** Frame number `index`, held inside the clip, turned left for right where it is wanted mirrored. */
  frame(index: number, mirrored = false): Promise<HeldFrame> {
    const number = Math.min(Math.max(index, 0), this.count - 1)
    const mine = this.#last.then(() => (mirrored ? this.#findMirrored(number) : this.#find(number)))
    this.#last = mine.catch(() => {})
    return mine
  }

  async #findMirrored(wanted: number): Promise<HeldFrame> {
    const key = `${this.#key(wanted)} mirrored`
    const known = this.#cache.hold(key)
    if (known) return known
    using held = await this.#find(wanted)
    const { frame } = held
    this.#turning ??= await pictureChain('hflip', {
      width: frame.width, height: frame.height, format: frame.format, timeBase: { num: 1, den: 1 }, colorSpace: frame.colorSpace, colorRange: frame.colorRange,
    })
    const turned = await through(this.#turning, frame, this.#path)
    this.#cache.put(key, turned, true)
    return this.#cache.hold(key)!
  }

  async #find(wanted: number): Promise<HeldFrame> {
    const known = this.#cache.hold(this.#key(wanted))
    if (known) return known
    const { index } = this.#probed
    const seekPoint = seekPointFor(index, wanted)
    const sought = wanted < this.#next || seekPoint.frame > this.#next
    if (sought) await this.#pictures.seek(seekPoint.timestamp)
    const frameBytes = this.#target ? this.#target.width * this.#target.height * 1.5 : this.#probed.description.stored.width * this.#probed.description.stored.height * 1.5
    const room = Math.max(1, Math.floor(this.#cache.limit / 3 / frameBytes))
    for (;;) {
      const decoded = await this.#pictures.next()
      if (!decoded) break
      const number = frameOfTimestamp(index, decoded.pts)
      this.#next = number + 1
      // Frames that are passed over going forward are not wanted again soon; those on the way back are.
      if (number < 0 || number < wanted && (!sought || number <= wanted - room)) {
        decoded.free()
        continue
      }
      this.#cache.put(this.#key(number), await this.#show(decoded), number >= wanted)
      // A frame that the decoder leaves out is stood for by the one after it.
      if (number >= wanted) return this.#cache.hold(this.#key(number))!
    }
    this.#next = this.count
    for (let before = wanted - 1; before >= Math.max(0, wanted - 8); before--) {
      const stand = this.#cache.hold(this.#key(before))
      if (stand) return stand
    }
    throw new MediaError('damaged', this.#path, `at frame ${wanted + 1} of ${this.count}`)
  }

  /** Takes the decoded frame over and gives the shown one. */
  async #show(decoded: Frame): Promise<Frame> {
    if (!this.#target) return decoded
    using own = decoded
    const shape = `${own.width} ${own.height} ${own.format} ${own.colorSpace} ${own.colorRange}`
    if (shape !== this.#chainShape) {
      this.#chain?.close()
      this.#chain = await pictureChain(displayFilter(this.#probed.description, this.#target), {
        width: own.width, height: own.height, format: own.format, timeBase: { num: 1, den: this.#probed.index.timescale },
        colorSpace: own.colorSpace, colorRange: own.colorRange,
      })
      this.#chainShape = shape
    }
    return through(this.#chain!, own, this.#path)
  }

  #key = (number: number): string => `${this.#path} ${number}`

  async [Symbol.asyncDispose](): Promise<void> {
    await this.#last
    this.#chain?.close()
    this.#turning?.close()
    await this.#pictures.close()
  }
}

async function through(chain: FilterChain, frame: Frame, path: string): Promise<Frame> {
  const made: Frame[] = []
  await chain.push(frame, (out) => void made.push(out))
  const last = made.pop()
  for (const early of made) early.free()
  if (!last) throw new MediaError('failed', path, 'a frame was lost on its way to the screen')
  return last
}
