import { useMemo, useSyncExternalStore } from 'react'
import type { Output } from '../../shared/contract/operations.ts'
import type { Delivery, Swing } from '../../shared/contract/student.ts'
import type { Walkthrough } from '../../shared/contract/walkthrough.ts'
import { useAsked, type Part } from './asked.ts'
import { useRecordsOf } from './desk.tsx'
import type { ClipSummary } from './libraryStore.ts'
import type { Records } from './records.ts'

type Told<T> = T | null | undefined

/** Records by id, in the same order: undefined until the desk has told, null where there is none. Renders again when one of them changes. */
function useTold<T extends { readonly id: string }>(records: Records<T>, ids: readonly (string | null)[]): readonly Told<T>[] {
  const text = JSON.stringify(ids)
  const source = useMemo(() => {
    const wanted = JSON.parse(text) as (string | null)[]
    let last: readonly Told<T>[] = []
    return {
      watch: (heard: () => void) => records.watch(wanted.filter((id) => id !== null), heard),
      now: (): readonly Told<T>[] => {
        const now = wanted.map((id) => (id === null ? null : records.get(id)))
        if (now.length !== last.length || now.some((one, i) => one !== last[i])) last = now
        return last
      },
    }
  }, [records, text])
  return useSyncExternalStore(source.watch, source.now)
}

/** A clip of the library: undefined until the desk has told, null where there is none. */
export const useClip = (id: string | null): Told<ClipSummary> => useTold(useRecordsOf('clips'), [id])[0]
/** Those of these clips that are in the library and known so far. The list stays the same one until one of them changes. */
export const useClips = (ids: readonly (string | null)[]): readonly ClipSummary[] => present(useTold(useRecordsOf('clips'), ids))
/** The same, with a gap where the desk has not told yet (undefined) or there is none (null). */
export const useToldClips = (ids: readonly (string | null)[]): readonly Told<ClipSummary>[] => useTold(useRecordsOf('clips'), ids)
export const useSwing = (id: string | null): Told<Swing> => useTold(useRecordsOf('swings'), [id])[0]
export const useDelivery = (id: string | null): Told<Delivery> => useTold(useRecordsOf('deliveries'), [id])[0]
export const useWalkthrough = (id: string | null): Told<Walkthrough> => useTold(useRecordsOf('walkthroughs'), [id])[0]

const kept = new WeakMap<readonly unknown[], readonly unknown[]>()
function present<T>(list: readonly Told<T>[]): readonly T[] {
  let found = kept.get(list) as readonly T[] | undefined
  if (!found) kept.set(list, (found = list.filter((one) => one !== null && one !== undefined)))
  return found
}

const onClips: readonly Part[] = ['clips']
const onSwings: readonly Part[] = ['swings']
const onWalkthroughs: readonly Part[] = ['walkthroughs']
const onHandoffs: readonly Part[] = ['handoffs']

/** So many of a student's clips a list holds; all of them stand on the Shelf. */
const mostOwn = 300

/** A student's clips (null: those of nobody), newest first; null until the desk has told. */
export const useClipsOf = (studentId: string | null): readonly ClipSummary[] | null => useAsked('clip.list', { studentId, limit: mostOwn }, onClips).answer
/** The newest clips of all other students. */
export const useClipsOfOthers = (studentId: string | null, limit: number): readonly ClipSummary[] | null => useAsked('clip.list', { otherThan: studentId, limit }, onClips).answer
/** The newest clips of all. */
export const useNewestClips = (limit: number): readonly ClipSummary[] | null => useAsked('clip.list', { limit }, onClips).answer
/** All swings that any of these clips is part of; null until the desk has told. */
export const useSwingsOfClips = (ids: readonly string[]): readonly Swing[] | null => useAsked('swing.ofClips', { ids: [...ids] }, onSwings).answer
/** The newest swings. */
export const useNewestSwings = (limit: number): readonly Swing[] | null => useAsked('swing.list', { limit }, onSwings).answer
/** One page of the lessons; null until the desk has told. */
export const useWalkthroughs = (asked: { readonly text: string; readonly studentId?: string | null; readonly limit: number }): Output<'walkthrough.page'> | null =>
  useAsked('walkthrough.page', { ...asked, offset: 0 }, onWalkthroughs).answer
/** What was recorded to be put into a lesson. */
export const useTakesOf = (id: string): readonly Walkthrough[] | null => useAsked('walkthrough.takes', { id }, onWalkthroughs).answer
/** The videos made of a lesson, newest first. */
export const useHandoffsOf = (walkthroughId: string): Output<'handoff.list'> | null => useAsked('handoff.list', { walkthroughId }, onHandoffs).answer
