import { createStore } from 'zustand/vanilla'
import { DeskError, type Fault } from '../../shared/contract/errors.ts'

export interface Notice {
  readonly id: number
  /** A fault stays until it is dismissed; word that something is done goes by itself. */
  readonly kind: 'fault' | 'done'
  readonly message: string
  readonly remedy: string | null
}

/** Notices, and how many dialogs are open: the rest of the window lies behind the uppermost, which then shows the notices itself. */
export const noticeStore = createStore<{ readonly notices: readonly Notice[]; readonly dialogs: number }>()(() => ({ notices: [], dialogs: 0 }))

/** Counts a dialog in; answers with its place (1 is the lowest). The returned `leave` counts it out. */
export function enterDialog(): { readonly place: number; readonly leave: () => void } {
  const place = noticeStore.getState().dialogs + 1
  noticeStore.setState({ dialogs: place })
  return { place, leave: () => noticeStore.setState((state) => ({ dialogs: state.dialogs - 1 })) }
}

let next = 1
const shownFor = 6000

function add(notice: Omit<Notice, 'id'>): void {
  const id = next++
  // The same fault twice is one notice.
  noticeStore.setState((state) => ({ notices: [...state.notices.filter((old) => old.message !== notice.message), { ...notice, id }].slice(-4) }))
  if (notice.kind === 'done') setTimeout(() => dismiss(id), shownFor)
}

export const dismiss = (id: number): void => noticeStore.setState((state) => ({ notices: state.notices.filter((notice) => notice.id !== id) }))

/** What to show for anything that was thrown. */
export function faultOf(error: unknown): Pick<Fault, 'message' | 'remedy'> {
  if (error instanceof DeskError) return error.fault
  if (error instanceof Error && 'fault' in error) return (error as Error & { fault: Fault }).fault
  return { message: error instanceof Error ? error.message : String(error), remedy: null }
}

export const tellDone = (message: string): void => add({ kind: 'done', message, remedy: null })
export const tellFault = (error: unknown): void => {
  const { message, remedy } = faultOf(error)
  add({ kind: 'fault', message, remedy })
}

/** Runs what may fail; a fault becomes a notice, and the answer is null. */
export async function attempt<T>(work: () => Promise<T>): Promise<T | null> {
  try {
    return await work()
  } catch (error) {
    tellFault(error)
    return null
  }
}
