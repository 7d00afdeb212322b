/** The part of the speech synthesiser's interface that the demo uses; the package ships no types. */
declare module '@echogarden/espeak-ng-emscripten' {
  /** `text_position` counts characters of the text from 1, `audio_position` milliseconds of sound from 0. */
  export interface SpeechEvent {
    readonly type: string
    readonly text_position: number
    readonly word_length: number
    readonly audio_position: number
  }
  export interface SpeechWorker {
    set_voice(name: string): number
    set_rate(wordsPerMinute: number): void
    set_pitch(percent: number): void
    set_range(percent: number): void
    get_samplerate(): number
    /** Calls back with mono 16-bit sound as it is made; answering true stops it. */
    synthesize(text: string, take: (sound: Int16Array | null, events: readonly SpeechEvent[]) => boolean): void
  }
  const load: (options?: object) => Promise<{ readonly eSpeakNGWorker: new () => SpeechWorker }>
  export default load
}
