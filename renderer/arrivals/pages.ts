import { useCallback, useEffect, useMemo, useRef, useState } from 'react'
import type { ArrivalFilter } from '../../shared/contract/lists.ts'
import type { Output } from '../../shared/contract/operations.ts'
import type { Part } from '../ui/asked.ts'
import { useDesk, useLibrary } from '../ui/desk.tsx'
import { tellFault } from '../ui/notices.ts'
import { arrivalOf, type Arrival } from './groups.ts'

/** What the table goes by. */
export const arrivalParts: readonly Part[] = ['students', 'deliveries', 'clips', 'swings', 'walkthroughs', 'handoffs']

/** So many arrivals are asked for at first, and so many more each time the end of them comes near. */
const atOnce = 24
const mostAtOnce = 192

interface Shown {
  readonly total: number
  readonly items: Output<'arrival.page'>['items']
}

/**
 * What came in, as far as it was scrolled to: the first page at once, more when `more` is called. When something changes, only
 * what is there is asked for again; until it has come, and while another filter is looked through, the old list stays.
 */
export function useArrivalPages({ studentId, text, show }: ArrivalFilter): { readonly list: readonly Arrival[] | null; readonly total: number; readonly more: () => void } {
  const desk = useDesk()
  const students = useLibrary((library) => library.students)
  const [shown, setShown] = useState<Shown | null>(null)
  const serial = useRef(0)
  const have = useRef(0)
  const isGrowing = useRef(false)

  /** Asks for the first `many`, or for what is missing to them. */
  const ask = useCallback(async (many: number, from: readonly Shown['items'][number][] = []): Promise<void> => {
    const own = ++serial.current
    try {
      let items = from
      let total = 0
      do {
        const page = await desk.call('arrival.page', { studentId, text, show, offset: items.length, limit: Math.min(many - items.length, mostAtOnce) })
        if (own !== serial.current) return
        total = page.total
        items = [...items, ...page.items]
        if (page.items.length === 0) break
      } while (items.length < Math.min(many, total))
      have.current = Math.max(atOnce, items.length)
      setShown({ total, items: [...items] })
    } catch (error) {
      if (own === serial.current) tellFault(error)
    } finally {
      if (own === serial.current) isGrowing.current = false
    }
  }, [desk, studentId, text, show])

  useEffect(() => {
    have.current = atOnce
    void ask(atOnce)
    let due: ReturnType<typeof setTimeout> | undefined
    const stop = desk.listen((event) => {
      if (event.type !== 'changed' || !arrivalParts.includes(event.what) || due !== undefined) return
      // Several changes of one step cost one question.
      due = setTimeout(() => {
        due = undefined
        void ask(have.current)
      }, 30)
    })
    return () => {
      clearTimeout(due)
      stop()
      serial.current++
    }
  }, [desk, ask])

  const more = useCallback((): void => {
    if (!shown || shown.items.length >= shown.total || isGrowing.current) return
    isGrowing.current = true
    void ask(shown.items.length + atOnce, shown.items)
  }, [ask, shown])
  const list = useMemo(() => shown && shown.items.map((item) => arrivalOf(item, students)), [shown, students])
  return { list, total: shown?.total ?? 0, more }
}
