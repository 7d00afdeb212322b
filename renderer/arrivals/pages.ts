import { useEffect, useMemo, useRef, useState } from 'react'
import type { ArrivalFilter } from '../../shared/contract/lists.ts'
import type { Output } from '../../shared/contract/operations.ts'
import type { Part } from '../ui/asked.ts'
import { useDesk } from '../ui/desk.tsx'
import { tellFault } from '../ui/notices.ts'
import { Pages } from '../ui/pages.ts'

/** What the table goes by. */
export const arrivalParts: readonly Part[] = ['students', 'deliveries', 'clips', 'swings', 'walkthroughs', 'handoffs']

export type ArrivalItem = Output<'arrival.page'>['items'][number]

/** So many arrivals are asked for at once, and so many pages of them are kept. */
const pageSize = 24
const mostPages = 8

export interface ArrivalPages {
  /** How many there are; null until the desk has told. */
  readonly total: number | null
  /** Another with each search: the list begins at its top. */
  readonly search: ArrivalFilter
  /** Undefined where it is not there yet. */
  at(index: number): ArrivalItem | undefined
  /** Those from `first` to `last` are in sight, and `others` are to be there too: what is missing of them is asked for. */
  need(first: number, last: number, others: readonly number[]): void
}

type Sight = readonly [first: number, last: number, others: readonly number[]]

/**
 * What came in, as far as it is in sight. When something changes, what is in sight is asked for again; until it has come, and while
 * another filter is looked through, the old list stays.
 */
export function useArrivalPages({ studentId, text, show }: ArrivalFilter): ArrivalPages {
  const desk = useDesk()
  const [told, setTold] = useState<{ readonly total: number; readonly search: ArrivalFilter } | null>(null)
  const sight = useRef<Sight>([0, 0, []])
  const asked = useMemo((): ArrivalFilter => ({ studentId, text, show }), [studentId, text, show])
  const pages = useMemo(() => new Pages<ArrivalFilter, ArrivalItem>({
    pageSize, most: mostPages, query: { studentId: null, text: '', show: 'all' }, fetch: (filter, offset, limit) => desk.call('arrival.page', { ...filter, offset, limit }),
  }, {
    found: (search, { total }) => setTold({ total, search }),
    more: () => setTold((before) => before && { ...before }),
    failed: tellFault,
  }), [desk])

  useEffect(() => {
    sight.current = [0, 0, []]
    void pages.ask(asked)
    let due: ReturnType<typeof setTimeout> | undefined
    const stop = desk.listen((event) => {
      if (event.type !== 'changed' || !arrivalParts.includes(event.what) || due !== undefined) return
      // Several changes of one step cost one question.
      due = setTimeout(() => {
        due = undefined
        void pages.ask(asked, ...sight.current)
      }, 30)
    })
    return () => {
      clearTimeout(due)
      stop()
      pages.stop()
    }
  }, [desk, pages, asked])

  return useMemo(() => ({
    total: told?.total ?? null, search: told?.search ?? asked,
    at: (index) => pages.at(index),
    need: (first, last, others) => {
      sight.current = [first, last, others]
      pages.need(first, last)
      for (const place of others) pages.need(place, place)
    },
  }), [pages, told, asked])
}
