import { AV_PIX_FMT_YUV420P, type Frame } from 'node-av'
import type { Size } from '../../shared/picture/layout.ts'
import { effectiveMatrix } from '../media/colour.ts'
import { displayFilter } from '../media/displayFilter.ts'
import { pictureChain, type FilterChain } from '../media/filterChain.ts'
import { frameOfTimestamp, seekPointFor } from '../media/frameIndex.ts'
import { MediaError } from '../media/mediaError.ts'
import { openPictures, type Pictures } from '../media/pictures.ts'
import type { Probed } from '../media/probe.ts'
import type { FrameCache, HeldFrame } from './frameCache.ts'

/**
 * The frames of one original by number, as they are shown: upright, 8-bit 4:2:0, BT.709 in limited range. Frames on the
 * way to the wanted one are kept, so that stepping backward through a group of frames decodes it once.
 */
export class ClipFrames implements AsyncDisposable {
  readonly #path: string
  readonly #probed: Probed
  readonly #pictures: Pictures
  readonly #cache: FrameCache
  /** The decoder's own frames may be used as they are. */
  readonly #plain: boolean
  readonly #here: boolean
  /** Null where they are. */
  #target: Size | null = null
  #chain: FilterChain | null = null
  #chainShape = ''
  #turning: FilterChain | null = null
  #turningShape = ''
  /** The frame that the decoder gives next, if nothing is amiss. */
  #next = 0
  /** One request at a time. */
  #last: Promise<unknown> = Promise.resolve()

  private constructor(path: string, probed: Probed, pictures: Pictures, cache: FrameCache, here: boolean) {
    this.#path = path
    this.#probed = probed
    this.#pictures = pictures
    this.#cache = cache
    this.#here = here
    const { colour, orientation, stored } = probed.description
    this.#plain = orientation.rotation === 0 && !orientation.mirrored && !colour.fullRange && !colour.hdr
      && effectiveMatrix(colour, stored) === 'bt709' && colour.primaries !== 'bt2020' && colour.primaries !== 'smpte432'
      && pictures.stream.codecpar.format === AV_PIX_FMT_YUV420P
  }

  /**
   * @param here decode in the caller's own thread, which has nothing else to do
   * Throws a MediaError.
   */
  static async open(path: string, probed: Probed, cache: FrameCache, here: boolean): Promise<ClipFrames> {
    const clip = new ClipFrames(path, probed, await openPictures(path, { threads: 1, here }), cache, here)
    clip.fit(1)
    return clip
  }

  get count(): number {
    return this.#probed.index.ticks.length
  }

  /**
   * Says how large the clip is shown from here on, before the next frame is asked for: the largest scale from image space to
   * canvas. A picture that is converted anyway, or is far larger than it is shown, is made no larger than that.
   */
  fit(scale: number): void {
    const part = Math.min(1, scale)
    const { display } = this.#probed.description
    const even = (side: number): number => Math.max(2, 2 * Math.round((side * part) / 2))
    this.#target = this.#plain && part > 0.45 ? null : { width: even(display.width), height: even(display.height) }
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
    const shape = `${frame.width} ${frame.height}`
    if (shape !== this.#turningShape) {
      this.#turning?.close()
      this.#turning = await pictureChain('hflip', {
        width: frame.width, height: frame.height, format: frame.format, timeBase: { num: 1, den: 1 }, colorSpace: frame.colorSpace, colorRange: frame.colorRange,
      })
      this.#turningShape = shape
    }
    this.#cache.put(key, await this.#through(this.#turning!, frame), true)
    return this.#cache.hold(key)!
  }

  async #find(wanted: number): Promise<HeldFrame> {
    const known = this.#cache.hold(this.#key(wanted))
    if (known) return known
    const { index } = this.#probed
    const seekPoint = seekPointFor(index, wanted)
    const sought = wanted < this.#next || seekPoint.frame > this.#next
    if (sought) await this.#pictures.seek(seekPoint.timestamp)
    const { width, height } = this.#target ?? this.#probed.description.stored
    const room = Math.max(1, Math.floor(this.#cache.limit / 3 / (width * height * 1.5)))
    // Frames that are passed over going forward are not wanted again soon; those on the way back are.
    const unwanted = (number: number): boolean => number < wanted && (!sought || number <= wanted - room)
    this.#pictures.passOver = (pts) => unwanted(frameOfTimestamp(index, pts))
    for (;;) {
      const decoded = await this.#pictures.next()
      if (!decoded) break
      const number = frameOfTimestamp(index, decoded.pts)
      this.#next = number + 1
      if (number < 0 || unwanted(number)) {
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
    const { width, height } = this.#target
    const shape = `${own.width} ${own.height} ${own.format} ${own.colorSpace} ${own.colorRange} ${width} ${height}`
    if (shape !== this.#chainShape) {
      this.#chain?.close()
      this.#chain = await pictureChain(displayFilter(this.#probed.description, this.#target), {
        width: own.width, height: own.height, format: own.format, timeBase: { num: 1, den: this.#probed.index.timescale },
        colorSpace: own.colorSpace, colorRange: own.colorRange,
      })
      this.#chainShape = shape
    }
    return this.#through(this.#chain!, own)
  }

  async #through(chain: FilterChain, frame: Frame): Promise<Frame> {
    const made: Frame[] = []
    const take = (out: Frame): void => void made.push(out)
    if (this.#here) chain.pushHere(frame, take)
    else await chain.push(frame, take)
    const last = made.pop()
    for (const early of made) early.free()
    if (!last) throw new MediaError('failed', this.#path, 'a frame was lost on its way to the screen')
    return last
  }

  #key = (number: number): string => `${this.#path} ${this.#target?.width ?? 0} ${number}`

  async [Symbol.asyncDispose](): Promise<void> {
    await this.#last
    this.#chain?.close()
    this.#turning?.close()
    await this.#pictures.close()
  }
}
