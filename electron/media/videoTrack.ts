import {
  AV_CODEC_FLAG_FRAME_DURATION, AV_CODEC_FLAG_GLOBAL_HEADER, AV_PIX_FMT_YUV420P, AVCOL_PRI_BT709, AVCOL_RANGE_MPEG, AVCOL_SPC_BT709, AVCOL_TRC_BT709,
  AVERROR_EAGAIN, Codec, CodecContext, FF_ENCODER_LIBX264, type Frame, Packet, Rational,
} from 'node-av'
import type { FileWriter } from './fileWriter.ts'
import { isPause, must } from './ffmpeg.ts'
import { h264Level } from './h264Level.ts'

export interface VideoTrackOptions {
  width: number
  height: number
  /** Ticks a second; frames' `pts` are ticks. */
  timescale: number
  /** Frames a second, only to choose the H.264 level. */
  rate: number
  /** From one key frame to the next; 1 makes every frame a key frame. */
  group: number
  crf: number
  preset: string
  tune?: string
  /** Ticks that the frame at `pts` lasts. */
  lasts(pts: number): number
}

/** An H.264 track of a file being written: 8-bit 4:2:0, BT.709, limited range, no B-frames, no scene cuts. */
export interface VideoTrack extends Disposable {
  /** Encodes a frame (null: that was all) and writes what comes out. The frame stays the caller's. */
  write(frame: Frame | null): Promise<void>
}

/** Adds the track to `output`, which must not be started yet. */
export async function addVideoTrack(output: FileWriter, options: VideoTrackOptions): Promise<VideoTrack> {
  const codec = Codec.findEncoderByName(FF_ENCODER_LIBX264)
  if (!codec) throw new Error('no H.264 encoder in this build')
  const encoder = new CodecContext()
  encoder.allocContext3(codec)
  try {
    encoder.width = options.width
    encoder.height = options.height
    encoder.pixelFormat = AV_PIX_FMT_YUV420P
    encoder.timeBase = new Rational(1, options.timescale)
    encoder.sampleAspectRatio = new Rational(1, 1)
    encoder.gopSize = options.group
    encoder.maxBFrames = 0
    encoder.colorPrimaries = AVCOL_PRI_BT709
    encoder.colorTrc = AVCOL_TRC_BT709
    encoder.colorSpace = AVCOL_SPC_BT709
    encoder.colorRange = AVCOL_RANGE_MPEG
    encoder.level = h264Level(options.width, options.height, options.rate)
    encoder.setFlags(AV_CODEC_FLAG_GLOBAL_HEADER, AV_CODEC_FLAG_FRAME_DURATION)
    encoder.setOption('preset', options.preset)
    if (options.tune) encoder.setOption('tune', options.tune)
    encoder.setOption('crf', String(options.crf))
    encoder.setOption('x264-params', `scenecut=0:keyint=${options.group}:min-keyint=${options.group}`)
    must(await encoder.open2(codec), 'open the H.264 encoder')
  } catch (error) {
    encoder.freeContext()
    throw error
  }
  const stream = output.format.newStream()
  must(encoder.parametersFromContext(stream.codecpar), 'describe the video track')
  stream.timeBase = new Rational(1, options.timescale)
  const packet = new Packet()
  packet.alloc()
  const drain = async () => {
    for (;;) {
      const got = await encoder.receivePacket(packet)
      if (isPause(got)) return
      must(got, 'encode')
      packet.streamIndex = stream.index
      packet.duration = BigInt(options.lasts(Number(packet.pts)))
      packet.rescaleTs({ num: 1, den: options.timescale }, stream.timeBase)
      await output.write(packet)
    }
  }
  return {
    async write(frame) {
      let sent = await encoder.sendFrame(frame)
      while (sent === AVERROR_EAGAIN) {
        await drain()
        sent = await encoder.sendFrame(frame)
      }
      must(sent, 'encode a picture')
      await drain()
    },
    [Symbol.dispose]() {
      packet.free()
      encoder.freeContext()
    },
  }
}
