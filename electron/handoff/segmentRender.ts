import { Packet, type CodecContext } from 'node-av'
import type { Size } from '../../shared/picture/layout.ts'
import { encodeHere } from '../media/encoders.ts'
import { Composer } from './composer.ts'
import { openHandoffEncoder } from './handoffVideo.ts'
import type { LessonFrames } from './lessonFrames.ts'
import { openClips, type OpenClips, type ProbedClip } from './openClips.ts'
import type { PacketRun, StoredPacket } from './packetFile.ts'
import type { PlannedSegment } from './segmentKey.ts'

export interface SegmentLook {
  readonly size: Size
  readonly fps: number
  readonly crf: number
}

/**
 * Makes segments, one after another, in the caller's own thread. Each has an encoder of its own with one thread, so that its
 * bits depend on nothing that went before nor on how many are made at once.
 */
export class SegmentRender implements AsyncDisposable {
  readonly #frames: LessonFrames
  readonly #look: SegmentLook
  readonly #clips: OpenClips
  readonly #composer: Composer

  constructor(frames: LessonFrames, clips: Readonly<Record<string, ProbedClip>>, look: SegmentLook) {
    this.#frames = frames
    this.#look = look
    this.#clips = openClips(clips, true)
    this.#composer = new Composer(look.size, this.#clips.frame)
  }

  /** @param each hears of every picture that is done; what it throws ends the work */
  async render({ first, count, scales }: PlannedSegment, each: () => void): Promise<PacketRun> {
    const { size, fps, crf } = this.#look
    this.#clips.fit(scales)
    const encoder = await openHandoffEncoder({ ...size, fps, crf, threads: 1 })
    using packet = new Packet()
    packet.alloc()
    const packets: StoredPacket[] = []
    const take = (made: Packet): void => void packets.push({ pts: Number(made.pts), duration: 1, key: made.isKeyframe, data: made.data! })
    try {
      for (let n = 0; n < count; n++) {
        const frame = await this.#composer.compose(this.#frames.at(first + n))
        frame.pts = BigInt(n)
        encodeHere(encoder, frame, packet, take)
        each()
      }
      encodeHere(encoder, null, packet, take)
      return { extradata: extradataOf(encoder), packets }
    } finally {
      encoder.freeContext()
    }
  }

  async [Symbol.asyncDispose](): Promise<void> {
    this.#composer[Symbol.dispose]()
    await this.#clips[Symbol.asyncDispose]()
  }
}

const extradataOf = (encoder: CodecContext): Buffer => Buffer.from(encoder.extraData ?? [])
