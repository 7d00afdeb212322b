import { defaultRangeExtractor, useVirtualizer, type Range } from '@tanstack/react-virtual'
import { useCallback, useEffect, useLayoutEffect, useMemo, useRef, useState, type FocusEvent, type RefObject } from 'react'
import type { Student } from '../../shared/contract/student.ts'
import { useLibrary } from '../ui/desk.tsx'
import { isoDay } from '../ui/words.ts'
import { ArrivalGroup } from './ArrivalGroup.tsx'
import { arrivalKey, arrivalOf, clipsOf, gapOf } from './groups.ts'
import type { ArrivalItem, ArrivalPages } from './pages.ts'

/** A docket beside one row of clips, CSS pixels; each group is measured once it is there. */
const usualHeight = 318
/** Groups above and below what is in sight that are there already, so that arrows always find the next clip. */
const besides = 3
/** Pages are fetched once the list has stood still so long, so that a drag of the scroll bar asks for little. */
const restMs = 40

/** What came in, group by group, as far as it is in sight; the group that has the focus stays, with its neighbours for the arrows. */
export function ArrivalList({ pages, total, scroller, chosen, now }: {
  readonly pages: ArrivalPages
  readonly total: number
  /** What the list scrolls in, below whatever else stands there. */
  readonly scroller: RefObject<HTMLDivElement | null>
  readonly chosen: readonly string[]
  readonly now: number
}) {
  const students = useLibrary((library) => library.students)
  const list = useRef<HTMLDivElement>(null)
  const [above, setAbove] = useState(0)
  const [focused, setFocused] = useState<number | null>(null)
  const keyOf = useCallback((index: number): string => {
    const item = pages.at(index)
    return item ? arrivalKey(item) : `place ${index}`
  }, [pages])
  const kept = useMemo(() => (focused === null ? [] : [focused - 1, focused, focused + 1].filter((index) => index >= 0 && index < total)), [focused, total])
  const rangeExtractor = useCallback((range: Range): number[] => [...new Set([...defaultRangeExtractor(range), ...kept])].toSorted((a, b) => a - b), [kept])
  const groups = useVirtualizer<HTMLDivElement, HTMLDivElement>({
    count: total, getScrollElement: () => scroller.current, estimateSize: () => usualHeight, overscan: besides, scrollMargin: above,
    getItemKey: keyOf, rangeExtractor, useFlushSync: false,
    // While another room shows, nothing here has a height: what was measured before stays true.
    measureElement: (group, entry, { measurementsCache }) => {
      const height = entry?.borderBoxSize[0]?.blockSize ?? group.offsetHeight
      return height > 0 ? height : measurementsCache[Number(group.dataset.index)]?.size ?? usualHeight
    },
  })

  // What stands above the list comes and goes.
  useLayoutEffect(() => {
    const box = scroller.current!
    const measure = (): void => setAbove(list.current!.offsetTop)
    const observer = new ResizeObserver(measure)
    const watch = (): void => {
      for (const child of box.children) if (child !== list.current) observer.observe(child)
      measure()
    }
    const children = new MutationObserver(watch)
    children.observe(box, { childList: true })
    watch()
    return () => {
      observer.disconnect()
      children.disconnect()
    }
  }, [scroller])
  useEffect(() => {
    scroller.current!.scrollTop = 0
  }, [scroller, pages.search])

  const rows = groups.getVirtualItems()
  const inSight = rows.filter(({ index }) => !kept.includes(index))
  const first = inSight[0]?.index ?? 0
  const last = inSight.at(-1)?.index ?? 0
  useEffect(() => {
    const timer = setTimeout(() => pages.need(first, last, kept), restMs)
    return () => clearTimeout(timer)
  }, [pages, first, last, kept])

  const shown = rows.flatMap(({ index }) => pages.at(index)?.clips ?? [])
  const stop = shown.find((clip) => clip.id === chosen.at(-1))?.id ?? firstClip(pages, rows.map(({ index }) => index), students)
  const today = isoDay(now)
  const focus = (event: FocusEvent): void => {
    const group = event.target.closest<HTMLElement>('.arrival-place')
    setFocused(group ? Number(group.dataset.index) : null)
  }
  return (
    <div className="arrival-list" ref={list} style={{ height: groups.getTotalSize() }} onFocus={focus} onBlur={(event) => { if (!event.currentTarget.contains(event.relatedTarget)) setFocused(null) }}>
      {rows.map((row) => (
        <div key={row.key} className="arrival-place" data-index={row.index} ref={groups.measureElement} style={{ transform: `translateY(${row.start - above}px)` }}>
          <Group item={pages.at(row.index)} students={students} chosen={chosen} stop={stop} now={now} today={today} />
        </div>
      ))}
    </div>
  )
}

function Group({ item, students, chosen, stop, now, today }: {
  readonly item: ArrivalItem | undefined
  readonly students: readonly Student[]
  readonly chosen: readonly string[]
  readonly stop: string | null
  readonly now: number
  readonly today: string
}) {
  const arrival = useMemo(() => item && arrivalOf(item, students), [item, students])
  if (!arrival) return <section className="arrival arrival-coming" aria-busy="true"><p className="quiet">Coming into sight</p></section>
  return <ArrivalGroup arrival={arrival} chosen={chosen} stop={stop} now={now} gap={gapOf(arrival.student, today)} />
}

/** The first clip as the groups lie. */
function firstClip(pages: ArrivalPages, indexes: readonly number[], students: readonly Student[]): string | null {
  for (const index of indexes) {
    const item = pages.at(index)
    const unit = item && arrivalOf(item, students).units[0]
    if (unit) return clipsOf(unit)[0]!.id
  }
  return null
}
