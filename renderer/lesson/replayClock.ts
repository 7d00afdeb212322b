/** The part of an audio element that the clock needs. */
export type Sounding = Pick<HTMLMediaElement, 'currentTime' | 'paused' | 'playbackRate' | 'ended'>

/** How far the clock goes on by itself between two readings of the sound, milliseconds. */
const longestGuess = 250

/**
 * Where the sound has got to, in milliseconds, smooth from frame to frame. A browser renews an audio element's currentTime in
 * steps; between two of them the clock runs on by performance.now, never further than a quarter of a second and never backwards
 * while the sound plays.
 */
export class ReplayClock {
  readonly #sound: Sounding
  readonly #now: () => number
  #read = { soundMs: -1, at: 0 }
  #last = 0

  constructor(sound: Sounding, now: () => number = () => performance.now()) {
    this.#sound = sound
    this.#now = now
  }

  now(): number {
    const soundMs = this.#sound.currentTime * 1000
    if (this.#sound.paused || this.#sound.ended) {
      this.#read = { soundMs: -1, at: 0 }
      return (this.#last = soundMs)
    }
    const at = this.#now()
    if (soundMs !== this.#read.soundMs) {
      const jumped = Math.abs(soundMs - this.#last) > longestGuess
      this.#read = { soundMs, at }
      return (this.#last = jumped ? soundMs : Math.max(this.#last, soundMs))
    }
    const guessed = soundMs + Math.min(longestGuess, at - this.#read.at) * this.#sound.playbackRate
    return (this.#last = Math.max(this.#last, guessed))
  }
}
