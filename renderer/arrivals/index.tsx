import { useEffect, useMemo, useRef, useState, type KeyboardEvent, type ReactNode } from 'react'
import { DeskError } from '../../shared/contract/errors.ts'
import { goTo } from '../ui/appStore.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk, useLibrary, useNow } from '../ui/desk.tsx'
import { Waiting } from '../ui/EmptyState.tsx'
import { isOpen } from '../ui/jobTimes.ts'
import { tellFault } from '../ui/notices.ts'
import { useKeys } from '../ui/useKeys.ts'
import { isoDay } from '../ui/words.ts'
import { ArrivalGroup } from './ArrivalGroup.tsx'
import { ChoiceLists } from './ChoiceLists.tsx'
import { ClipInspector } from './ClipInspector.tsx'
import { ComingIn } from './ComingIn.tsx'
import { NothingYet } from './NothingYet.tsx'
import { arrivals, clipsOf, gapOf, type Arrival } from './groups.ts'
import { arrivalsKeys } from './roomKeys.ts'
import { arrivalsStore, chooseAll, openSheet, setFilter, useArrivals } from './roomStore.ts'
import { Sheets } from './Sheets.tsx'
import { StudentInspector } from './StudentInspector.tsx'
import { StudentsColumn } from './StudentsColumn.tsx'
import './arrivals.css'

/** What came in and waits. */
export function ArrivalsRoom() {
  const desk = useDesk()
  const library = useLibrary((state) => state)
  const filter = useArrivals((state) => state.filter)
  const chosen = useArrivals((state) => state.chosen)
  const picker = useRef<HTMLInputElement>(null)
  const search = useRef<HTMLInputElement>(null)
  const now = useNow()
  const dropping = useFileDrop()
  // Until all lists are there, each that comes would have them all worked through again.
  const list = useMemo(() => (library.loaded ? arrivals(library, filter) : []), [library, filter])
  const chosenClips = useMemo(() => chosen.length === 0 ? [] : chosen.flatMap((id) => library.clips.find((clip) => clip.id === id) ?? []), [chosen, library.clips])
  const student = library.students.find((one) => one.id === filter.studentId) ?? null
  const keys = useMemo(() => arrivalsKeys(desk, () => library, { pick: () => picker.current?.click(), search: () => search.current?.focus() }), [desk, library])
  useKeys(keys)

  const { inSight, end } = useInSight(list)
  const shown = inSight.flatMap((arrival) => arrival.units.flatMap(clipsOf))
  const stop = shown.find((clip) => clip.id === chosen.at(-1))?.id ?? shown[0]?.id ?? null
  const today = isoDay(now)
  const isComing = library.jobs.some((job) => job.kind !== 'handoff' && isOpen(job))
  const isSearch = filter.text !== '' || filter.show === 'waiting'
  const isEmpty = library.loaded && !library.students.length && !library.clips.length

  return (
    <div className="arrivals" data-dropping={dropping}>
      <input ref={picker} type="file" multiple hidden accept="video/*,.mp4,.mov,.m4v,.webm,.mkv,.avi,.3gp" data-testid="pick-files"
        onChange={(event) => {
          takeIn([...(event.target.files ?? [])])
          event.target.value = ''
        }} />
      <ChoiceLists />
      <StudentsColumn />
      <section className="table" aria-label="What came in">
        <header className="table-bar">
          <input ref={search} type="search" className="search" aria-label="Find in what came in" placeholder="Find a name, a file, a question" value={filter.text} onChange={(event) => setFilter({ text: event.target.value })} />
          <div className="switch" role="group" aria-label="Show">
            <button type="button" aria-pressed={filter.show === 'waiting'} onClick={() => setFilter({ show: 'waiting' })}>Waiting</button>
            <button type="button" aria-pressed={filter.show === 'all'} onClick={() => setFilter({ show: 'all' })}>All</button>
          </div>
          <Button look="primary" onClick={() => picker.current?.click()}>Take in files</Button>
        </header>
        <div className="table-body" onKeyDown={walk}>
          <ComingIn />
          {!library.loaded ? <Waiting words="Opening the library" /> : null}
          {isEmpty ? <NothingYet onPick={() => picker.current?.click()} /> : null}
          {library.loaded && !isEmpty && !list.length && (isSearch || !isComing) ? <NothingHere isSearch={isSearch} name={student?.name ?? null} /> : null}
          {inSight.map((arrival) => <ArrivalGroup key={arrival.key} arrival={arrival} chosen={chosen} stop={stop} now={now} gap={gapOf(arrival.student, today)} />)}
          {end}
        </div>
      </section>
      <aside className="inspector" aria-label="Chosen">
        {chosenClips.length ? <ClipInspector clips={chosenClips} /> : student ? <StudentInspector student={student} /> : <NothingChosen />}
      </aside>
      {dropping ? <div className="drop-here" aria-hidden="true"><p>Let go to take in</p></div> : null}
      <Sheets onAddFiles={() => picker.current?.click()} />
    </div>
  )
}

/** So many arrivals are in the document at first, and so many more each time the end of them comes near. */
const atOnce = 24

/** The first of a long list, and what stands at their end and makes it longer as it is scrolled to. */
function useInSight(list: readonly Arrival[]): { readonly inSight: readonly Arrival[]; readonly end: ReactNode } {
  const [many, setMany] = useState(atOnce)
  const end = useRef<HTMLParagraphElement>(null)
  const hasMore = many < list.length
  useEffect(() => {
    if (!hasMore || !end.current) return
    const observer = new IntersectionObserver(([entry]) => entry?.isIntersecting && setMany((old) => old + atOnce), { root: end.current.closest('.table-body'), rootMargin: '900px' })
    observer.observe(end.current)
    return () => observer.disconnect()
  }, [hasMore, many])
  return { inSight: list.slice(0, many), end: hasMore ? <p ref={end} className="nothing-here" role="status">{(list.length - many).toLocaleString('en')} more below</p> : null }
}

/** Opens the take-in sheet with files, or adds them to the one that is open; from whichever room they were dropped on. */
function takeIn(files: readonly File[]): void {
  if (!files.length) return
  const { sheet, filter } = arrivalsStore.getState()
  if (sheet?.kind === 'take-in') return openSheet({ ...sheet, files: [...sheet.files, ...files] })
  // Another dialog holds what was typed into it, which must not be lost to a drop.
  if (document.querySelector('dialog[open]')) return tellFault(new DeskError('bad-input', 'Files cannot come in while a dialog is open.', { remedy: 'Close it, then drop them again.' }))
  goTo('arrivals')
  openSheet({ kind: 'take-in', files, studentId: filter.studentId })
}

/** Files dropped anywhere on the window; true while some hang over it. */
function useFileDrop(): boolean {
  const [over, setOver] = useState(false)
  useEffect(() => {
    let depth = 0
    const hasFiles = (event: DragEvent): boolean => event.dataTransfer?.types.includes('Files') ?? false
    const handlers: Partial<Record<string, (event: DragEvent) => void>> = {
      dragenter: (event) => hasFiles(event) && setOver(++depth > 0),
      dragleave: (event) => hasFiles(event) && setOver(--depth > 0),
      dragover: (event) => hasFiles(event) && event.preventDefault(),
      drop: (event) => {
        if (!hasFiles(event)) return
        event.preventDefault()
        depth = 0
        setOver(false)
        takeIn([...(event.dataTransfer?.files ?? [])])
      },
    }
    const entries = Object.entries(handlers) as [string, (event: Event) => void][]
    for (const [type, handler] of entries) window.addEventListener(type, handler)
    return () => {
      for (const [type, handler] of entries) window.removeEventListener(type, handler)
    }
  }, [])
  return over
}

/** Arrows walk along the clips: left and right one by one, up and down to the clip above or below. */
function walk(event: KeyboardEvent<HTMLDivElement>): void {
  const here = (event.target as HTMLElement).closest('.clip')
  if (!here || !event.key.startsWith('Arrow')) return
  const clips = [...event.currentTarget.querySelectorAll<HTMLElement>('.clip')]
  const at = clips.indexOf(here as HTMLElement)
  let next: HTMLElement | undefined
  if (event.key === 'ArrowLeft' || event.key === 'ArrowRight') next = clips[at + (event.key === 'ArrowRight' ? 1 : -1)]
  else {
    const box = here.getBoundingClientRect()
    const isBelow = event.key === 'ArrowDown'
    const away = (clip: HTMLElement): number => {
      const other = clip.getBoundingClientRect()
      const dy = isBelow ? other.top - box.bottom : box.top - other.bottom
      return dy < -8 ? Infinity : dy * 4 + Math.abs(other.left - box.left)
    }
    next = clips.filter((clip) => clip !== here && away(clip) < Infinity).toSorted((a, b) => away(a) - away(b))[0]
  }
  if (!next) return
  event.preventDefault()
  next.focus()
  next.scrollIntoView({ block: 'nearest' })
  if (event.shiftKey) chooseAll([...new Set([...arrivalsStore.getState().chosen, here.getAttribute('data-clip')!, next.dataset.clip!])])
}

function NothingHere({ isSearch, name }: { readonly isSearch: boolean; readonly name: string | null }) {
  return (
    <div className="nothing-here">
      <p>{isSearch ? `Nothing${name ? ` of ${name}` : ''} matches.` : `${name ? `${name} has sent no clips yet.` : 'No clips have come in yet.'} Drop files anywhere to take them in.`}</p>
      {isSearch ? <Button onClick={() => setFilter({ text: '', show: 'all' })}>Show all</Button> : null}
    </div>
  )
}

function NothingChosen() {
  return (
    <div className="inspector-body quiet">
      <p>Choose a clip to see and change what it is. Hold Ctrl or Shift to choose several; two of them can be paired.</p>
      <p>Choose a student at the left for their record.</p>
    </div>
  )
}
