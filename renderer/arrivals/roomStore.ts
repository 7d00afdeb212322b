import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import type { ArrivalFilter } from '../../shared/contract/lists.ts'

/** Which dialog stands open. */
export type Sheet =
  | { readonly kind: 'take-in'; readonly files: readonly File[]; readonly studentId: string | null }
  | { readonly kind: 'student'; readonly studentId: string | null }
  | { readonly kind: 'remove-student'; readonly studentId: string }
  | { readonly kind: 'remove-clips'; readonly clipIds: readonly string[] }
  | { readonly kind: 'delivery'; readonly deliveryId: string }

export interface ArrivalsState {
  readonly filter: ArrivalFilter
  /** Clips chosen, in the order in which they were. */
  readonly chosen: readonly string[]
  readonly sheet: Sheet | null
}

/** What the Arrivals room shows right now; a store, so that keys can act on it. */
export const arrivalsStore = createStore<ArrivalsState>()(() => ({ filter: { studentId: null, text: '', show: 'all' }, chosen: [], sheet: null }))

export const useArrivals = <T>(select: (state: ArrivalsState) => T): T => useStore(arrivalsStore, select)

export const setFilter = (patch: Partial<ArrivalFilter>): void => arrivalsStore.setState((state) => ({ filter: { ...state.filter, ...patch } }))
export const openSheet = (sheet: Sheet | null): void => arrivalsStore.setState({ sheet })
export const chooseStudent = (studentId: string | null): void => arrivalsStore.setState((state) => ({ filter: { ...state.filter, studentId }, chosen: [] }))
export const choose = (clipId: string, more: boolean): void =>
  arrivalsStore.setState(({ chosen }) => {
    if (!more) return { chosen: chosen.length === 1 && chosen[0] === clipId ? [] : [clipId] }
    return { chosen: chosen.includes(clipId) ? chosen.filter((id) => id !== clipId) : [...chosen, clipId] }
  })
export const chooseAll = (chosen: readonly string[]): void => arrivalsStore.setState({ chosen })
