import { open, type FileHandle } from 'node:fs/promises'
import { AV_CHANNEL_LAYOUT_MONO, AV_SAMPLE_FMT_FLTP, Frame } from 'node-av'
import { must } from './ffmpeg.ts'
import { soundChain } from './filterChain.ts'
import { stopIfCancelled } from './mediaError.ts'
import { samplesOf, soundRate } from './soundDecoder.ts'

/** Mono 16-bit little-endian samples in a file, after `skip` bytes of header. */
export interface RawSound {
  readonly path: string
  readonly sampleRate: number
  readonly skip?: number
}

const bytesPerSample = 2

/** How many samples there are in the file. */
export async function samplesIn(file: FileHandle, { skip = 0 }: RawSound): Promise<number> {
  return Math.max(0, Math.floor(((await file.stat()).size - skip) / bytesPerSample))
}

/** Fills `into` with samples from place `at` on, -1 to 1; what lies beyond the file is silence. */
export async function readSamples(file: FileHandle, { skip = 0 }: RawSound, at: number, into: Float32Array): Promise<void> {
  const bytes = Buffer.alloc(into.length * bytesPerSample)
  const { bytesRead } = await file.read(bytes, 0, bytes.length, skip + at * bytesPerSample)
  const whole = bytesRead - (bytesRead % bytesPerSample)
  for (let i = 0; i < into.length; i++) into[i] = i * bytesPerSample < whole ? bytes.readInt16LE(i * bytesPerSample) / 32_768 : 0
}

export interface ThroughOptions {
  readonly signal?: AbortSignal | undefined
  /** 0 to 1. */
  readonly onShare?: (share: number) => void
}

/** Samples read at a time: a tenth of a second. */
const pieceOf = (sampleRate: number): number => Math.round(sampleRate / 10)

/**
 * Runs a file of samples through a chain of FFmpeg filters and hands on what comes out, at 48,000 a second: exactly as many
 * samples as the file has time, whatever the filters keep back or add at the end.
 */
export async function throughFilters(sound: RawSound, filters: string, take: (samples: Float32Array) => Promise<void> | void, { signal, onShare }: ThroughOptions = {}): Promise<number> {
  await using file = await open(sound.path, 'r')
  const total = await samplesIn(file, sound)
  const wanted = Math.round((total * soundRate) / sound.sampleRate)
  using chain = await soundChain(`${filters},aresample=${soundRate},aformat=sample_fmts=fltp:channel_layouts=mono`, {
    sampleRate: sound.sampleRate, format: 'fltp', layout: 'mono', timeBase: { num: 1, den: sound.sampleRate },
  })
  let made = 0
  const out = async (frame: Frame): Promise<void> => {
    using own = frame
    const samples = samplesOf(own, 0).subarray(0, Math.max(0, wanted - made))
    made += samples.length
    if (samples.length > 0) await take(samples)
  }
  const length = pieceOf(sound.sampleRate)
  for (let at = 0; at < total; at += length) {
    stopIfCancelled(signal, sound.path)
    const samples = new Float32Array(Math.min(length, total - at))
    await readSamples(file, sound, at, samples)
    using frame = frameOf(samples, sound.sampleRate, at)
    await chain.push(frame, out)
    onShare?.((at + samples.length) / total)
  }
  await chain.push(null, out)
  if (made < wanted) await take(new Float32Array(wanted - made))
  return wanted
}

function frameOf(samples: Float32Array, sampleRate: number, at: number): Frame {
  const frame = new Frame()
  frame.alloc()
  frame.format = AV_SAMPLE_FMT_FLTP
  frame.sampleRate = sampleRate
  frame.channelLayout = AV_CHANNEL_LAYOUT_MONO
  frame.nbSamples = samples.length
  must(frame.getBuffer(0), 'make room for sound')
  frame.data![0]!.set(new Uint8Array(samples.buffer, samples.byteOffset, samples.byteLength))
  frame.pts = BigInt(at)
  return frame
}
