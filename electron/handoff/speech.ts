import { Packet, type Frame } from 'node-av'
import { isEnd, must } from '../media/ffmpeg.ts'
import { soundChain, type FilterChain } from '../media/filterChain.ts'
import { MediaError, stopIfCancelled } from '../media/mediaError.ts'
import { openMedia } from '../media/openMedia.ts'
import { openSoundDecoder, soundRate } from '../media/soundDecoder.ts'

/** Loudness of a whole sound as it reaches the listener's two channels (ITU-R BS.1770, EBU R 128). */
export interface Loudness {
  /** Integrated, LUFS; -Infinity where nothing is louder than the gate. */
  readonly integrated: number
  /** dBTP; -Infinity for silence. */
  readonly truePeak: number
}

/** How a sound is brought to its level. */
export interface SpeechLevel {
  readonly gainDb: number
  readonly limited: boolean
  readonly before: Loudness
  /** What goes to the encoder. */
  readonly after: Loudness
  /** Samples at 48 kHz. */
  readonly samples: number
}

export const targetLufs = -16
/** The limiter holds peaks two decibels under the allowed -1 dBTP, for AAC adds overshoots of its own: 1.3 dB on a hard click at 128 kbit/s. */
const peakCeilingDb = -3
/** More gain than this only lifts the room's noise. */
const mostGainDb = 30
const near = 0.15

const toStereo = 'pan=stereo|c0=c0|c1=c0'
// Peaks between samples show at four times the rate (BS.1770, annex 2).
const limiter = `aresample=192000,alimiter=level=disabled:limit=${(10 ** (peakCeilingDb / 20)).toFixed(5)}:attack=4:release=60:latency=1,aresample=${soundRate}`
const levelFilters = (gainDb: number, limited: boolean): string => [`volume=${gainDb.toFixed(3)}dB:precision=float`, ...(limited ? [limiter] : [])].join(',')
/** Two equal channels are as much louder than one, by the sum of channels' powers (BS.1770-5, annex 1). */
const twoChannelsDb = 10 * Math.log10(2)

export interface Way {
  readonly channels: 1 | 2
  readonly signal: AbortSignal | undefined
  /** Hears how many samples went in. */
  readonly onSamples?: (count: number) => void
}

/** Decodes a sound to 48 kHz and hands it through a chain of filters, frame by frame; each frame is the caller's to free. */
export async function* soundThrough(path: string, filters: string, { channels, signal, onSamples }: Way): AsyncGenerator<Frame, void> {
  await using media = await openMedia(path)
  if (!media.sound) throw new MediaError('no-sound', path)
  using decoder = await openSoundDecoder(media.sound, { channels, frameSize: 4096 })
  if (!decoder) throw new MediaError('no-sound', path)
  using packet = new Packet()
  packet.alloc()
  let chain: FilterChain | null = null
  const out: Frame[] = []
  const take = async (frame: Frame): Promise<void> => {
    using own = frame
    onSamples?.(own.nbSamples)
    chain ??= await soundChain(filters, { sampleRate: soundRate, format: 'fltp', layout: channels === 1 ? 'mono' : 'stereo', timeBase: { num: 1, den: soundRate } })
    await chain.push(own, (made) => void out.push(made))
  }
  try {
    for (let more = true; more;) {
      stopIfCancelled(signal, path)
      const code = await media.format.readFrame(packet)
      more = code >= 0
      if (!more && !isEnd(code)) must(code, 'read the sound')
      if (!more) {
        await decoder.push(null, take)
        await (chain as FilterChain | null)?.push(null, (made) => void out.push(made))
      } else if (packet.streamIndex === media.sound.index) await decoder.push(packet, take)
      packet.unref()
      while (out.length > 0) yield out.shift()!
    }
  } finally {
    for (const frame of out) frame.free()
    ;(chain as FilterChain | null)?.close()
  }
}

async function measure(path: string, filters: string, way: Way): Promise<Loudness> {
  // The meter works in tenths of a second: as much silence lets the last one through.
  const chain = `${filters},apad=pad_dur=0.1,ebur128=peak=true:metadata=1`
  let integrated = -Infinity
  let peak = 0
  for await (const frame of soundThrough(path, chain, way)) {
    using own = frame
    using metadata = own.getMetadata()
    const value = Number(metadata.get('lavfi.r128.I') ?? Number.NaN)
    if (value > -70) integrated = value + (way.channels === 1 ? twoChannelsDb : 0)
    for (let channel = 0; channel < way.channels; channel++) peak = Math.max(peak, Number(metadata.get(`lavfi.r128.true_peaks_ch${channel}`) ?? 0) || 0)
  }
  return { integrated, truePeak: 20 * Math.log10(peak) }
}

/** Loudness of a file as its two channels play it. Throws a MediaError. */
export const measureLoudness = (path: string, signal?: AbortSignal): Promise<Loudness> => measure(path, 'anull', { channels: 2, signal })

/**
 * Finds how to bring a sound to -16 LUFS with peaks held: plain gain where the peaks allow it, else gain into a limiter,
 * measured again and put right. Silence, and sounds too short to be measured, are left as they are.
 * Throws a MediaError.
 */
export async function findLevel(path: string, signal?: AbortSignal): Promise<SpeechLevel> {
  let samples = 0
  const before = await measure(path, levelFilters(0, false), { channels: 1, signal, onSamples: (count) => (samples += count) })
  const limitedBy = (gain: number): Promise<Loudness> => measure(path, levelFilters(gain, true), { channels: 1, signal })
  if (!Number.isFinite(before.integrated)) {
    const limited = before.truePeak > peakCeilingDb
    return { gainDb: 0, limited, before, after: limited ? await limitedBy(0) : before, samples }
  }
  let gainDb = Math.min(mostGainDb, targetLufs - before.integrated)
  if (before.truePeak + gainDb <= peakCeilingDb) {
    return { gainDb, limited: false, before, after: { integrated: before.integrated + gainDb, truePeak: before.truePeak + gainDb }, samples }
  }
  let after = await limitedBy(gainDb)
  for (let round = 0; round < 3 && Math.abs(targetLufs - after.integrated) > near && gainDb < mostGainDb; round++) {
    gainDb = Math.min(mostGainDb, gainDb + targetLufs - after.integrated)
    after = await limitedBy(gainDb)
  }
  return { gainDb, limited: true, before, after, samples }
}

/** The sound at its level, stereo floats in frames of 1024, `pts` in samples from 0. Each frame is the caller's to free. */
export async function* levelledSound(path: string, level: SpeechLevel, signal?: AbortSignal): AsyncGenerator<Frame, void> {
  let at = 0n
  const chain = `${levelFilters(level.gainDb, level.limited)},${toStereo},aformat=sample_fmts=fltp:channel_layouts=stereo,atrim=end_sample=${level.samples},asetnsamples=n=1024:p=0`
  for await (const frame of soundThrough(path, chain, { channels: 1, signal })) {
    frame.pts = at
    at += BigInt(frame.nbSamples)
    yield frame
  }
}
