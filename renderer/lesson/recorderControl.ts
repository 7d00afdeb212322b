import { createStore, type StoreApi } from 'zustand/vanilla'
import type { LogHeader } from '../../shared/walkthrough/log.ts'
import type { TakePlace } from '../../shared/contract/lesson.ts'
import type { Desk } from '../../shared/contract/operations.ts'
import type { StageStore } from '../playback/stageStore.ts'
import { faultOf } from '../ui/notices.ts'
import { MicrophoneError, openMicrophone } from './microphone.ts'
import { drive, Take, type RecorderState } from './recorder.ts'
import type { Append } from './saver.ts'
import { silentSource, type Level, type SoundSource } from './soundSource.ts'

/** What a walkthrough is about. */
export interface RecordingContext {
  readonly swingId: string | null
  readonly studentId: string | null
  readonly title: string
  /** For a recording that is to be put into a lesson. */
  readonly takeOf?: { readonly lessonId: string; readonly place: TakePlace }
}

export interface RecorderView {
  readonly state: RecorderState
  /** Seconds still to count, while counting in. */
  readonly count: number | null
  readonly durationMs: number
  readonly savedMs: number
  readonly voiced: boolean
  /** Chapters begun so far. */
  readonly chapters: number
  readonly fault: { readonly message: string; readonly remedy: string | null } | null
}

const atRest: RecorderView = { state: 'idle', count: null, durationMs: 0, savedMs: 0, voiced: true, chapters: 0, fault: null }

/** More than this unsaved, and the coach is told. */
export const unsavedWarningMs = 2000

/** Opens the sound, counts in, keeps a take going and tells how it stands; lives outside React, as long as the window. */
export class RecorderControl {
  readonly view: StoreApi<RecorderView> = createStore<RecorderView>()(() => atRest)
  /** Hears the level about twenty times a second while a microphone is open. */
  onLevel: (level: Level) => void = () => {}
  readonly #desk: Desk
  readonly #store: StageStore
  #source: SoundSource | null = null
  #take: Take | null = null
  #release: () => void = () => {}
  #walkthroughId: string | null = null
  #context: RecordingContext | null = null
  #timer: ReturnType<typeof setInterval> | null = null

  constructor(desk: Desk, store: StageStore) {
    this.#desk = desk
    this.#store = store
  }

  async start(context: RecordingContext, input: { readonly deviceId: string; readonly voice: boolean; readonly countIn: number }): Promise<void> {
    if (this.view.getState().state !== 'idle') return
    this.#context = context
    this.#set({ ...atRest, state: 'counting-in', voiced: input.voice, count: input.countIn > 0 ? input.countIn : null })
    try {
      this.#source = input.voice ? await openMicrophone(input.deviceId) : silentSource()
    } catch (error) {
      this.#fail(error)
      return
    }
    if (this.#state() !== 'counting-in') return this.#closeSource()
    this.#source.onLevel = (level) => this.onLevel(level)
    this.#source.onLost = (why) => this.#fail(new MicrophoneError(`The microphone was lost before recording began: ${why}.`, 'Plug it in again or choose another input.'))
    for (let left = input.countIn; left > 0; left--) {
      this.#set({ count: left })
      await new Promise((done) => setTimeout(done, 1000))
      if (this.#state() !== 'counting-in') return this.#closeSource()
    }
    this.#begin(this.#source)
  }

  pause(): void {
    if (this.#state() !== 'recording') return
    this.#take?.pause()
    void this.#take?.flush()
    this.#set({ state: 'paused' })
  }

  /** Goes on; where the microphone was lost, opens one again first. */
  async resume(deviceId: string): Promise<void> {
    if (this.#state() !== 'paused' || !this.#take) return
    if (!this.#source) {
      try {
        const source = await openMicrophone(deviceId)
        if (source.sampleRate !== this.#take.sampleRate) {
          source.close()
          throw new MicrophoneError('This input runs at another sample rate than the recording.', 'Choose the input that the recording began with, or stop and record the rest as a walkthrough of its own.')
        }
        this.#connect(source, this.#take)
      } catch (error) {
        this.#set({ fault: describe(error) })
        return
      }
    }
    this.#take.resume()
    this.#set({ state: 'recording', fault: null })
  }

  chapter(title: string): void {
    if (this.#state() !== 'recording' || !this.#take) return
    this.#take.chapter(title)
    this.#set({ chapters: this.view.getState().chapters + 1 })
  }

  /** Ends the recording and resolves to the walkthrough's id once everything is on the disk; null where nothing was recorded. */
  async stop(): Promise<string | null> {
    const state = this.#state()
    if (state === 'counting-in') {
      this.#closeSource()
      this.#set(atRest)
      return null
    }
    if ((state !== 'recording' && state !== 'paused') || !this.#take) return null
    this.#set({ state: 'finishing' })
    this.#release()
    this.#closeSource()
    const whole = await this.#take.finish()
    const id = this.#walkthroughId
    try {
      if (whole && id) await this.#desk.call('walkthrough.finish', { id })
      this.#set(atRest)
    } catch (error) {
      this.#set({ ...atRest, fault: describe(error) })
    }
    this.#forget()
    return whole ? id : null
  }

  #begin(source: SoundSource): void {
    const take = new Take({
      store: this.#store,
      sampleRate: source.sampleRate,
      begin: (header) => this.#beginOnDesk(header, source.sampleRate),
      onFault: (fault) => this.#set({ fault: describe(fault) }),
    })
    this.#take = take
    this.#connect(source, take)
    this.#timer = setInterval(() => {
      const { savedMs, durationMs } = take
      const healed = this.view.getState().fault !== null && this.#state() === 'recording' && durationMs - savedMs < unsavedWarningMs
      this.#set({ durationMs, savedMs, ...(healed ? { fault: null } : {}) })
    }, 200)
    this.#set({ state: 'recording', count: null })
  }

  async #beginOnDesk(header: LogHeader, sampleRate: number): Promise<Append> {
    const { id } = await this.#desk.call('walkthrough.begin', { ...this.#context!, sampleRate, header })
    this.#walkthroughId = id
    return async (piece) => {
      await this.#desk.call('walkthrough.append', { id, ...piece, rows: [...piece.rows] })
    }
  }

  #connect(source: SoundSource, take: Take): void {
    this.#source = source
    source.onLevel = (level) => this.onLevel(level)
    this.#release = drive(take, source, (why) => {
      this.#closeSource()
      this.#set({ state: 'paused', fault: { message: `The microphone was lost: ${why}. What was recorded is kept.`, remedy: 'Plug it in again or choose another input, then resume; or stop here.' } })
    })
  }

  #fail(error: unknown): void {
    this.#closeSource()
    this.#set({ ...atRest, fault: describe(error) })
    this.#forget()
  }

  #forget(): void {
    if (this.#timer !== null) clearInterval(this.#timer)
    this.#timer = null
    this.#take = null
    this.#walkthroughId = null
    this.#context = null
    this.#release = () => {}
  }

  #closeSource(): void {
    this.#source?.close()
    this.#source = null
  }

  #state(): RecorderState {
    return this.view.getState().state
  }
  #set(patch: Partial<RecorderView>): void {
    this.view.setState(patch)
  }
}

function describe(error: unknown): { message: string; remedy: string | null } {
  if (error instanceof MicrophoneError) return { message: error.message, remedy: error.remedy }
  return faultOf(error)
}
