import { createStore } from 'zustand/vanilla'
import type { Batch } from '../../shared/contract/operations.ts'
import type { Bridge } from '../bridge/index.ts'
import { tellFault } from '../ui/notices.ts'

export interface Brought { readonly file: File; readonly view: Batch['items'][number]['view']; readonly captureRate: number | null }

/** A batch on its way to the desk; after that its jobs tell how it goes. */
export interface Bringing {
  readonly id: number
  readonly files: number
  /** The file that is being brought, by its name. */
  readonly now: string
  /** By bytes, 0 to 1. */
  readonly progress: number
  readonly secondsLeft: number | null
}

export const bringingStore = createStore<{ readonly batches: readonly Bringing[] }>()(() => ({ batches: [] }))

const aborts = new Map<number, AbortController>()
let next = 1

export function cancelBringing(id: number): void {
  aborts.get(id)?.abort()
  drop(id)
}
/** Files that are still being handed over would be lost with the window: the browser asks first. */
const warn = (event: BeforeUnloadEvent): void => event.preventDefault()
bringingStore.subscribe(({ batches }) => (batches.length ? window.addEventListener('beforeunload', warn) : window.removeEventListener('beforeunload', warn)))

const drop = (id: number): void => bringingStore.setState((state) => ({ batches: state.batches.filter((batch) => batch.id !== id) }))
const put = (batch: Bringing): void =>
  bringingStore.setState((state) => ({ batches: [...state.batches.filter((old) => old.id !== batch.id), batch] }))

/**
 * Brings the files to the desk one after the other, then starts the take-in. A file that cannot be brought is told of and
 * left out; the others go on.
 */
export async function bringIn(desk: Bridge, files: readonly Brought[], batch: Omit<Batch, 'items'>): Promise<void> {
  const id = next++
  const total = files.reduce((sum, { file }) => sum + file.size, 0) || 1
  const began = performance.now()
  const items: Batch['items'] = []
  const abort = new AbortController()
  aborts.set(id, abort)
  let before = 0
  try {
    for (const { file, view, captureRate } of files) {
      const tell = (part: number): void => {
        if (abort.signal.aborted) return
        const progress = Math.min(1, (before + part * file.size) / total)
        const seconds = (performance.now() - began) / 1000
        put({ id, files: files.length, now: file.name, progress, secondsLeft: progress > 0.02 && seconds > 0.5 ? (seconds / progress) * (1 - progress) : null })
      }
      tell(0)
      try {
        items.push({ source: await desk.stage(file, { onProgress: tell, signal: abort.signal }), view, captureRate })
      } catch (error) {
        if (!abort.signal.aborted) tellFault(error)
      }
      if (abort.signal.aborted) return
      before += file.size
    }
    if (items.length) await desk.call('takeIn.start', { ...batch, items })
  } catch (error) {
    tellFault(error)
  } finally {
    drop(id)
    aborts.delete(id)
  }
}
