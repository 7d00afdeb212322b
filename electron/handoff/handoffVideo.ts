import { readFileSync } from 'node:fs'
import {
  AV_CODEC_FLAG_CLOSED_GOP, AV_CODEC_FLAG_GLOBAL_HEADER, AV_PIX_FMT_YUV420P, AVCHROMA_LOC_LEFT, AVCOL_PRI_BT709, AVCOL_RANGE_MPEG, AVCOL_SPC_BT709,
  AVCOL_TRC_BT709, AVERROR_EAGAIN, Codec, CodecContext, FF_ENCODER_LIBX264, type Frame, Packet, Rational,
} from 'node-av'
import type { Size } from '../../shared/picture/layout.ts'
import { isPause, must } from '../media/ffmpeg.ts'
import type { FileWriter } from '../media/fileWriter.ts'
import { h264Level } from '../media/h264Level.ts'

export interface HandoffVideoOptions extends Size {
  readonly fps: number
  readonly threads: number
  readonly preset?: string
}

/**
 * Measured at crf 20 over moving twin panes at 1080p, rendered swings and test pictures: `superfast` takes two thirds to
 * nine tenths of the time of `veryfast` and 1.5 to 2.1 times the bytes; `faster` takes 1.7 to 1.8 times the time and no
 * fewer bytes to speak of.
 */
export const handoffPreset = 'veryfast'
export const handoffCrf = 20

export interface HandoffVideo extends Disposable {
  /** Encodes a frame (null: that was all) and writes what comes out. Done with the frame when it resolves. */
  write(frame: Frame | null, number: number): Promise<void>
}

/**
 * x264's AVX-512 code for its tree of macroblocks (mbtree) lets memory that was never written have a say: the same pictures
 * gave other bits in 8 of 25 encodes at 720 x 1280, against none of 25 with AVX2 or without mbtree. Speed is the same.
 * Only Linux tells what the processor can; elsewhere x264 chooses, and bits may differ where it has AVX-512.
 */
function hasAvx512(): boolean {
  if (process.platform !== 'linux' || process.arch !== 'x64') return false
  try {
    return /^flags\s*:.*\bavx512f\b.*$/m.test(readFileSync('/proc/cpuinfo', 'latin1'))
  } catch {
    return false
  }
}

/** Opens x264 as a hand-off wants it: High, 4:2:0, BT.709, a key frame at least every two seconds, closed groups. */
export async function openHandoffEncoder(options: HandoffVideoOptions): Promise<CodecContext> {
  const codec = Codec.findEncoderByName(FF_ENCODER_LIBX264)
  if (!codec) throw new Error('no H.264 encoder in this build')
  const encoder = new CodecContext()
  encoder.allocContext3(codec)
  try {
    encoder.width = options.width
    encoder.height = options.height
    encoder.pixelFormat = AV_PIX_FMT_YUV420P
    encoder.timeBase = new Rational(1, options.fps)
    encoder.framerate = new Rational(options.fps, 1)
    encoder.sampleAspectRatio = new Rational(1, 1)
    encoder.gopSize = options.fps * 2
    encoder.colorPrimaries = AVCOL_PRI_BT709
    encoder.colorTrc = AVCOL_TRC_BT709
    encoder.colorSpace = AVCOL_SPC_BT709
    encoder.colorRange = AVCOL_RANGE_MPEG
    encoder.chromaLocation = AVCHROMA_LOC_LEFT
    encoder.level = h264Level(options.width, options.height, options.fps)
    encoder.threadCount = options.threads
    encoder.setFlags(AV_CODEC_FLAG_GLOBAL_HEADER, AV_CODEC_FLAG_CLOSED_GOP)
    encoder.setOption('preset', options.preset ?? handoffPreset)
    encoder.setOption('profile', 'high')
    encoder.setOption('crf', String(handoffCrf))
    if (hasAvx512()) encoder.setOption('x264-params', 'asm=avx2')
    must(await encoder.open2(codec), 'open the H.264 encoder')
    return encoder
  } catch (error) {
    encoder.freeContext()
    throw error
  }
}

/** Adds the video track to `output`, which must not be started yet. */
export async function addHandoffVideo(output: FileWriter, options: HandoffVideoOptions): Promise<HandoffVideo> {
  const encoder = await openHandoffEncoder(options)
  const stream = output.format.newStream()
  must(encoder.parametersFromContext(stream.codecpar), 'describe the video track')
  stream.timeBase = new Rational(1, options.fps)
  stream.avgFrameRate = new Rational(options.fps, 1)
  const packet = new Packet()
  packet.alloc()
  const drain = async (): Promise<void> => {
    for (;;) {
      const got = await encoder.receivePacket(packet)
      if (isPause(got)) return
      must(got, 'encode')
      packet.streamIndex = stream.index
      packet.duration = 1n
      packet.rescaleTs({ num: 1, den: options.fps }, stream.timeBase)
      await output.write(packet)
    }
  }
  return {
    async write(frame, number) {
      if (frame) frame.pts = BigInt(number)
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
