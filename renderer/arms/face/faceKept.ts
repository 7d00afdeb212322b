import { createStore, type StoreApi } from 'zustand/vanilla'
import type { FaceInput } from '../../../shared/contract/faceInput.ts'
import { History } from '../../../shared/markup/history.ts'
import type { Bridge } from '../../bridge/index.ts'
import { savedBy } from '../../playback/board.ts'
import { tellFault } from '../../ui/notices.ts'
import { usualInput } from './faceState.ts'

/** Milliseconds after the last change until it is on disk. */
const soonMs = 400
/** What follows one another within this many milliseconds is one step of undo: a slider that is dragged. */
const togetherMs = 700
const key = 'face'

/** What the coach says of face, path and timing goes to disk with the swing's clips, and can be undone. Without clips nothing is kept. */
export class FaceKept {
  readonly #desk: Pick<Bridge, 'call'>
  readonly #face: StoreApi<FaceInput>
  readonly state = createStore<{ readonly canUndo: boolean; readonly canRedo: boolean; readonly isOwn: boolean }>()(() => ({ canUndo: false, canRedo: false, isOwn: false }))
  #history: History<FaceInput>
  #clipIds: readonly string[] = []
  #asked: string | null = null
  #isOurs = false
  #step: ReturnType<typeof setTimeout> | undefined
  #timer: ReturnType<typeof setTimeout> | undefined
  #saving: Promise<void> = Promise.resolve()

  constructor(desk: Pick<Bridge, 'call'>, face: StoreApi<FaceInput>) {
    this.#desk = desk
    this.#face = face
    this.#history = this.#fresh(null)
  }

  /** Follows what is said until the returned function is called. */
  start(): () => void {
    const stops = [this.#face.subscribe(() => this.#said()), savedBy(() => this.flush())]
    return () => {
      for (const stop of stops) stop()
      void this.flush()
    }
  }

  /** Brings what is kept with these clips; what was said of the ones before goes to disk first. */
  async open(clipIds: readonly string[]): Promise<void> {
    const asked = clipIds.join()
    if (asked === this.#asked) return
    this.#asked = asked
    await this.flush()
    if (this.#asked !== asked) return
    this.#clipIds = []
    try {
      const { input } = clipIds.length > 0 ? await this.#desk.call('face.kept', { clipIds: [...clipIds] }) : { input: null }
      if (this.#asked !== asked) return
      this.#clipIds = clipIds
      this.#close()
      this.#history = this.#fresh(input)
      this.#put(input)
      this.#tell()
    } catch (error) {
      if (this.#asked === asked) this.#asked = null
      tellFault(error)
    }
  }

  undo(): void {
    this.#close()
    this.#history.undo()
  }
  redo(): void {
    this.#close()
    this.#history.redo()
  }

  /** Has what is still to be written on disk when it resolves. */
  flush(): Promise<void> {
    if (this.#timer !== undefined) this.#save()
    return this.#saving
  }

  #fresh(input: FaceInput | null): History<FaceInput> {
    return new History<FaceInput>(input ? { [key]: input } : {}, (_, table) => {
      if (!this.#isOurs) this.#put(table[key] ?? null)
      this.#saveSoon()
      this.#tell()
    })
  }

  /** Shows what was kept, or what is usual, without taking it for something said. */
  #put(input: FaceInput | null): void {
    this.#isOurs = true
    this.#face.setState(input ?? usualInput, true)
    this.#isOurs = false
  }

  #said(): void {
    if (this.#isOurs) return
    if (this.#step === undefined) this.#history.open()
    clearTimeout(this.#step)
    this.#step = setTimeout(() => this.#close(), togetherMs)
    this.#isOurs = true
    this.#history.put({ [key]: this.#face.getState() })
    this.#isOurs = false
  }

  #close(): void {
    clearTimeout(this.#step)
    this.#step = undefined
    this.#history.close()
    this.#tell()
  }

  #tell(): void {
    this.state.setState({ canUndo: this.#history.canUndo || this.#history.isOpen, canRedo: this.#history.canRedo, isOwn: this.#history.table[key] !== undefined })
  }

  #saveSoon(): void {
    clearTimeout(this.#timer)
    this.#timer = this.#clipIds.length > 0 ? setTimeout(() => this.#save(), soonMs) : undefined
  }

  #save(): void {
    clearTimeout(this.#timer)
    this.#timer = undefined
    const [clipIds, input] = [[...this.#clipIds], this.#history.table[key] ?? null]
    if (clipIds.length > 0) this.#saving = this.#saving.then(async () => void (await this.#desk.call('face.keep', { clipIds, input }))).catch(tellFault)
  }
}
