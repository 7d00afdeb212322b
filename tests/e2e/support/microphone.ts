/** A sound file for a microphone, and what is looked for in a sound: clicks at known times are a ruler. */
import { writeFileSync } from 'node:fs'
import { findChromium } from '../../../build/chromium.ts'
import { wavHeader } from '../../../electron/media/wav.ts'

const rate = 48_000

/** Writes a mono file of 48,000 samples a second; `at` gives the value at a time in seconds and at its sample's number. */
export function writeVoice(path: string, seconds: number, at: (time: number, sample: number) => number): void {
  const pcm = Buffer.alloc(seconds * rate * 2)
  for (let i = 0; i < seconds * rate; i++) pcm.writeInt16LE(Math.round(at(i / rate, i) * 32_767), i * 2)
  writeFileSync(path, Buffer.concat([wavHeader(rate, 1, pcm.length), pcm]))
}

/** Two milliseconds of loud square wave at the beginning of each second, and `between` besides. */
export const clicking = (between: (time: number) => number) => (time: number, sample: number): number =>
  sample % rate < 96 ? (sample % 8 < 4 ? 0.9 : -0.9) : between(time)

/** Options of a browser that hears the file once, from its beginning, whenever the microphone is opened. */
export function hears(voice: string): { readonly launchOptions: { readonly executablePath?: string; readonly args: string[] } } {
  const chromium = findChromium()
  return {
    launchOptions: {
      ...(chromium ? { executablePath: chromium } : {}),
      args: ['--no-sandbox', '--disable-gpu', '--autoplay-policy=no-user-gesture-required', '--use-fake-ui-for-media-stream', '--use-fake-device-for-media-stream', `--use-file-for-fake-audio-capture=${voice}%noloop`],
    },
  }
}

/** Where the sound jumps: the times in milliseconds at which a click begins; what follows within `deadMs` is the same click. */
export function clicks(samples: Float32Array, sampleRate: number, deadMs = 250): number[] {
  const found: number[] = []
  for (let i = 0; i < samples.length; i++) {
    if (Math.abs(samples[i]!) < 0.5) continue
    found.push((i / sampleRate) * 1000)
    i += Math.round((sampleRate * deadMs) / 1000)
  }
  return found
}

/** A WAV file of 16-bit mono samples with a header of the usual 44 bytes. */
export function wavSamples(bytes: Buffer): { readonly samples: Float32Array; readonly sampleRate: number } {
  return { sampleRate: bytes.readUInt32LE(24), samples: Float32Array.from({ length: (bytes.length - 44) / 2 }, (_, i) => bytes.readInt16LE(44 + i * 2) / 32_768) }
}
