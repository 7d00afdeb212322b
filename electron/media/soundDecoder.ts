import {
  AV_NOPTS_VALUE, AVERROR_INVALIDDATA, avChannelLayoutDefault, avChannelLayoutDescribe, avGetSampleFmtName, Codec, CodecContext, Frame,
  type Packet, type Stream,
} from 'node-av'
import { soundChain, type FilterChain } from './filterChain.ts'
import { isPause, must } from './ffmpeg.ts'

export const soundRate = 48_000

/** Turns a sound track's packets into 48 kHz planar floats whose `pts` counts samples of file time. */
export interface SoundDecoder extends Disposable {
  readonly channels: 1 | 2
  /** Decodes a packet (null: that was all) and hands each frame to `take`, which frees it. Damaged packets are passed over. */
  push(packet: Packet | null, take: (frame: Frame) => Promise<void> | void): Promise<void>
}

/**
 * Opens the decoder of a sound track, or null where this build has none for it (some phones write one track more than
 * players know). Gaps are filled with silence, overlaps cut, so that sound stays in step with the pictures.
 * @param channels 1 or 2; by default 1 for a mono track and 2 for any other
 * @param frameSize samples a frame, all but the last
 */
export async function openSoundDecoder(stream: Stream, options: { channels?: 1 | 2, frameSize?: number } = {}): Promise<SoundDecoder | null> {
  const parameters = stream.codecpar
  const codec = Codec.findDecoder(parameters.codecId)
  if (!codec || parameters.channels < 1 || parameters.sampleRate < 1) return null
  const decoder = new CodecContext()
  decoder.allocContext3(codec)
  must(decoder.parametersToContext(parameters), 'describe the sound to its decoder')
  decoder.pktTimebase = stream.timeBase
  if (await decoder.open2(codec) < 0) {
    decoder.freeContext()
    return null
  }
  const channels = options.channels ?? (parameters.channels === 1 ? 1 : 2)
  const filters = [
    `aresample=${soundRate}:async=1`,
    `aformat=sample_fmts=fltp:channel_layouts=${channels === 1 ? 'mono' : 'stereo'}`,
    'atrim=start=0',
    `asetnsamples=n=${options.frameSize ?? 1024}:p=0`,
  ].join(',')
  let chain: FilterChain | null = null
  const frame = new Frame()
  frame.alloc()
  const drain = async (take: (frame: Frame) => Promise<void> | void) => {
    for (;;) {
      const got = await decoder.receiveFrame(frame)
      if (isPause(got) || got === AVERROR_INVALIDDATA) return
      must(got, 'decode sound')
      if (frame.pts === AV_NOPTS_VALUE) frame.pts = frame.bestEffortTimestamp
      const layout = frame.channelLayout
      chain ??= await soundChain(filters, {
        sampleRate: frame.sampleRate, format: avGetSampleFmtName(decoder.sampleFormat) ?? 'fltp', timeBase: stream.timeBase,
        layout: (layout.mask ? avChannelLayoutDescribe(layout) : avChannelLayoutDescribe(avChannelLayoutDefault(frame.channels))) ?? 'stereo',
      })
      await chain.push(frame, take)
      frame.unref()
    }
  }
  return {
    channels,
    async push(packet, take) {
      const sent = await decoder.sendPacket(packet)
      if (sent < 0 && !isPause(sent)) return
      await drain(take)
      if (!packet) await chain?.push(null, take)
    },
    [Symbol.dispose]() {
      chain?.close()
      frame.free()
      decoder.freeContext()
    },
  }
}

/** A planar float frame's channel as samples; copied, so that it outlives the frame. */
export function samplesOf(frame: Frame, channel: number): Float32Array<ArrayBuffer> {
  const plane = frame.extendedData?.[channel] ?? frame.data?.[channel]
  const out = new Float32Array(frame.nbSamples)
  if (plane) new Uint8Array(out.buffer).set(plane.subarray(0, frame.nbSamples * 4))
  return out
}
