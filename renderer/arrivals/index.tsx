import { useEffect, useMemo, useRef, useState, type KeyboardEvent } from 'react'
import { DeskError } from '../../shared/contract/errors.ts'
import { goTo } from '../ui/appStore.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk, useLibrary, useNow } from '../ui/desk.tsx'
import { Waiting } from '../ui/EmptyState.tsx'
import { comesIn, isOpen } from '../ui/jobTimes.ts'
import { tellFault } from '../ui/notices.ts'
import { useKeys } from '../ui/useKeys.ts'
import { useClips } from '../ui/useRecords.ts'
import { ArrivalList } from './ArrivalList.tsx'
import { ChoiceLists } from './ChoiceLists.tsx'
import { ClipInspector } from './ClipInspector.tsx'
import { ComingIn } from './ComingIn.tsx'
import { NothingYet } from './NothingYet.tsx'
import { useArrivalPages } from './pages.ts'
import { arrivalsKeys } from './roomKeys.ts'
import { arrivalsStore, chooseAll, openSheet, setFilter, useArrivals } from './roomStore.ts'
import { Sheets } from './Sheets.tsx'
import { StudentInspector } from './StudentInspector.tsx'
import { StudentsColumn } from './StudentsColumn.tsx'
import './arrivals.css'

/** What came in and waits. */
export function ArrivalsRoom() {
  const desk = useDesk()
  const isLibrary = useLibrary((library) => library.loaded)
  const students = useLibrary((library) => library.students)
  const hasClips = useLibrary((library) => (library.info?.clips ?? 0) > 0)
  const isComing = useLibrary((library) => library.jobs.some((job) => comesIn(job) && isOpen(job)))
  const filter = useArrivals((state) => state.filter)
  const chosen = useArrivals((state) => state.chosen)
  const picker = useRef<HTMLInputElement>(null)
  const search = useRef<HTMLInputElement>(null)
  const now = useNow()
  const dropping = useFileDrop()
  const pages = useArrivalPages(filter)
  const { total } = pages
  const isLoaded = isLibrary && total !== null
  const table = useRef<HTMLDivElement>(null)
  const chosenClips = useClips(chosen)
  const student = students.find((one) => one.id === filter.studentId) ?? null
  const keys = useMemo(() => arrivalsKeys(desk, { pick: () => picker.current?.click(), search: () => search.current?.focus() }), [desk])
  useKeys(keys)

  const isSearch = filter.text !== '' || filter.show === 'waiting'
  const isEmpty = isLoaded && !students.length && !hasClips

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
        <div className="table-body" ref={table} onKeyDown={walk}>
          <ComingIn />
          {!isLoaded ? <Waiting words="Opening the library" /> : null}
          {isEmpty ? <NothingYet onPick={() => picker.current?.click()} /> : null}
          {isLoaded && !isEmpty && total === 0 && (isSearch || !isComing) ? <NothingHere isSearch={isSearch} name={student?.name ?? null} /> : null}
          {isLoaded && total > 0 ? <ArrivalList pages={pages} total={total} scroller={table} chosen={chosen} now={now} /> : null}
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
  holdInSight(next)
  if (event.shiftKey) chooseAll([...new Set([...arrivalsStore.getState().chosen, here.getAttribute('data-clip')!, next.dataset.clip!])])
}

/** Frames that groups which come into sight may take to be measured and to move what lies below them. */
const settling = 12

/** Brings a clip into sight and holds it there while the groups around it find their heights. */
function holdInSight(clip: HTMLElement, frames = settling): void {
  clip.scrollIntoView({ block: 'nearest' })
  if (frames > 0) requestAnimationFrame(() => { if (document.activeElement === clip) holdInSight(clip, frames - 1) })
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
