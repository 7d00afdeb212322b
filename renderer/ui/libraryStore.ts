import { createStore, type StoreApi } from 'zustand/vanilla'
import type { Job } from '../../shared/contract/job.ts'
import type { ClipSummary } from '../../shared/contract/lists.ts'
import type { Desk, DeskEvent, Output } from '../../shared/contract/operations.ts'
import type { Delivery, Student, Swing } from '../../shared/contract/student.ts'
import type { Walkthrough } from '../../shared/contract/walkthrough.ts'
import { tellFault } from './notices.ts'
import { Records } from './records.ts'

export type { ClipSummary } from '../../shared/contract/lists.ts'
export type LibraryInfo = Output<'library.info'>

/** What every room shows, as last told by the desk. All else is asked for by id or by pages, as it is shown. */
export interface Library {
  /** False until the first answers are there. */
  readonly loaded: boolean
  readonly info: LibraryInfo | null
  readonly students: readonly Student[]
  readonly jobs: readonly Job[]
}

/** Records that are asked for by id. */
export interface LibraryRecords {
  readonly clips: Records<ClipSummary>
  readonly swings: Records<Swing>
  readonly deliveries: Records<Delivery>
  readonly walkthroughs: Records<Walkthrough>
}

export interface LibraryStore {
  readonly store: StoreApi<Library>
  readonly records: LibraryRecords
  dispose(): void
}

type Part = Extract<DeskEvent, { type: 'changed' }>['what']
type Whole = 'students' | 'jobs' | 'info'

/** Keeps a copy of the desk's short lists: asks at the start, and again for what the desk says has changed. */
export function openLibrary(desk: Desk): LibraryStore {
  const store = createStore<Library>()(() => ({ loaded: false, info: null, students: [], jobs: [] }))
  const ask: Record<Whole, () => Promise<Partial<Library>>> = {
    students: async () => ({ students: await desk.call('student.list', {}) }),
    jobs: async () => ({ jobs: await desk.call('job.list', {}) }),
    info: async () => ({ info: await desk.call('library.info', {}) }),
  }
  const records: LibraryRecords = {
    clips: new Records((ids) => desk.call('clip.some', { ids: [...ids] }), tellFault),
    swings: new Records((ids) => desk.call('swing.some', { ids: [...ids] }), tellFault),
    deliveries: new Records((ids) => desk.call('delivery.some', { ids: [...ids] }), tellFault),
    walkthroughs: new Records((ids) => desk.call('walkthrough.some', { ids: [...ids] }), tellFault),
  }
  const wholeOf: Partial<Record<Part, readonly Whole[]>> = { students: ['students', 'info'], clips: ['info'], walkthroughs: ['info'], jobs: ['jobs'] }

  // While one part is being asked for, further changes of it cost one more asking, not one each.
  const running = new Map<Whole, { again: boolean }>()
  const reload = async (part: Whole): Promise<void> => {
    const now = running.get(part)
    if (now) {
      now.again = true
      return
    }
    const run = { again: false }
    running.set(part, run)
    try {
      do {
        run.again = false
        store.setState(await ask[part]())
      } while (run.again)
    } catch (error) {
      tellFault(error)
    } finally {
      running.delete(part)
    }
  }

  const stop = desk.listen((event) => {
    if (event.type === 'changed') {
      for (const part of wholeOf[event.what] ?? []) void reload(part)
      if (event.what in records) records[event.what as keyof LibraryRecords].changed()
    } else if (event.type === 'job') store.setState((state) => ({ jobs: withJob(state.jobs, event.job) }))
    else tellFault(Object.assign(new Error(event.fault.message), { fault: event.fault }))
  })
  void Promise.all((Object.keys(ask) as Whole[]).map(reload)).then(() => store.setState({ loaded: true }))
  return { store, records, dispose: stop }
}

/** The jobs with one replaced, or added at the end. */
export function withJob(jobs: readonly Job[], job: Job): readonly Job[] {
  const at = jobs.findIndex((old) => old.id === job.id)
  return at < 0 ? [...jobs, job] : jobs.with(at, job)
}
