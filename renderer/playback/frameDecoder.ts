import { groupStarts, keepingCost, nextPacket } from './decodePlan.ts'
import { FrameCache } from './frameCache.ts'
import { PlaybackError, type DecoderStats } from './protocol.ts'

/** What this needs of a VideoDecoder; a test brings its own. */
export interface DecoderLike {
  readonly state: CodecState
  configure(config: VideoDecoderConfig): void
  decode(chunk: EncodedVideoChunk): void
  flush(): Promise<void>
  close(): void
}

export interface DecoderParts {
  /** Makes a decoder and an encoded chunk: the browser's own, or a test's. */
  makeDecoder(output: (frame: VideoFrame) => void, error: (error: Error) => void): DecoderLike
  makeChunk(init: EncodedVideoChunkInit): EncodedVideoChunk
}

export interface FrameDecoderOptions {
  readonly isKey: readonly boolean[]
  readonly config: VideoDecoderConfig
  readonly read: (index: number) => Promise<Uint8Array>
  /** Bytes of decoded pictures that may be held. */
  readonly budgetBytes: number
  /** Takes the frame over. `serial` is of the want that asked for it. */
  readonly deliver: (serial: number, index: number, frame: VideoFrame) => void
  readonly fail: (error: PlaybackError, fatal: boolean) => void
  readonly parts: DecoderParts
}

/** Frame numbers travel through the decoder as timestamps, a millisecond apart so that no decoder's rounding joins two. */
const stampStep = 1000
/** Packets given to the decoder and not yet come out: enough to keep it busy, few enough to turn round at once. */
const firstDepth = 2
const mostDepth = 16
/** A decoder silent for so long is waiting for more packets, or for pictures to be given back. Milliseconds. */
const silence = 60
const stall = 400
const dead = 4000
/** So many pictures after a stall the full budget is tried again, after twice as many each time it stalls. */
const steady = 60

/**
 * Decodes frames by number. The newest want wins: its frame first, then the frames ahead, through as few packets as
 * their groups allow. What comes out on the way is kept within the budget.
 */
export class FrameDecoder {
  readonly #o: FrameDecoderOptions
  readonly #starts: Uint32Array
  readonly #cache: FrameCache<VideoFrame>
  #decoder: DecoderLike | null = null
  #generation = 0
  /** Last packet fed since the decoder began at a key packet, or -1. */
  #fed = -1
  /** Fed and not yet come out, in order. */
  #inFlight: number[] = []
  #depth = firstDepth
  #wanted: { serial: number, index: number } | null = null
  #ahead: readonly number[] = []
  #direction: 1 | -1 = 1
  /** Frames of the present want that the receiver already holds. */
  #sent = new Set<number>()
  /** The want for whose sake a packet in flight was fed. */
  readonly #askedBy = new Map<number, number>()
  #newestSent = 0
  readonly #strikes = new Map<number, number>()
  #failuresInARow = 0
  #decoded = 0
  #restarts = 0
  #pumping = false
  #disposed = false
  #frameBytes: number
  #quietSince = 0
  #isStalled = false
  #stalls = 0
  #sinceStall = 0
  #watch: ReturnType<typeof setTimeout> | null = null
  #flushing = false

  constructor(options: FrameDecoderOptions) {
    this.#o = options
    this.#starts = groupStarts(options.isKey)
    this.#cache = new FrameCache(options.budgetBytes)
    this.#frameBytes = Math.ceil((options.config.codedWidth ?? 1280) * (options.config.codedHeight ?? 1280) * 1.5)
  }

  /** Asks for a frame and, after it, those `ahead` in their order. Replaces the want before it. */
  want(serial: number, index: number, ahead: readonly number[]): void {
    if (this.#disposed) return
    const before = this.#wanted?.index ?? index
    if (index !== before) this.#direction = index > before ? 1 : -1
    this.#wanted = { serial, index }
    this.#ahead = ahead.filter((at) => at !== index)
    const listed = new Set([index, ...this.#ahead])
    for (const at of this.#sent) if (!listed.has(at)) this.#sent.delete(at)
    for (const at of listed) this.#send(at)
    if (this.#isDamaged(index)) this.#reportDamage(index)
    void this.#pump()
  }

  /** Whether a frame is part of the present want. */
  wants(index: number): boolean {
    return index === this.#wanted?.index || this.#ahead.includes(index)
  }

  /** What the receiver has of the present want is of no use to it any more: all of it that is held goes out again. */
  sendAgain(): void {
    this.#sent.clear()
    if (this.#wanted) for (const at of [this.#wanted.index, ...this.#ahead]) this.#send(at)
    void this.#pump()
  }

  get stats(): DecoderStats {
    return {
      decoded: this.#decoded, restarts: this.#restarts, cachedFrames: this.#cache.size,
      cachedBytes: this.#cache.bytes, peakBytes: this.#cache.peak, budgetBytes: this.#cache.budget,
    }
  }

  dispose(): void {
    this.#disposed = true
    this.#drop()
    this.#cache.clear()
  }

  /** The next packet to feed and the frame it is for, or null where nothing is left to do. */
  #next(): { packet: number, target: number } | null {
    if (!this.#wanted) return null
    // The budget and the pictures' size may change while a want stands: more than fits would be decoded over and over.
    const room = Math.max(0, Math.floor(this.#cache.budget / this.#frameBytes) - 2)
    for (const target of [this.#wanted.index, ...this.#ahead.slice(0, room)]) {
      if (this.#sent.has(target) || this.#cache.has(target) || this.#inFlight.includes(target) || this.#isDamaged(target)) continue
      return { packet: nextPacket(this.#starts, target, this.#fed), target }
    }
    return null
  }

  async #pump(): Promise<void> {
    if (this.#pumping) return
    this.#pumping = true
    try {
      let passedOver = 0
      for (let job = this.#next(); job && !this.#disposed && !this.#flushing && this.#inFlight.length < this.#depth; job = this.#next()) {
        const generation = this.#generation
        const { packet, target } = job
        const data = await this.#o.read(packet)
        if (this.#disposed) return
        // The want may have moved on while the bytes came. Once is skipped; twice in a row is fed, so that a drag
        // faster than the file still shows something.
        if (this.#flushing || (this.#next()?.packet !== packet && passedOver++ < 1)) continue
        if (generation !== this.#generation || (!this.#o.isKey[packet] && this.#fed !== packet - 1)) continue
        passedOver = 0
        this.#feed(packet, target, data)
      }
    } catch (error) {
      if (!this.#disposed) {
        this.#wanted = null
        this.#o.fail(error instanceof PlaybackError ? error : failed(error), false)
      }
    } finally {
      this.#pumping = false
    }
  }

  #feed(packet: number, target: number, data: Uint8Array): void {
    const decoder = this.#decoder ?? this.#start()
    if (target === packet && this.#wanted?.index === target) this.#askedBy.set(packet, this.#wanted.serial)
    this.#inFlight.push(packet)
    this.#fed = packet
    try {
      decoder.decode(this.#o.parts.makeChunk({ type: this.#o.isKey[packet] ? 'key' : 'delta', timestamp: packet * stampStep, data }))
    } catch (error) {
      this.#failed(error)
      return
    }
    if (this.#inFlight.length === 1) this.#quietSince = performance.now()
    this.#watchOver()
  }

  #start(): DecoderLike {
    const generation = ++this.#generation
    const decoder = this.#o.parts.makeDecoder(
      (frame) => {
        if (generation === this.#generation && !this.#disposed) this.#take(frame)
        else frame.close()
      },
      (error) => { if (generation === this.#generation && !this.#disposed) this.#failed(error) },
    )
    decoder.configure({ ...this.#o.config, optimizeForLatency: true, hardwareAcceleration: 'no-preference' })
    this.#decoder = decoder
    return decoder
  }

  /** A picture came out of the decoder. */
  #take(frame: VideoFrame): void {
    const index = Math.round(frame.timestamp / stampStep)
    const place = this.#inFlight.indexOf(index)
    if (place >= 0) this.#inFlight.splice(0, place + 1)
    this.#quietSince = performance.now()
    this.#decoded++
    this.#failuresInARow = 0
    this.#frameBytes = pictureBytes(frame)
    this.#recover()
    const asked = this.#askedBy.get(index)
    this.#askedBy.delete(index)
    const listed = this.wants(index)
    // A frame that was wanted a moment ago is still worth a glance, unless a newer one has been sent since.
    if (!listed && asked !== undefined && asked > this.#newestSent) {
      this.#newestSent = asked
      this.#o.deliver(asked, index, frame.clone())
    }
    this.#cache.put(index, frame, this.#frameBytes, this.#cost)
    this.#send(index)
    void this.#pump()
  }

  /** Sends a frame that is held, wanted and not yet with the receiver. */
  #send(index: number): void {
    const frame = this.#cache.get(index)
    if (!frame || !this.#wanted || this.#sent.has(index)) return
    if (!this.wants(index)) return
    this.#sent.add(index)
    if (index === this.#wanted.index) this.#newestSent = this.#wanted.serial
    this.#o.deliver(this.#wanted.serial, index, frame.clone())
  }

  readonly #cost = (index: number): number => keepingCost(index, this.#wanted?.index ?? index, this.#ahead, this.#direction)

  /** Puts the decoder right where it goes silent: asks it to finish, then gives pictures back, then starts anew. */
  #watchOver(): void {
    if (this.#watch !== null || this.#inFlight.length === 0) return
    this.#watch = setTimeout(() => {
      this.#watch = null
      if (this.#disposed || this.#inFlight.length === 0) return
      const quiet = performance.now() - this.#quietSince
      if (quiet > dead) {
        this.#failed(new Error('the decoder no longer answers'))
        return
      }
      if (quiet > stall) {
        this.#isStalled = true
        this.#cache.resize(Math.max(4 * this.#frameBytes, Math.floor(this.#cache.bytes / 2)), this.#cost)
      } else if (quiet > silence && !this.#flushing) this.#finish()
      this.#watchOver()
    }, silence)
  }

  /** A stall may have been the computer's and not the decoder's: what was given up for it comes back after a while. */
  #recover(): void {
    if (this.#isStalled) {
      this.#isStalled = false
      this.#stalls++
      this.#sinceStall = 0
    } else if (this.#cache.budget < this.#o.budgetBytes && ++this.#sinceStall >= steady * 2 ** this.#stalls) this.#cache.resize(this.#o.budgetBytes, this.#cost)
  }

  /** Has the decoder put out all it holds. It begins again at a key packet. */
  #finish(): void {
    const generation = this.#generation
    this.#flushing = true
    this.#depth = Math.min(this.#depth + 2, mostDepth)
    this.#fed = -1
    this.#decoder?.flush().catch(() => undefined).finally(() => {
      if (generation !== this.#generation || this.#disposed) return
      this.#flushing = false
      // Whatever has not come out by now never will.
      for (const index of this.#inFlight) this.#strikes.set(index, (this.#strikes.get(index) ?? 0) + 1)
      this.#inFlight = []
      void this.#pump()
    })
  }

  /** The decoder broke: the first packet that did not come out is to blame. Start again once; then say so. */
  #failed(error: unknown): void {
    const culprit = this.#inFlight[0]
    this.#drop()
    this.#restarts++
    if (culprit !== undefined) this.#strikes.set(culprit, (this.#strikes.get(culprit) ?? 0) + 1)
    if (++this.#failuresInARow > 1 && this.#decoded === 0) {
      this.#disposed = true
      this.#cache.clear()
      this.#o.fail(failed(error), true)
      return
    }
    if (this.#wanted && this.#isDamaged(this.#wanted.index)) this.#reportDamage(this.#wanted.index)
    void this.#pump()
  }

  #drop(): void {
    this.#generation++
    if (this.#decoder && this.#decoder.state !== 'closed') this.#decoder.close()
    this.#decoder = null
    this.#fed = -1
    this.#inFlight = []
    this.#askedBy.clear()
    this.#flushing = false
    if (this.#watch !== null) clearTimeout(this.#watch)
    this.#watch = null
  }

  /** Twice the decoder broke on this frame, or on one it hangs on. */
  #isDamaged(index: number): boolean {
    if (this.#strikes.size === 0) return false
    for (let at = this.#starts[index] ?? 0; at <= index; at++) if ((this.#strikes.get(at) ?? 0) >= 2) return true
    return false
  }

  #reportDamage(index: number): void {
    this.#o.fail(new PlaybackError({
      kind: 'frame-damaged', frame: index,
      message: `Frame ${index + 1} of the review copy is damaged. The rest plays; have the copy made again from the clip's menu.`,
    }), false)
  }
}

/** Bytes of a decoded picture; a picture on the graphics card tells no format and counts as 8-bit 4:2:0. */
function pictureBytes(frame: VideoFrame): number {
  return frame.format ? frame.allocationSize() : Math.ceil(frame.codedWidth * frame.codedHeight * 1.5)
}

function failed(error: unknown): PlaybackError {
  const why = error instanceof Error ? error.message : String(error)
  return new PlaybackError({ kind: 'decoder-failed', frame: null, message: `This computer's video decoder failed twice (${why}). Open the clip again, or have its review copy made again.` })
}
