import { useVirtualizer } from '@tanstack/react-virtual'
import { useEffect, useLayoutEffect, useRef, useState, type KeyboardEvent, type MouseEvent } from 'react'
import type { ShelfItem } from '../../shared/contract/shelf.ts'
import { Place, placeId, stillHeight } from './Card.tsx'
import { openItem } from './open.ts'
import { useShelf, useShelfState } from './shelfContext.tsx'

const leastWidth = 196
const gap = 4
const rowHeight = { grid: stillHeight.grid + 78, list: stillHeight.list + 8 } as const
/** Pages are fetched once the list has stood still so long, so that a drag of the scroll bar asks for little. */
const restMs = 40

/** Everything found, as far as it is in sight: a list box whose options exist only where they are looked at. */
export function Places() {
  const shelf = useShelf()
  const total = useShelfState((state) => state.total) ?? 0
  const look = useShelfState((state) => state.look)
  const cursor = useShelfState((state) => state.cursor)
  const chosen = useShelfState((state) => state.chosen)
  const finds = useShelfState((state) => state.finds)
  useShelfState((state) => state.changes)
  const scroller = useRef<HTMLDivElement>(null)
  const [width, setWidth] = useState(900)
  const [hasKeys, setHasKeys] = useState(false)
  const anchor = useRef<number | null>(null)
  const columns = look === 'list' ? 1 : Math.max(1, Math.floor((width + gap) / (leastWidth + gap)))
  const across = (width - (columns - 1) * gap) / columns
  const rows = useVirtualizer({
    count: Math.ceil(total / columns), getScrollElement: () => scroller.current, estimateSize: () => rowHeight[look], overscan: 2, useFlushSync: false,
  })

  useLayoutEffect(() => {
    const box = scroller.current!
    const measure = (): void => setWidth(box.clientWidth - 24)
    const observer = new ResizeObserver(measure)
    observer.observe(box)
    measure()
    return () => observer.disconnect()
  }, [])
  useEffect(() => rows.measure(), [rows, look, columns])

  const list = rows.getVirtualItems()
  const first = (list[0]?.index ?? 0) * columns
  const last = Math.min(total - 1, ((list.at(-1)?.index ?? 0) + 1) * columns - 1)
  useEffect(() => {
    if (last < first) return
    const timer = setTimeout(() => shelf.pages.need(first, last), restMs)
    return () => clearTimeout(timer)
  }, [shelf, first, last, finds])
  // Another search begins at the top, a refresh where it was.
  useEffect(() => {
    if (shelf.state.getState().cursor === 0) scroller.current!.scrollTop = 0
  }, [shelf, finds])

  const go = (index: number, extend: boolean): void => {
    const to = Math.min(Math.max(index, 0), total - 1)
    rows.scrollToIndex(Math.floor(to / columns), { align: 'auto' })
    if (extend) {
      anchor.current ??= cursor
      void shelf.chooseTo(anchor.current, to)
    } else {
      anchor.current = null
      shelf.state.setState({ cursor: to })
    }
  }
  const key = (event: KeyboardEvent): void => {
    if (event.ctrlKey || event.metaKey || event.altKey || total === 0) return
    const inSight = Math.max(1, Math.floor((scroller.current!.clientHeight - rowHeight[look]) / rowHeight[look]))
    const steps: Readonly<Record<string, number>> = {
      ArrowRight: look === 'list' ? 0 : 1, ArrowLeft: look === 'list' ? 0 : -1, ArrowDown: columns, ArrowUp: -columns,
      PageDown: inSight * columns, PageUp: -inSight * columns, Home: -total, End: total,
    }
    const step = steps[event.key]
    if (step !== undefined) {
      event.preventDefault()
      if (step !== 0) go(cursor + step, event.shiftKey)
    } else if (event.key === ' ') {
      event.preventDefault()
      shelf.choose(cursor, true)
    }
  }
  const choose = (index: number) => (event: MouseEvent): void => {
    if (event.shiftKey) {
      void shelf.chooseTo(anchor.current ?? cursor, index)
      anchor.current ??= cursor
    } else {
      anchor.current = index
      shelf.choose(index, event.ctrlKey || event.metaKey)
    }
  }
  const open = (item: ShelfItem | undefined): void => {
    if (item) openItem(item)
  }
  const isInSight = cursor >= first && cursor <= last
  return (
    <div
      ref={scroller}
      className="places"
      role="listbox"
      tabIndex={0}
      aria-label="Swings on the Shelf"
      aria-multiselectable="true"
      aria-activedescendant={isInSight && total > 0 ? placeId(cursor) : undefined}
      data-testid="places"
      onKeyDown={key}
      onFocus={() => setHasKeys(true)}
      onBlur={() => setHasKeys(false)}
    >
      <div className="places-whole" role="presentation" style={{ height: rows.getTotalSize() }}>
        {list.flatMap((row) => Array.from({ length: Math.min(columns, total - row.index * columns) }, (_, column) => {
          const index = row.index * columns + column
          const item = shelf.pages.at(index)
          return (
            <Place key={index} item={item} index={index} total={total} look={look} width={across} chosen={item !== undefined && chosen.includes(item.key)} focused={hasKeys && index === cursor}
              style={{ width: across, height: rowHeight[look] - gap, transform: `translate(${column * (across + gap)}px, ${row.start}px)` }} onChoose={choose(index)} onOpen={() => open(item)} />
          )
        }))}
      </div>
    </div>
  )
}
