import { createStore, type StoreApi } from 'zustand/vanilla'
import type { Job } from '../../shared/contract/job.ts'
import type { Desk, DeskEvent, Output } from '../../shared/contract/operations.ts'
import type { Delivery, Student, Swing } from '../../shared/contract/student.ts'
import type { Handoff, Walkthrough } from '../../shared/contract/walkthrough.ts'
import { tellFault } from './notices.ts'

/** A clip without its frame index. */
export type ClipSummary = Output<'clip.list'>[number]
export type LibraryInfo = Output<'library.info'>

/** What rooms show lists of, as last told by the desk. */
export interface Library {
  /** False until the first answers are there. */
  readonly loaded: boolean
  readonly info: LibraryInfo | null
  readonly students: readonly Student[]
  readonly deliveries: readonly Delivery[]
  readonly clips: readonly ClipSummary[]
  readonly swings: readonly Swing[]
  readonly walkthroughs: readonly Walkthrough[]
  readonly handoffs: readonly Handoff[]
  readonly jobs: readonly Job[]
}

export interface LibraryStore {
  readonly store: StoreApi<Library>
  dispose(): void
}

type Part = Extract<DeskEvent, { type: 'changed' }>['what']

/** Keeps a copy of the desk's lists: asks at the start, and again for what the desk says has changed. */
export function openLibrary(desk: Desk): LibraryStore {
  const store = createStore<Library>()(() => ({
    loaded: false, info: null, students: [], deliveries: [], clips: [], swings: [], walkthroughs: [], handoffs: [], jobs: [],
  }))
  const ask: Partial<Record<Part, () => Promise<Partial<Library>>>> = {
    students: async () => ({ students: await desk.call('student.list', {}) }),
    deliveries: async () => ({ deliveries: await desk.call('delivery.list', {}) }),
    clips: async () => ({ clips: await desk.call('clip.list', {}), info: await desk.call('library.info', {}) }),
    swings: async () => ({ swings: await desk.call('swing.list', {}) }),
    walkthroughs: async () => ({ walkthroughs: await desk.call('walkthrough.list', {}), info: await desk.call('library.info', {}) }),
    handoffs: async () => ({ handoffs: await desk.call('handoff.list', {}) }),
    jobs: async () => ({ jobs: await desk.call('job.list', {}) }),
  }

  // While one part is being asked for, further changes of it cost one more asking, not one each.
  const running = new Map<Part, { again: boolean }>()
  const reload = async (part: Part): Promise<void> => {
    const now = running.get(part)
    if (now) {
      now.again = true
      return
    }
    const asker = ask[part]
    if (!asker) return
    const run = { again: false }
    running.set(part, run)
    try {
      do {
        run.again = false
        store.setState(await asker())
      } while (run.again)
    } catch (error) {
      tellFault(error)
    } finally {
      running.delete(part)
    }
  }

  const stop = desk.listen((event) => {
    if (event.type === 'changed') void reload(event.what)
    else if (event.type === 'job') store.setState((state) => ({ jobs: withJob(state.jobs, event.job) }))
    else tellFault(Object.assign(new Error(event.fault.message), { fault: event.fault }))
  })
  void Promise.all((Object.keys(ask) as Part[]).map(reload)).then(() => store.setState({ loaded: true }))
  return { store, dispose: stop }
}

/** The jobs with one replaced, or added at the end. */
export function withJob(jobs: readonly Job[], job: Job): readonly Job[] {
  const at = jobs.findIndex((old) => old.id === job.id)
  return at < 0 ? [...jobs, job] : jobs.with(at, job)
}
