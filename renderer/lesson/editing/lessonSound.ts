import { createStore, type StoreApi } from 'zustand/vanilla'
import type { Desk } from '../../../shared/contract/operations.ts'
import type { Lesson } from '../../../shared/contract/lesson.ts'
import { takesIn, type SoundCleaning } from '../../../shared/walkthrough/edits.ts'
import { peaksPerSecond, type PeakTrack } from '../../../shared/walkthrough/silences.ts'
import { faultOf } from '../../ui/notices.ts'
import { fetchPeaks } from '../peaks.ts'

/** What is known of the sound of a lesson's recordings. */
export interface SoundView {
  /** Peaks of each recording's own sound, by its id. */
  readonly peaks: ReadonlyMap<string, PeakTrack>
  /** Whether the cleaned copies that the lesson wants are there; `share` while they are made. */
  readonly cleaned: { /** Which copies this is about, as `copiesOf` names them. */ readonly wanted: string; readonly state: 'none' | 'making' | 'ready' | 'failed'; readonly share: number; readonly secondsLeft: number | null; readonly fault: string | null; readonly humHz: number | null; readonly noiseDb: readonly [number, number] | null }
  readonly fault: string | null
}

const noneCleaned: SoundView['cleaned'] = { wanted: '', state: 'none', share: 0, secondsLeft: null, fault: null, humHz: null, noiseDb: null }
const askEveryMs = 400
const standardRate = 48_000

interface MediaDesk extends Desk {
  mediaUrl(path: string): string
}

const shownTakes = (lesson: Lesson) => takesIn(lesson.edits).flatMap((id) => lesson.takes.filter((take) => take.id === id))

/** The recordings that a lesson wants copies of (cleaned, or brought to the common rate), and a name for just these copies. */
export function copiesOf(lesson: Lesson): { readonly needed: readonly string[]; readonly wanted: string } {
  const { sound } = lesson.edits
  const needed = shownTakes(lesson).filter(({ sampleRate }) => sound.on || sampleRate !== standardRate).map(({ id }) => id)
  return { needed, wanted: JSON.stringify([needed, sound]) }
}

/**
 * What the lesson can be heard by now, in the version that is on disk: as it is wanted where its copies are there, else as
 * recorded where that needs none; null while neither can be had.
 */
export function soundPathOf(lesson: Lesson, version: number, cleaned: SoundView['cleaned'], asRecorded: boolean): string | null {
  const { needed, wanted } = copiesOf(lesson)
  const isReady = needed.length === 0 || (cleaned.state === 'ready' && cleaned.wanted === wanted)
  if (isReady && !asRecorded) return `lesson/${lesson.id}/${version}.wav`
  return shownTakes(lesson).every(({ sampleRate }) => sampleRate === standardRate) ? `lesson/${lesson.id}/${version}-recorded.wav` : isReady ? `lesson/${lesson.id}/${version}.wav` : null
}

/** Reads the peaks of recordings once, and follows the making of their cleaned copies. */
export class LessonSound {
  readonly view: StoreApi<SoundView> = createStore<SoundView>()(() => ({ peaks: new Map(), cleaned: noneCleaned, fault: null }))
  readonly #desk: MediaDesk
  readonly #stop = new AbortController()
  readonly #reading = new Set<string>()
  #wanted = ''
  #began = 0
  #timer: ReturnType<typeof setTimeout> | undefined

  constructor(desk: MediaDesk) {
    this.#desk = desk
  }

  dispose(): void {
    this.#stop.abort()
    clearTimeout(this.#timer)
  }

  /** Follows a lesson: reads what it newly shows, and has cleaned what it wants cleaned. */
  follow(lesson: Lesson): void {
    for (const { id, sampleRate } of shownTakes(lesson)) void this.#read(id, sampleRate)
    const { sound } = lesson.edits
    const { needed, wanted } = copiesOf(lesson)
    if (wanted === this.#wanted) return
    this.#wanted = wanted
    this.#began = performance.now()
    clearTimeout(this.#timer)
    if (needed.length === 0) this.view.setState({ cleaned: { ...noneCleaned, wanted } })
    else {
      this.view.setState({ cleaned: { ...noneCleaned, state: 'making', wanted } })
      void this.#ask(needed, sound, wanted)
    }
  }

  /** Tries again after a failure. */
  again(lesson: Lesson): void {
    this.#wanted = ''
    this.follow(lesson)
  }

  async #ask(ids: readonly string[], cleaning: SoundCleaning, wanted: string): Promise<void> {
    try {
      const answers = await Promise.all(ids.map((takeId) => this.#desk.call('lesson.sound', { takeId, cleaning })))
      if (this.#wanted !== wanted || this.#stop.signal.aborted) return
      const failed = answers.find(({ state }) => state === 'failed')
      const making = answers.some(({ state }) => state === 'making')
      const share = answers.reduce((sum, each) => sum + each.share, 0) / answers.length
      this.view.setState({ cleaned: { wanted, state: failed ? 'failed' : making ? 'making' : 'ready', share, secondsLeft: share > 0.03 ? ((performance.now() - this.#began) / 1000 / share) * (1 - share) : null, fault: failed?.fault ?? null, humHz: answers[0]!.humHz, noiseDb: answers[0]!.noiseDb } })
      if (!failed && making) this.#timer = setTimeout(() => void this.#ask(ids, cleaning, wanted), askEveryMs)
    } catch (error) {
      if (this.#wanted === wanted) this.view.setState({ cleaned: { ...noneCleaned, wanted, state: 'failed', fault: faultOf(error).message } })
    }
  }

  async #read(id: string, sampleRate: number): Promise<void> {
    if (this.#reading.has(id)) return
    this.#reading.add(id)
    try {
      const track = await fetchPeaks(this.#desk.mediaUrl(`walkthrough/${id}.wav`), sampleRate, this.#stop.signal, peaksPerSecond)
      this.view.setState(({ peaks }) => ({ peaks: new Map([...peaks, [id, track]]) }))
    } catch (error) {
      this.#reading.delete(id)
      if (!this.#stop.signal.aborted) this.view.setState({ fault: faultOf(error).message })
    }
  }
}
