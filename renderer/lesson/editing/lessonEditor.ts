import { createStore, type StoreApi } from 'zustand/vanilla'
import type { Desk } from '../../../shared/contract/operations.ts'
import type { Lesson } from '../../../shared/contract/lesson.ts'
import { parseLog } from '../../../shared/walkthrough/log.ts'
import { changeBetween, isNoChange } from '../../../shared/walkthrough/editSteps.ts'
import { takesIn, type Edits, type Take } from '../../../shared/walkthrough/edits.ts'
import type { OutSpan } from '../../../shared/walkthrough/editPieces.ts'
import { Programme } from '../../../shared/walkthrough/programme.ts'
import { faultOf, tellFault } from '../../ui/notices.ts'

export interface EditorView {
  /** As it is on the screen: ahead of the disk by what is on its way there. Null until it is read. */
  readonly lesson: Lesson | null
  readonly programme: Programme | null
  /** Version that is on disk, which the sound is asked for by; that of the lesson once all is saved. */
  readonly savedVersion: number
  readonly saving: 'saved' | 'saving'
  /** A span of the lesson, samples; from < to. */
  readonly selection: OutSpan | null
  readonly fault: string | null
}

export const newId = (): string => crypto.randomUUID()

/** Logs of recordings that are whole do not change: each is read once while the window lives. */
const logs = new Map<string, Promise<Take['log']>>()

function logOf(desk: Desk, takeId: string): Promise<Take['log']> {
  let log = logs.get(takeId)
  if (!log) {
    log = desk.call('walkthrough.log', { id: takeId }).then(({ text }) => parseLog(text))
    log.catch(() => logs.delete(takeId))
    logs.set(takeId, log)
  }
  return log
}

/**
 * A lesson while it is edited. What the coach does is on the screen at once and goes to the disk in order, one step at a time;
 * where the desk refuses one (another window was faster), the lesson is read again as it is there.
 */
export class LessonEditor {
  readonly view: StoreApi<EditorView> = createStore<EditorView>()(() => ({ lesson: null, programme: null, savedVersion: 0, saving: 'saved', selection: null, fault: null }))
  /** Told where the playhead should go after an edit, milliseconds of the new lesson. */
  onPlace: (ms: number) => void = () => {}
  /** Where the playhead is, milliseconds. */
  now: () => number = () => 0
  readonly #desk: Desk
  readonly #id: string
  readonly #stop: () => void
  #logs = new Map<string, Take['log']>()
  #line: Promise<unknown> = Promise.resolve()
  #waiting = 0
  /** The step that was last asked for while it is on its way: the next undo sets out from there. */
  #wantedStep: number | null = null
  #disposed = false

  constructor(desk: Desk, id: string) {
    this.#desk = desk
    this.#id = id
    this.#stop = desk.listen((event) => {
      if (event.type === 'changed' && (event.what === 'lessons' || event.what === 'walkthroughs')) void this.#line.then(() => this.#lookAgain())
    })
    void this.load()
  }

  dispose(): void {
    this.#disposed = true
    this.#stop()
  }

  async load(): Promise<void> {
    try {
      this.#take(await this.#desk.call('lesson.get', { id: this.#id }), await this.#logsFor(null))
    } catch (error) {
      this.view.setState({ fault: faultOf(error).message })
    }
  }

  /** Makes a step under a name; `edit` answers with the list as it shall be. Nothing happens where nothing changes. */
  edit(name: string, edit: (edits: Edits, programme: Programme) => Edits, place: 'follow' | number = 'follow'): boolean {
    const { lesson, programme } = this.view.getState()
    if (!lesson || !programme) return false
    if (this.#wantedStep !== null) {
      // The list that this is to change is still on its way back from the desk.
      void this.#line.then(() => this.edit(name, edit, place))
      return true
    }
    const edits = edit(lesson.edits, programme)
    const change = changeBetween(lesson.edits, edits)
    if (isNoChange(change)) return false
    const steps = [...lesson.steps.slice(0, lesson.step), { number: lesson.step + 1, name, madeAt: Date.now() }]
    this.#show({ ...lesson, edits, steps, step: lesson.step + 1, version: lesson.version + 1 }, place)
    this.#send((version) => this.#desk.call('lesson.apply', { id: this.#id, version, name: name.slice(0, 120), change }))
    return true
  }

  undo(): void {
    const step = this.#wantedStep ?? this.view.getState().lesson?.step ?? 0
    if (step > 0) this.toStep(step - 1)
  }

  redo(): void {
    const { lesson } = this.view.getState()
    const step = this.#wantedStep ?? lesson?.step ?? 0
    if (lesson && step < lesson.steps.length) this.toStep(step + 1)
  }

  toStep(to: number): void {
    if ((this.#wantedStep ?? this.view.getState().lesson?.step) === to) return
    this.#wantedStep = to
    this.#send((version) => this.#desk.call('lesson.step', { id: this.#id, version, to }))
  }

  select(selection: OutSpan | null): void {
    const { programme } = this.view.getState()
    const held = selection && programme ? { from: Math.max(0, Math.round(selection.from)), to: Math.min(programme.length, Math.round(selection.to)) } : null
    this.view.setState({ selection: held && held.from < held.to ? held : null })
  }

  /** Resolves when all that was done is on the disk. */
  saved(): Promise<unknown> {
    return this.#line
  }

  /** The log of any recording, for one that is to be put in. */
  async takeOf(id: string, durationMs: number): Promise<Take> {
    const log = await logOf(this.#desk, id)
    this.#logs.set(id, log)
    return { id, log, durationMs }
  }

  #send(call: (version: number) => Promise<Lesson>): void {
    this.#waiting++
    this.view.setState({ saving: 'saving' })
    this.#line = this.#line.then(async () => {
      try {
        const { savedVersion } = this.view.getState()
        const lesson = await call(savedVersion)
        const rest = --this.#waiting
        // With more on its way, what is on the screen is ahead of this answer.
        if (rest > 0) this.view.setState({ savedVersion: lesson.version })
        else {
          this.#wantedStep = null
          await this.#accept(lesson)
        }
      } catch (error) {
        this.#waiting = Math.max(0, this.#waiting - 1)
        this.#wantedStep = null
        tellFault(error)
        await this.load()
      }
    })
  }

  async #accept(lesson: Lesson): Promise<void> {
    await this.#logsFor(lesson)
    const { lesson: shown } = this.view.getState()
    // What is on the screen stays the object it is where the desk has the same: nothing is drawn again.
    if (shown && shown.version === lesson.version && JSON.stringify(shown.edits) === JSON.stringify(lesson.edits)) this.view.setState({ lesson: { ...lesson, edits: shown.edits }, savedVersion: lesson.version, saving: 'saved' })
    else this.#take(lesson, this.#logs)
  }

  async #lookAgain(): Promise<void> {
    if (this.#waiting > 0 || this.#disposed) return
    try {
      const lesson = await this.#desk.call('lesson.get', { id: this.#id })
      const { lesson: shown } = this.view.getState()
      if (this.#waiting > 0 || this.#disposed) return
      if (!shown || shown.version !== lesson.version || shown.takes.map(({ id }) => id).join() !== lesson.takes.map(({ id }) => id).join()) await this.#accept(lesson)
    } catch {
      // The lesson was removed; the room that shows it is told by the list.
    }
  }

  async #logsFor(lesson: Lesson | null): Promise<ReadonlyMap<string, Take['log']>> {
    const of = lesson ?? (await this.#desk.call('lesson.get', { id: this.#id }))
    const wanted = takesIn(of.edits).filter((id) => of.takes.some((take) => take.id === id))
    await Promise.all(wanted.map(async (id) => this.#logs.set(id, await logOf(this.#desk, id))))
    return this.#logs
  }

  #take(lesson: Lesson, read: ReadonlyMap<string, Take['log']>): void {
    this.#logs = new Map(read)
    this.#show(lesson, 'follow')
    this.view.setState({ savedVersion: lesson.version, saving: 'saved', fault: null })
  }

  #show(lesson: Lesson, place: 'follow' | number): void {
    const { programme: before, selection } = this.view.getState()
    const durations = new Map(lesson.takes.map(({ id, durationMs }) => [id, durationMs]))
    const takes = [...this.#logs].map(([id, log]): Take => ({ id, log, durationMs: durations.get(id) ?? 0 }))
    const programme = new Programme(takes, lesson.edits)
    const now = this.now()
    const seen = before?.toTake(now)
    this.view.setState({ lesson, programme, selection: selection && selection.to <= programme.length && before?.length === programme.length ? selection : null })
    if (!before) return
    if (place !== 'follow') this.onPlace(place)
    else {
      // The playhead stays on what it stood on; where that was cut, at what comes next.
      const there = seen ? programme.toLesson(seen.takeId, seen.ms)[0] : undefined
      const next = there ?? Math.min(now, programme.lengthMs)
      if (Math.abs(next - now) > 0.5) this.onPlace(next)
    }
  }
}
