import { open, type FileHandle } from 'node:fs/promises'
import { MediaError } from './mediaError.ts'

/** Sound as planar samples from -1 to 1. */
export interface Pcm {
  sampleRate: number
  channels: Float32Array<ArrayBuffer>[]
}

const headerBytes = 44

/** The 44 bytes before 16-bit PCM samples (RIFF/WAVE, format 1). `dataBytes` may be wrong while a recording grows. */
export function wavHeader(sampleRate: number, channels: number, dataBytes: number): Buffer {
  const header = Buffer.alloc(headerBytes)
  header.write('RIFF', 0, 'latin1')
  header.writeUInt32LE(Math.min(0xffff_ffff, dataBytes + headerBytes - 8), 4)
  header.write('WAVEfmt ', 8, 'latin1')
  header.writeUInt32LE(16, 16)
  header.writeUInt16LE(1, 20)
  header.writeUInt16LE(channels, 22)
  header.writeUInt32LE(sampleRate, 24)
  header.writeUInt32LE(sampleRate * channels * 2, 28)
  header.writeUInt16LE(channels * 2, 32)
  header.writeUInt16LE(16, 34)
  header.write('data', 36, 'latin1')
  header.writeUInt32LE(Math.min(0xffff_ffff, dataBytes), 40)
  return header
}

/** Planar floats as interleaved 16-bit samples; what lies outside -1 to 1 is clipped. */
export function toInt16(channels: readonly Float32Array[]): Buffer {
  const length = channels[0]?.length ?? 0
  const out = new Int16Array(length * channels.length)
  channels.forEach((samples, channel) => {
    for (let i = 0; i < length; i++) out[i * channels.length + channel] = Math.max(-32_768, Math.min(32_767, Math.round(samples[i]! * 32_768)))
  })
  return Buffer.from(out.buffer)
}

/** Writes a WAV file piece by piece. finish() sets the lengths in its header; until then readers must go by the file's size. */
export class WavWriter {
  readonly #file: FileHandle
  readonly #sampleRate: number
  readonly #channels: number
  #bytes = 0

  private constructor(file: FileHandle, sampleRate: number, channels: number) {
    this.#file = file
    this.#sampleRate = sampleRate
    this.#channels = channels
  }

  static async create(path: string, sampleRate: number, channels: number): Promise<WavWriter> {
    const file = await open(path, 'w')
    await file.write(wavHeader(sampleRate, channels, 0))
    return new WavWriter(file, sampleRate, channels)
  }

  /** @param channels as many planes as the file has channels, of equal length */
  async write(channels: readonly Float32Array[]): Promise<void> {
    if (channels.length !== this.#channels) throw new RangeError(`${channels.length} channels for a file of ${this.#channels}`)
    const bytes = toInt16(channels)
    await this.#file.write(bytes)
    this.#bytes += bytes.byteLength
  }

  async finish(): Promise<void> {
    await this.#file.write(wavHeader(this.#sampleRate, this.#channels, this.#bytes), 0, headerBytes, 0)
    await this.#file.sync()
    await this.#file.close()
  }
}

/** Writes a whole WAV file, 16 bits a sample. */
export async function writeWav(path: string, pcm: Pcm): Promise<void> {
  const writer = await WavWriter.create(path, pcm.sampleRate, pcm.channels.length)
  await writer.write(pcm.channels)
  await writer.finish()
}

/**
 * Reads a 16-bit PCM WAV file. A recording whose header was never finished is read to the end of the file.
 * Throws MediaError `failed` for anything that is no 16-bit PCM WAV.
 */
export async function readWav(path: string): Promise<Pcm> {
  await using file = await open(path, 'r')
  const bytes = await file.readFile()
  const refuse = (why: string) => new MediaError('failed', path, why)
  if (bytes.toString('latin1', 0, 4) !== 'RIFF' || bytes.toString('latin1', 8, 12) !== 'WAVE') throw refuse('it is not a WAV file')
  let format: { channels: number, sampleRate: number } | null = null
  for (let at = 12; at + 8 <= bytes.length;) {
    const type = bytes.toString('latin1', at, at + 4)
    const told = bytes.readUInt32LE(at + 4)
    const start = at + 8
    if (type === 'fmt ' && start + 16 <= bytes.length) {
      const kind = bytes.readUInt16LE(start)
      if ((kind !== 1 && kind !== 0xfffe) || bytes.readUInt16LE(start + 14) !== 16) throw refuse('only 16-bit PCM can be read')
      format = { channels: bytes.readUInt16LE(start + 2), sampleRate: bytes.readUInt32LE(start + 4) }
    }
    if (type === 'data') {
      if (!format || format.channels < 1) throw refuse('it says nothing about its samples')
      const end = told === 0 || start + told > bytes.length ? bytes.length : start + told
      const length = Math.floor((end - start) / 2 / format.channels)
      const channels = Array.from({ length: format.channels }, () => new Float32Array(length))
      for (let i = 0; i < length; i++) channels.forEach((samples, channel) => { samples[i] = bytes.readInt16LE(start + (i * channels.length + channel) * 2) / 32_768 })
      return { sampleRate: format.sampleRate, channels }
    }
    at = start + told + (told & 1)
  }
  throw refuse('it holds no samples')
}
