import {
  AV_CHANNEL_LAYOUT_MONO,
  AV_LOG_QUIET,
  AV_PIX_FMT_YUV420P,
  AV_SAMPLE_FMT_FLTP,
  AVCOL_PRI_BT709,
  AVCOL_RANGE_MPEG,
  AVCOL_SPC_BT709,
  AVCOL_TRC_BT709,
  Dictionary,
  Encoder,
  FF_ENCODER_AAC,
  FF_ENCODER_LIBX264,
  Frame,
  Log,
  Muxer,
  Rational,
} from 'node-av'
import { sampleRate } from './sound.ts'

Log.setLevel(AV_LOG_QUIET)

export interface ClipFileOptions {
  readonly widthPx: number
  readonly heightPx: number
  readonly playRate: number
  readonly timescale: number
  /** Written as phones write it, where the world was sampled faster than the file plays. */
  readonly captureRate: number
}

/** An H.264 and AAC file in the making: frames in order, then the sound, then `close`. */
export class ClipFile {
  readonly #muxer: Muxer
  readonly #video: Encoder
  readonly #audio: Encoder
  readonly #videoAt: number
  readonly #audioAt: number
  readonly #options: ClipFileOptions
  #frames = 0

  private constructor(muxer: Muxer, video: Encoder, audio: Encoder, options: ClipFileOptions) {
    this.#muxer = muxer
    this.#video = video
    this.#audio = audio
    this.#videoAt = muxer.addStream(video)
    this.#audioAt = muxer.addStream(audio)
    this.#options = options
  }

  static async open(path: string, options: ClipFileOptions): Promise<ClipFile> {
    const rate = Math.round(options.playRate)
    const video = await Encoder.create(FF_ENCODER_LIBX264, {
      context: {
        gopSize: rate,
        maxBFrames: 0,
        threadCount: 1,
        framerate: new Rational(rate, 1),
        colorSpace: AVCOL_SPC_BT709,
        colorPrimaries: AVCOL_PRI_BT709,
        colorTrc: AVCOL_TRC_BT709,
        colorRange: AVCOL_RANGE_MPEG,
      },
      options: { preset: 'superfast', crf: 19 },
    })
    const audio = await Encoder.create(FF_ENCODER_AAC, { context: { bitRate: '96k' } })
    const slow = options.captureRate !== options.playRate
    const muxer = await Muxer.open(path, {
      format: 'mp4',
      options: { movflags: slow ? '+faststart+use_metadata_tags' : '+faststart', video_track_timescale: options.timescale },
      configure: (container) => {
        if (slow) container.metadata = Dictionary.fromObject({ 'com.android.capture.fps': String(options.captureRate) })
      },
    })
    return new ClipFile(muxer, video, audio, options)
  }

  /** The next frame, planar 4:2:0. */
  async frame(planes: Uint8Array): Promise<void> {
    const { widthPx: width, heightPx: height, playRate, timescale } = this.#options
    using frame = Frame.fromVideoBuffer(Buffer.from(planes.buffer, planes.byteOffset, planes.byteLength), {
      width,
      height,
      format: AV_PIX_FMT_YUV420P,
      timeBase: { num: 1, den: timescale },
      pts: BigInt(Math.round((this.#frames / playRate) * timescale)),
    })
    frame.duration = BigInt(Math.round(timescale / playRate))
    frame.colorSpace = AVCOL_SPC_BT709
    frame.colorPrimaries = AVCOL_PRI_BT709
    frame.colorTrc = AVCOL_TRC_BT709
    frame.colorRange = AVCOL_RANGE_MPEG
    this.#frames++
    await this.#put(this.#video, frame, this.#videoAt)
  }

  async sound(samples: Float32Array): Promise<void> {
    const grain = 1024
    for (let at = 0; at < samples.length; at += grain) {
      const part = new Float32Array(grain)
      part.set(samples.subarray(at, at + grain))
      using frame = Frame.fromAudioBuffer(Buffer.from(part.buffer), {
        nbSamples: grain,
        format: AV_SAMPLE_FMT_FLTP,
        sampleRate,
        channelLayout: AV_CHANNEL_LAYOUT_MONO,
        timeBase: { num: 1, den: sampleRate },
        pts: BigInt(at),
      })
      await this.#put(this.#audio, frame, this.#audioAt)
    }
  }

  async #put(encoder: Encoder, frame: Frame, stream: number): Promise<void> {
    for (const packet of await encoder.encodeAll(frame)) {
      await this.#muxer.writePacket(packet, stream)
      packet.free()
    }
  }

  async close(): Promise<void> {
    for (const [encoder, stream] of [
      [this.#video, this.#videoAt],
      [this.#audio, this.#audioAt],
    ] as const)
      for await (const packet of encoder.flushPackets()) {
        await this.#muxer.writePacket(packet, stream)
        packet.free()
      }
    await this.#muxer.close()
    this.#free()
  }

  /** Lets go of a file that will not be finished. */
  async drop(): Promise<void> {
    await this.#muxer.close().catch(() => undefined)
    this.#free()
  }

  #free(): void {
    this.#video.close()
    this.#audio.close()
  }
}
