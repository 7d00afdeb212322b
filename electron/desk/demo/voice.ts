import load, { type SpeechWorker } from '@echogarden/espeak-ng-emscripten'
import { AV_CHANNEL_LAYOUT_MONO, AV_SAMPLE_FMT_FLTP, FFmpegError, SoftwareResampleContext } from 'node-av'
import { toInt16, wavHeader } from '../../media/wav.ts'

/** Samples a second of all that comes out of here. */
export const voiceRate = 48_000

export interface SpokenWord {
  readonly text: string
  readonly startS: number
}
/** `startS` to `endS` is where it sounds, without the pauses on either side. */
export interface SpokenSentence {
  readonly text: string
  readonly startS: number
  readonly endS: number
  readonly words: readonly SpokenWord[]
}
export interface Speech {
  readonly samples: Float32Array<ArrayBuffer>
  readonly seconds: number
  readonly sentences: readonly SpokenSentence[]
}

export interface VoiceOptions {
  readonly wordsPerMinute?: number
  /** Silence before the first sentence, between two, and after the last. */
  readonly leadS?: number
  readonly pauseS?: number
  readonly tailS?: number
}

let worker: Promise<SpeechWorker> | null = null
/** One synthesiser serves the whole process: its voices fill memory once. */
function synthesiser(): Promise<SpeechWorker> {
  worker ??= load().then((module) => new module.eSpeakNGWorker())
  return worker
}

/** Sentences of a text, as the language's own rules cut them. */
export function sentencesOf(text: string): string[] {
  const cut = new Intl.Segmenter('en', { granularity: 'sentence' }).segment(text)
  return [...cut].map((part) => part.segment.trim()).filter((part) => part !== '')
}

/**
 * Speaks a text, or sentences one after the other, offline. Mono, -1..1, the loudest sample at .7.
 * Timings are in seconds from the first sample: sentences by their sound, words by the synthesiser's own marks. The synthesiser's breath
 * noise differs from call to call, the timings by a few milliseconds at most.
 */
export async function speak(text: string | readonly string[], options: VoiceOptions = {}): Promise<Speech> {
  const sentences = typeof text === 'string' ? sentencesOf(text) : text.map((one) => one.trim()).filter((one) => one !== '')
  if (sentences.length === 0) throw new RangeError('There is nothing to say: the text is empty.')
  const voice = await synthesiser()
  voice.set_voice('en-gb')
  voice.set_rate(options.wordsPerMinute ?? 158)
  voice.set_pitch(42)
  voice.set_range(55)
  const parts: Float32Array[] = []
  const timed: SpokenSentence[] = []
  let at = 0
  const silence = (seconds: number) => {
    const part = new Float32Array(Math.round(seconds * voiceRate))
    parts.push(part)
    at += part.length
  }
  silence(options.leadS ?? 0.25)
  for (const [i, sentence] of sentences.entries()) {
    if (i > 0) silence(options.pauseS ?? 0.35)
    const { sound, marks } = sayOne(voice, sentence)
    const full = resampled(sound, voice.get_samplerate())
    const [from, to] = sounding(full)
    parts.push(full.subarray(from, to))
    const startS = at / voiceRate
    at += to - from
    const endS = at / voiceRate
    timed.push({
      text: sentence,
      startS,
      endS,
      words: marks.map((mark) => ({ text: mark.text, startS: Math.min(endS, Math.max(startS, startS + mark.atS - from / voiceRate)) })),
    })
  }
  silence(options.tailS ?? 0.3)
  const samples = new Float32Array(at)
  let filled = 0
  for (const part of parts) {
    samples.set(part, filled)
    filled += part.length
  }
  const loudest = samples.reduce((most, x) => Math.max(most, Math.abs(x)), 0)
  if (loudest > 0) for (let i = 0; i < samples.length; i++) samples[i] = (samples[i]! * 0.7) / loudest
  return { samples, seconds: at / voiceRate, sentences: timed }
}

function sayOne(voice: SpeechWorker, sentence: string): { sound: Float32Array; marks: { text: string; atS: number }[] } {
  const pieces: Int16Array[] = []
  const marks: { text: string; atS: number }[] = []
  const letters = [...sentence]
  voice.synthesize(sentence, (sound, events) => {
    if (sound) pieces.push(sound)
    for (const event of events)
      if (event.type === 'word') {
        const word = letters.slice(event.text_position - 1, event.text_position - 1 + event.word_length).join('')
        marks.push({ text: word, atS: event.audio_position / 1000 })
      }
    return false
  })
  const sound = new Float32Array(pieces.reduce((sum, piece) => sum + piece.length, 0))
  let at = 0
  for (const piece of pieces) for (const value of piece) sound[at++] = value / 32768
  if (sound.length === 0) throw new Error(`This sentence has no sound: "${sentence}".`)
  return { sound, marks }
}

/** To 48 kHz. */
function resampled(sound: Float32Array, rate: number): Float32Array {
  using context = new SoftwareResampleContext()
  FFmpegError.throwIfError(
    context.allocSetOpts2(AV_CHANNEL_LAYOUT_MONO, AV_SAMPLE_FMT_FLTP, voiceRate, AV_CHANNEL_LAYOUT_MONO, AV_SAMPLE_FMT_FLTP, rate),
    'set up the resampler',
  )
  FFmpegError.throwIfError(context.init(), 'start the resampler')
  const room = Math.ceil((sound.length * voiceRate) / rate) + 4096
  const out = Buffer.alloc(room * 4)
  const into = Buffer.from(sound.buffer, sound.byteOffset, sound.byteLength)
  const first = context.convertSync([out], room, [into], sound.length)
  const rest = context.convertSync([out.subarray(first * 4)], room - first, null, 0)
  return new Float32Array(out.buffer.slice(out.byteOffset, out.byteOffset + (first + rest) * 4))
}

/** From the first to after the last sample that can be heard, with 10 ms on either side. */
function sounding(samples: Float32Array): [number, number] {
  const loudest = samples.reduce((most, x) => Math.max(most, Math.abs(x)), 0)
  const heard = loudest * 0.01
  const first = samples.findIndex((x) => Math.abs(x) > heard)
  const last = samples.findLastIndex((x) => Math.abs(x) > heard)
  const margin = Math.round(0.01 * voiceRate)
  return [Math.max(0, first - margin), Math.min(samples.length, last + 1 + margin)]
}

/** A 16-bit mono WAV file of samples in -1..1. */
export function wav(samples: Float32Array, rate = voiceRate): Buffer {
  const sound = toInt16([samples])
  return Buffer.concat([wavHeader(rate, 1, sound.length), sound])
}
