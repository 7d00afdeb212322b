import { existsSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { z } from 'zod'
import { DeskError } from '../../shared/contract/errors.ts'
import type { CleanedSound } from '../../shared/contract/lesson.ts'
import type { SoundCleaning } from '../../shared/walkthrough/edits.ts'
import type { RawSound } from '../media/rawSound.ts'
import { getWalkthrough } from '../library/walkthroughs.ts'
import type { Library } from '../library/library.ts'
import type { Engines, EngineOptions } from './engines.ts'
import type { EventHub } from './events.ts'
import { soundPath } from './recordings.ts'

/** Changes when the way of cleaning does, so that copies made the old way are not taken for new ones. */
const recipe = 1

/** Names a way of cleaning; a copy is kept under it beside the recording. */
export const cleaningKey = ({ on, hum, noise, even }: SoundCleaning): string => (on ? `${recipe}-${hum ? 'hum' : 'plain'}-${noise}-${even ? 'even' : 'asis'}` : `${recipe}-recorded`)
const fileOf = (key: string): string => `sound-${key}.wav`
const isCopy = (name: string): boolean => /^sound-.*\.wav(\.part|\.between|\.json)?$/.test(name)

/** What was found while a copy was made, kept beside it. */
const foundSchema = z.object({ humHz: z.number().nullable(), noiseDb: z.tuple([z.number(), z.number()]) })

interface Making {
  readonly promise: Promise<RawSound>
  share: number
  readonly stop: AbortController
}

/**
 * Cleaned copies of recordings' sound, made in the background, one at a time, and kept beside the recording until it is wanted
 * cleaned in another way. A copy that a crash left half made has another name and is thrown away with the next one.
 */
export class Cleaning {
  readonly #library: Library
  readonly #clean: Engines['cleanSound']
  readonly #hub: EventHub
  readonly #making = new Map<string, Making>()
  readonly #failed = new Map<string, string>()
  readonly #wordsOf: (error: unknown) => string
  #line: Promise<unknown> = Promise.resolve()

  /** `wordsOf` says in a sentence what went wrong. */
  constructor(library: Library, clean: Engines['cleanSound'], hub: EventHub, wordsOf: (error: unknown) => string) {
    this.#wordsOf = wordsOf
    this.#library = library
    this.#clean = clean
    this.#hub = hub
  }

  /** How a cleaned copy stands; begins to make it where it is not there. */
  ask(takeId: string, cleaning: SoundCleaning): CleanedSound {
    const key = cleaningKey(cleaning)
    const name = `${takeId}/${key}`
    const state = { share: 0, media: null, humHz: null, noiseDb: null, fault: null } as const
    this.#mustHold(takeId)
    if (existsSync(this.#path(takeId, key)) && !this.#making.has(name)) return { ...state, ...this.#found(takeId, key), state: 'ready', share: 1, media: `cleaned/${takeId}/${key}.wav` }
    const fault = this.#failed.get(name)
    if (fault !== undefined) {
      // The next asking tries again.
      this.#failed.delete(name)
      return { ...state, state: 'failed', fault }
    }
    const making = this.#make(takeId, cleaning)
    making.promise.catch(() => {})
    return { ...state, state: 'making', share: making.share }
  }

  /**
   * The copy itself, made where it is not there: a WAV file, `skip` bytes of header. A recording at 48 kHz that is wanted as
   * recorded is its own copy, bare samples without a header.
   */
  async sound(takeId: string, cleaning: SoundCleaning, { signal, onProgress }: EngineOptions = {}): Promise<RawSound> {
    const take = this.#mustHold(takeId)
    if (!cleaning.on && take.sampleRate === 48_000) return { path: soundPath(this.#library, takeId), sampleRate: 48_000 }
    const key = cleaningKey(cleaning)
    if (existsSync(this.#path(takeId, key)) && !this.#making.has(`${takeId}/${key}`)) return { path: this.#path(takeId, key), sampleRate: 48_000, skip: 44 }
    const making = this.#make(takeId, cleaning)
    const told = setInterval(() => onProgress?.({ share: making.share, step: 'Cleaning the sound' }), 250)
    try {
      // Whoever waits may leave; the copy goes on being made, for the room may want it too.
      return await Promise.race([making.promise, aborted(signal)])
    } finally {
      clearInterval(told)
    }
  }

  /** Path of a copy that is there, for a key as `cleaningKey` gives it; null where there is none. */
  pathOf(takeId: string, key: string): string | null {
    const path = this.#path(takeId, key)
    return existsSync(path) ? path : null
  }

  /** Stops making copies of a recording that is about to go. */
  async drop(takeId: string): Promise<void> {
    for (const [name, { stop, promise }] of this.#making) {
      if (!name.startsWith(`${takeId}/`)) continue
      stop.abort()
      await promise.catch(() => {})
    }
  }

  async close(): Promise<void> {
    for (const { stop } of this.#making.values()) stop.abort()
    await Promise.allSettled([...this.#making.values()].map(({ promise }) => promise))
  }

  #path(takeId: string, key: string): string {
    return join(this.#library.layout.walkthroughs, takeId, fileOf(key))
  }

  #found(takeId: string, key: string): z.infer<typeof foundSchema> | null {
    const path = `${this.#path(takeId, key)}.json`
    const found = existsSync(path) ? foundSchema.safeParse(JSON.parse(readFileSync(path, 'utf8'))) : null
    return found?.data ?? null
  }

  #mustHold(takeId: string): { readonly sampleRate: number } {
    const take = getWalkthrough(this.#library.db, takeId)
    if (!take) throw new DeskError('not-found', 'This recording is not in the library any more.', { where: takeId })
    if (take.state === 'recording') throw new DeskError('bad-input', 'This recording is still being made.', { where: take.title, remedy: 'Stop it first.' })
    return take
  }

  #make(takeId: string, cleaning: SoundCleaning): Making {
    const key = cleaningKey(cleaning)
    const name = `${takeId}/${key}`
    const known = this.#making.get(name)
    if (known) return known
    const stop = new AbortController()
    const work = this.#line.then(async (): Promise<RawSound> => {
      stop.signal.throwIfAborted()
      const { sampleRate } = this.#mustHold(takeId)
      const out = this.#path(takeId, key)
      const folder = join(this.#library.layout.walkthroughs, takeId)
      for (const file of readdirSync(folder)) if (isCopy(file)) rmSync(join(folder, file), { force: true })
      const { hum, before, after } = await this.#clean({ sound: { path: soundPath(this.#library, takeId), sampleRate }, cleaning, out }, { signal: stop.signal, onProgress: ({ share }) => (making.share = share) })
      writeFileSync(`${out}.json`, JSON.stringify({ humHz: hum?.hz ?? null, noiseDb: [before.noiseDb, after.noiseDb] }))
      return { path: out, sampleRate: 48_000, skip: 44 }
    })
    const promise = work.catch((error: unknown) => {
      if (!stop.signal.aborted) this.#failed.set(name, this.#wordsOf(error))
      throw error
    }).finally(() => {
      this.#making.delete(name)
      this.#hub.changed('lessons')
    })
    const making: Making = { promise, share: 0, stop }
    this.#making.set(name, making)
    this.#line = promise.catch(() => {})
    return making
  }
}

const aborted = (signal: AbortSignal | undefined): Promise<never> =>
  new Promise((_, reject) => {
    if (signal?.aborted) reject(signal.reason)
    signal?.addEventListener('abort', () => reject(signal.reason), { once: true })
  })
