import { AV_CHANNEL_LAYOUT_MONO, AV_CHANNEL_LAYOUT_STEREO, AV_CODEC_FLAG_GLOBAL_HEADER, AV_SAMPLE_FMT_FLTP, AVERROR_EAGAIN, Codec, CodecContext, FF_ENCODER_AAC, type Frame, Packet, Rational } from 'node-av'
import type { FileWriter } from './fileWriter.ts'
import { isPause, must } from './ffmpeg.ts'
import { soundRate } from './soundDecoder.ts'

/** An AAC track of a file being written, 48 kHz. */
export interface SoundTrack extends Disposable {
  /** Encodes a frame of 1024 planar float samples, `pts` in samples (null: that was all). The frame stays the caller's. */
  write(frame: Frame | null): Promise<void>
}

/** Adds the track to `output`, which must not be started yet. */
export async function addSoundTrack(output: FileWriter, options: { channels: 1 | 2, bitRate?: number }): Promise<SoundTrack> {
  const codec = Codec.findEncoderByName(FF_ENCODER_AAC)
  if (!codec) throw new Error('no AAC encoder in this build')
  const encoder = new CodecContext()
  encoder.allocContext3(codec)
  try {
    encoder.sampleRate = soundRate
    encoder.sampleFormat = AV_SAMPLE_FMT_FLTP
    encoder.channelLayout = options.channels === 1 ? AV_CHANNEL_LAYOUT_MONO : AV_CHANNEL_LAYOUT_STEREO
    encoder.bitRate = BigInt(options.bitRate ?? (options.channels === 1 ? 96_000 : 160_000))
    encoder.timeBase = new Rational(1, soundRate)
    encoder.setFlags(AV_CODEC_FLAG_GLOBAL_HEADER)
    must(await encoder.open2(codec), 'open the AAC encoder')
  } catch (error) {
    encoder.freeContext()
    throw error
  }
  const stream = output.format.newStream()
  must(encoder.parametersFromContext(stream.codecpar), 'describe the sound track')
  stream.timeBase = new Rational(1, soundRate)
  const packet = new Packet()
  packet.alloc()
  const drain = async () => {
    for (;;) {
      const got = await encoder.receivePacket(packet)
      if (isPause(got)) return
      must(got, 'encode sound')
      packet.streamIndex = stream.index
      packet.rescaleTs({ num: 1, den: soundRate }, stream.timeBase)
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
      must(sent, 'encode sound')
      await drain()
    },
    [Symbol.dispose]() {
      packet.free()
      encoder.freeContext()
    },
  }
}
