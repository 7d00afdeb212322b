import { readFileSync } from 'node:fs'
import {
  AV_CHANNEL_LAYOUT_MONO, AV_CHANNEL_LAYOUT_STEREO, AV_CODEC_FLAG_GLOBAL_HEADER, AV_PIX_FMT_YUV420P, AV_SAMPLE_FMT_FLTP, AVCHROMA_LOC_LEFT,
  AVCOL_PRI_BT709, AVCOL_RANGE_MPEG, AVCOL_SPC_BT709, AVCOL_TRC_BT709, AVERROR_EAGAIN, Codec, CodecContext, FF_ENCODER_AAC, FF_ENCODER_LIBX264, type Frame,
  Packet, Rational, type Stream,
} from 'node-av'
import { isPause, must } from './ffmpeg.ts'
import type { FileWriter } from './fileWriter.ts'
import { h264Level } from './h264Level.ts'
import { soundRate } from './soundDecoder.ts'

export interface H264Options {
  readonly width: number
  readonly height: number
  /** Ticks a second; frames' `pts` are ticks. */
  readonly timescale: number
  /** Frames a second, to choose the H.264 level by. */
  readonly rate: number
  /** The most frames from one key frame to the next. */
  readonly group: number
  readonly crf: number
  readonly preset: string
  /** 0: as many as x264 thinks right. */
  readonly threads?: number
  /** More of FFmpeg's flags beside the global header. */
  readonly flags?: readonly Parameters<CodecContext['setFlags']>[0][]
  /** B-frames in a row; by default what the preset says. */
  readonly bFrames?: number
  /** FFmpeg's options by name. */
  readonly options?: Readonly<Record<string, string>>
  /** x264's own, `name=value:name=value`. */
  readonly x264?: string
}

async function opened(name: typeof FF_ENCODER_LIBX264 | typeof FF_ENCODER_AAC, what: string, set: (encoder: CodecContext) => void): Promise<CodecContext> {
  const codec = Codec.findEncoderByName(name)
  if (!codec) throw new Error(`no ${what} encoder in this build`)
  const encoder = new CodecContext()
  encoder.allocContext3(codec)
  try {
    set(encoder)
    must(await encoder.open2(codec), `open the ${what} encoder`)
    return encoder
  } catch (error) {
    encoder.freeContext()
    throw error
  }
}

/** Opens x264 for 8-bit 4:2:0 pictures in BT.709, limited range, square pixels. The caller frees it. */
export function openH264(options: H264Options): Promise<CodecContext> {
  const { width, height, timescale, rate, group, flags = [], bFrames } = options
  return opened(FF_ENCODER_LIBX264, 'H.264', (encoder) => {
    encoder.width = width
    encoder.height = height
    encoder.pixelFormat = AV_PIX_FMT_YUV420P
    encoder.timeBase = new Rational(1, timescale)
    if (rate === timescale) encoder.framerate = new Rational(rate, 1)
    encoder.sampleAspectRatio = new Rational(1, 1)
    encoder.gopSize = group
    if (bFrames !== undefined) encoder.maxBFrames = bFrames
    encoder.colorPrimaries = AVCOL_PRI_BT709
    encoder.colorTrc = AVCOL_TRC_BT709
    encoder.colorSpace = AVCOL_SPC_BT709
    encoder.colorRange = AVCOL_RANGE_MPEG
    encoder.chromaLocation = AVCHROMA_LOC_LEFT
    encoder.level = h264Level(width, height, rate)
    if (options.threads !== undefined) encoder.threadCount = options.threads
    encoder.setFlags(AV_CODEC_FLAG_GLOBAL_HEADER, ...flags)
    encoder.setOption('preset', options.preset)
    encoder.setOption('crf', String(options.crf))
    for (const [name, value] of Object.entries(options.options ?? {})) encoder.setOption(name, value)
    if (options.x264) encoder.setOption('x264-params', options.x264)
  })
}

/** Opens AAC-LC for planar floats at 48 kHz; `pts` are samples. The caller frees it. */
export function openAac({ channels, bitRate }: { readonly channels: 1 | 2; readonly bitRate: number }): Promise<CodecContext> {
  return opened(FF_ENCODER_AAC, 'AAC', (encoder) => {
    encoder.sampleRate = soundRate
    encoder.sampleFormat = AV_SAMPLE_FMT_FLTP
    encoder.channelLayout = channels === 1 ? AV_CHANNEL_LAYOUT_MONO : AV_CHANNEL_LAYOUT_STEREO
    encoder.bitRate = BigInt(bitRate)
    encoder.timeBase = new Rational(1, soundRate)
    encoder.setFlags(AV_CODEC_FLAG_GLOBAL_HEADER)
  })
}

/** Puts a frame in (null: that was all) and hands over each packet that comes out; the packet is good until `take` is done. The frame stays the caller's. */
export async function encode(encoder: CodecContext, frame: Frame | null, packet: Packet, take: (packet: Packet) => Promise<void> | void): Promise<void> {
  const drain = async (): Promise<void> => {
    for (;;) {
      const got = await encoder.receivePacket(packet)
      if (isPause(got)) return
      must(got, 'encode')
      await take(packet)
    }
  }
  let sent = await encoder.sendFrame(frame)
  while (sent === AVERROR_EAGAIN) {
    await drain()
    sent = await encoder.sendFrame(frame)
  }
  must(sent, 'encode')
  await drain()
}

/** As encode, in the caller's own thread, which has nothing else to do: that spares each frame the way to another thread and back. */
export function encodeHere(encoder: CodecContext, frame: Frame | null, packet: Packet, take: (packet: Packet) => void): void {
  const drain = (): void => {
    for (;;) {
      const got = encoder.receivePacketSync(packet)
      if (isPause(got)) return
      must(got, 'encode')
      take(packet)
    }
  }
  let sent = encoder.sendFrameSync(frame)
  while (sent === AVERROR_EAGAIN) {
    drain()
    sent = encoder.sendFrameSync(frame)
  }
  must(sent, 'encode')
  drain()
}

/** A track of a file being written. */
export interface EncodedTrack extends Disposable {
  readonly stream: Stream
  /** Encodes a frame (null: that was all) and writes what comes out. The frame stays the caller's. */
  write(frame: Frame | null): Promise<void>
}

/**
 * Adds what an encoder makes to `output`, which must not be started yet. The track takes the encoder over.
 * @param unit the encoder's ticks a second
 * @param dress says of each packet what the encoder left out
 */
export function addEncodedTrack(output: FileWriter, encoder: CodecContext, unit: number, dress: (packet: Packet) => void = () => {}): EncodedTrack {
  const packet = new Packet()
  packet.alloc()
  try {
    const stream = output.format.newStream()
    must(encoder.parametersFromContext(stream.codecpar), 'describe the track')
    stream.timeBase = new Rational(1, unit)
    const take = async (made: Packet): Promise<void> => {
      made.streamIndex = stream.index
      dress(made)
      made.rescaleTs({ num: 1, den: unit }, stream.timeBase)
      await output.write(made)
    }
    return {
      stream,
      write: (frame) => encode(encoder, frame, packet, take),
      [Symbol.dispose]() {
        packet.free()
        encoder.freeContext()
      },
    }
  } catch (error) {
    packet.free()
    encoder.freeContext()
    throw error
  }
}

/**
 * x264's AVX-512 code for its tree of macroblocks (mbtree) lets memory that was never written have a say: the same pictures
 * gave other bits in 8 of 25 encodes at 720 x 1280, against none of 25 with AVX2 or without mbtree. Speed is the same.
 * Only Linux tells what the processor can; elsewhere x264 chooses, and bits may differ where it has AVX-512.
 */
export const sameBits: string | null = hasAvx512() ? 'asm=avx2' : null

function hasAvx512(): boolean {
  if (process.platform !== 'linux' || process.arch !== 'x64') return false
  try {
    return /^flags\s*:.*\bavx512f\b.*$/m.test(readFileSync('/proc/cpuinfo', 'latin1'))
  } catch {
    return false
  }
}
