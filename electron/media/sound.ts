import { unlink } from 'node:fs/promises'
import { type Frame, Packet } from 'node-av'
import { soundChain, type FilterChain } from './filterChain.ts'
import { asMediaError, MediaError, stopIfCancelled } from './mediaError.ts'
import { openMedia } from './openMedia.ts'
import { openSoundDecoder, samplesOf, soundRate } from './soundDecoder.ts'
import { WavWriter } from './wav.ts'

/** A piece of a file's sound, 48 kHz. */
export interface SoundPiece {
  /** Number of its first sample, counted from file time zero. Pieces follow each other without gaps. */
  at: number
  channels: Float32Array<ArrayBuffer>[]
}

export interface SoundOptions {
  /** 1 mixes down to mono, 2 doubles mono; by default mono stays mono and all else becomes stereo. */
  channels?: 1 | 2
  signal?: AbortSignal
}

/** A file's sound from beginning to end in pieces of a tenth of a second. Throws a MediaError, `no-sound` among them. */
export async function* decodeSound(path: string, options: SoundOptions = {}): AsyncGenerator<SoundPiece, void, void> {
  const pieces: SoundPiece[] = []
  const steps = soundSteps(path, options, null, (frame, channels) => {
    pieces.push({ at: Number(frame.pts), channels: Array.from({ length: channels }, (_, channel) => samplesOf(frame, channel)) })
  })
  for await (const _ of steps) yield* pieces.splice(0)
}

/** Loudness by ITU-R BS.1770 / EBU R 128. */
export interface Loudness {
  /** LUFS over the whole, gated; -Infinity for silence or for less than 400 ms of sound. */
  integrated: number
  /** dBTP, the highest of all channels. */
  truePeak: number
}

/** Measures a file's loudness as played: mono sound counts once. */
export async function measureLoudness(path: string, signal?: AbortSignal): Promise<Loudness> {
  let integrated = -Infinity
  let peak = 0
  // Padding completes the last block of 100 ms, which would go unmeasured.
  const steps = soundSteps(path, signal ? { signal } : {}, 'apad=pad_dur=0.1,ebur128=metadata=1:peak=true', (frame, channels) => {
    const tags = frame.getMetadata().getAll()
    const told = Number(tags['lavfi.r128.I'])
    if (Number.isFinite(told)) integrated = told > -69.9 ? told : -Infinity
    for (let channel = 0; channel < channels; channel++) peak = Math.max(peak, Number(tags[`lavfi.r128.true_peaks_ch${channel}`]) || 0)
  })
  for await (const _ of steps) stopIfCancelled(signal, path)
  return { integrated, truePeak: 20 * Math.log10(peak) }
}

export interface NormaliseTarget {
  /** LUFS. */
  lufs: number
  /** Highest true peak, dBTP. */
  truePeak: number
}

export interface Normalised {
  before: Loudness
  after: Loudness
  /** dB; the same for the whole recording. */
  gain: number
  /** Peaks had to be held down; else the change is a pure gain. */
  limited: boolean
}

const speech: NormaliseTarget = { lufs: -16, truePeak: -1 }

/**
 * Brings a recording to a loudness: one gain for the whole, and a limiter at four times the sample rate (where true
 * peaks show) only when peaks would pass the limit. What the limiter takes is given back as gain, and the written file
 * is measured again until it is within 0.2 LU of the target and under the peak. Silence is copied as it is.
 * `output` becomes a 48 kHz, 16-bit WAV; nothing is left of it on failure.
 */
export async function normaliseSpeech(input: string, output: string, options: Partial<NormaliseTarget> & { signal?: AbortSignal } = {}): Promise<Normalised> {
  const { signal } = options
  const target = { lufs: options.lufs ?? speech.lufs, truePeak: options.truePeak ?? speech.truePeak }
  try {
    const before = await measureLoudness(input, signal)
    if (before.integrated === -Infinity) {
      await filterToWav(input, output, 'anull', signal)
      return { before, after: before, gain: 0, limited: false }
    }
    let gain = target.lufs - before.integrated
    // 0.1 dB of room for the rounding to 16 bits and for what downsampling adds to a held peak.
    let ceiling = target.truePeak - 0.1
    const limited = before.truePeak + gain > ceiling
    for (let attempt = 0; ; attempt++) {
      const limiter = `aresample=${soundRate * 4},alimiter=level_in=1:limit=${10 ** (ceiling / 20)}:attack=5:release=80:level=false:latency=true,aresample=${soundRate}`
      await filterToWav(input, output, `volume=${gain}dB:precision=float${limited ? `,${limiter}` : ''}`, signal)
      const after = await measureLoudness(output, signal)
      const short = target.lufs - after.integrated
      const over = after.truePeak - target.truePeak
      if ((Math.abs(short) <= 0.2 && over <= 0) || attempt === 5 || !limited) return { before, after, gain, limited }
      gain += short
      if (over > 0) ceiling -= over + 0.05
    }
  } catch (error) {
    await unlink(output).catch(() => {})
    throw asMediaError(error, input)
  }
}

/** Runs a file's sound through a chain of filters into a 48 kHz, 16-bit WAV file. */
async function filterToWav(input: string, output: string, filters: string, signal?: AbortSignal): Promise<void> {
  let writer: WavWriter | null = null
  const pieces: Float32Array<ArrayBuffer>[][] = []
  const flush = async () => {
    for (const channels of pieces.splice(0)) {
      writer ??= await WavWriter.create(output, soundRate, channels.length)
      await writer.write(channels)
    }
  }
  const steps = soundSteps(input, signal ? { signal } : {}, `${filters},aformat=sample_fmts=fltp:sample_rates=${soundRate}`, (frame, channels) => {
    pieces.push(Array.from({ length: channels }, (_, channel) => samplesOf(frame, channel)))
  })
  for await (const _ of steps) await flush()
  writer ??= await WavWriter.create(output, soundRate, 1)
  await writer.finish()
}

/** Decodes a file's sound, runs it through `filters` and hands each frame to `take`, which must not keep it. Yields after each packet. */
async function* soundSteps(path: string, options: SoundOptions, filters: string | null, take: (frame: Frame, channels: 1 | 2) => void): AsyncGenerator<void, void, void> {
  await using media = await openMedia(path)
  if (!media.sound) throw new MediaError('no-sound', path)
  using sound = await openSoundDecoder(media.sound, { frameSize: soundRate / 10, ...(options.channels ? { channels: options.channels } : {}) })
  if (!sound) throw new MediaError('unknown-codec', path, 'sound')
  using chain: FilterChain | null = filters === null ? null : await soundChain(filters, {
    sampleRate: soundRate, format: 'fltp', layout: sound.channels === 1 ? 'mono' : 'stereo', timeBase: { num: 1, den: soundRate },
  })
  const pass = async (frame: Frame) => {
    using own = frame
    const last = (out: Frame) => {
      using done = out
      take(done, sound.channels)
    }
    if (chain) await chain.push(own, last)
    else take(own, sound.channels)
  }
  using packet = new Packet()
  packet.alloc()
  while (await media.format.readFrame(packet) >= 0) {
    stopIfCancelled(options.signal, path)
    if (packet.streamIndex === media.sound.index) {
      await sound.push(packet, pass)
      yield
    }
    packet.unref()
  }
  await sound.push(null, pass)
  await chain?.push(null, (out) => {
    using done = out
    take(done, sound.channels)
  })
  yield
}
