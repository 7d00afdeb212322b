import { createStore, type StoreApi } from 'zustand/vanilla'
import { ReplayClock } from '../replayClock.ts'

export interface PlayerView {
  readonly playing: boolean
  /** Milliseconds at the last rest: a pause, a seek, an end. What moves is asked of `now`. */
  readonly restMs: number
  readonly pace: number
  readonly fault: string | null
}

/**
 * The sound of a lesson and the clock that everything follows. One audio element for as long as the lesson is open: an edit
 * gives it another address, and it goes on where it was told to.
 */
export class LessonPlayer {
  readonly view: StoreApi<PlayerView> = createStore<PlayerView>()(() => ({ playing: false, restMs: 0, pace: 1, fault: null }))
  readonly audio: HTMLAudioElement = new Audio()
  readonly #clock = new ReplayClock(this.audio)
  /** Where to be once a new address can be played. */
  #wanted: number | null = null
  #resume = false
  #until: number | null = null
  #watch = 0

  constructor() {
    this.audio.preload = 'auto'
    this.audio.preservesPitch = true
    for (const name of ['play', 'pause', 'ended', 'seeked'] as const) this.audio.addEventListener(name, () => this.#rest())
    this.audio.addEventListener('loadedmetadata', () => this.#arrive())
    this.audio.addEventListener('error', () => {
      if (this.audio.error && this.audio.currentSrc) this.view.setState({ fault: 'The sound of this lesson cannot be played; a recording may be gone from the library.', playing: false })
    })
  }

  dispose(): void {
    cancelAnimationFrame(this.#watch)
    this.audio.pause()
    this.audio.removeAttribute('src')
    this.audio.load()
  }

  /** Milliseconds of the lesson, smooth from frame to frame. */
  now = (): number => (this.#wanted !== null ? this.#wanted : this.#clock.now())

  get isPlaying(): boolean {
    return !this.audio.paused && !this.audio.ended
  }

  /** Goes over to another address, at the same place (or where `seek` is asked for meanwhile), playing on where it played. */
  load(url: string): void {
    if (this.audio.getAttribute('src') === url) return
    this.#resume ||= this.isPlaying
    this.#wanted = this.now()
    this.view.setState({ fault: null })
    this.audio.src = url
    this.audio.playbackRate = this.view.getState().pace
  }

  seek(ms: number): void {
    const at = Math.max(0, ms)
    this.#until = null
    if (this.#wanted !== null) this.#wanted = at
    else this.audio.currentTime = Math.min(at / 1000, Number.isFinite(this.audio.duration) ? this.audio.duration : Infinity)
    this.view.setState({ restMs: at })
  }

  /** Tells the place that a new address will be asked for at, before it is known. */
  place(ms: number): void {
    this.#resume ||= this.isPlaying
    if (this.isPlaying) this.audio.pause()
    this.#wanted = Math.max(0, ms)
    this.view.setState({ restMs: this.#wanted })
  }

  async play(): Promise<void> {
    if (this.#wanted !== null) {
      this.#resume = true
      return
    }
    try {
      await this.audio.play()
    } catch (error) {
      // A pause that came before the sound did is no fault.
      if (!(error instanceof DOMException && error.name === 'AbortError')) this.view.setState({ fault: error instanceof Error ? error.message : String(error) })
    }
  }

  pause(): void {
    this.#resume = false
    this.audio.pause()
  }

  toggle(): void {
    if (this.isPlaying) this.pause()
    else void this.play()
  }

  /** Plays a span and rests at its end. */
  playSpan(fromMs: number, toMs: number): void {
    this.seek(fromMs)
    this.#until = toMs
    void this.play()
    const look = (): void => {
      if (this.#until === null) return
      if (this.isPlaying && this.now() >= this.#until) {
        this.#until = null
        this.pause()
        return
      }
      this.#watch = requestAnimationFrame(look)
    }
    look()
  }

  setPace(pace: number): void {
    this.audio.playbackRate = pace
    this.view.setState({ pace })
  }

  #arrive(): void {
    const at = this.#wanted
    this.#wanted = null
    this.audio.playbackRate = this.view.getState().pace
    if (at !== null) this.audio.currentTime = Math.min(at / 1000, this.audio.duration)
    if (this.#resume) void this.play()
    this.#resume = false
  }

  #rest(): void {
    this.view.setState({ playing: this.isPlaying, restMs: this.audio.currentTime * 1000 })
  }
}
