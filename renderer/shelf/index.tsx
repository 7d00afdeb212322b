import { useEffect, useMemo, useRef } from 'react'
import { goTo } from '../ui/appStore.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk } from '../ui/desk.tsx'
import { EmptyState, Waiting } from '../ui/EmptyState.tsx'
import { keyWords } from '../ui/keys.ts'
import { FaultNote } from '../ui/Notices.tsx'
import { useKeys } from '../ui/useKeys.ts'
import { bringBundles } from './bringBundles.ts'
import { CollectionsColumn } from './CollectionsColumn.tsx'
import { Details } from './Details.tsx'
import { Places } from './Places.tsx'
import { SearchBar } from './SearchBar.tsx'
import { Sheets } from './Sheets.tsx'
import { Shelf } from './shelf.ts'
import { ShelfProvider, useShelf, useShelfState } from './shelfContext.tsx'
import { shelfKeys } from './shelfKeys.ts'
import './shelf.css'

/** Reference swings and everything taken in: found, gathered, marked with what they may be used for, set beside one another. */
export function ShelfRoom() {
  const desk = useDesk()
  const shelf = useMemo(() => new Shelf(desk), [desk])
  useEffect(() => shelf.begin(), [shelf])
  return <ShelfProvider value={shelf}><Room /></ShelfProvider>
}

function Room() {
  const shelf = useShelf()
  const desk = useDesk()
  const room = useRef<HTMLDivElement>(null)
  const box = useRef<HTMLInputElement>(null)
  const picker = useRef<HTMLInputElement>(null)
  const toPlaces = (): void => room.current?.querySelector<HTMLElement>('.places')?.focus()
  useKeys(useMemo(() => shelfKeys(shelf, {
    search: () => {
      box.current?.focus()
      box.current?.select()
    },
    places: () => room.current?.querySelector<HTMLElement>('.places')?.focus(),
    pick: () => picker.current?.click(),
    tags: () => requestAnimationFrame(() => room.current?.querySelector<HTMLElement>('[data-tags]')?.focus()),
  }), [shelf]))
  return (
    <div className="shelf" ref={room}>
      <input ref={picker} type="file" multiple hidden accept=".zip" data-testid="pick-bundles" onChange={(event) => {
          void bringBundles(desk, [...(event.target.files ?? [])])
          event.target.value = ''
        }} />
      <CollectionsColumn />
      <section className="shelf-main" aria-label="What stands on the Shelf">
        <SearchBar box={box} onDown={toPlaces} />
        <Body onBring={() => picker.current?.click()} />
        <UndoLine />
      </section>
      <aside className="inspector" aria-label="Chosen"><Details /></aside>
      <Sheets />
    </div>
  )
}

function Body({ onBring }: { readonly onBring: () => void }) {
  const shelf = useShelf()
  const total = useShelfState((state) => state.total)
  const fault = useShelfState((state) => state.fault)
  const isSearch = useShelfState((state) => state.typed.trim() !== '' || state.chips.length > 0)
  const only = useShelfState((state) => (state.typed.trim() === '' && state.chips.length === 1 ? state.chips[0]! : null))
  if (fault) return <div className="shelf-empty" role="alert"><FaultNote message={fault.message} remedy={fault.remedy} /><Button onClick={() => void shelf.search()}>Search again</Button></div>
  if (total === null) return <Waiting words="Opening the Shelf" />
  if (total > 0) return <Places />
  if (!isSearch)
    return (
      <EmptyState title="Nothing on the Shelf yet" actions={<><Button look="primary" onClick={() => goTo('arrivals')}>Go to Arrivals</Button><Button onClick={onBring}>Bring a swing in from a file</Button></>}>
        <p>Whatever you take in stands here, to be found again by a name, a club, a date, or what was asked. Mark good ones as references and hold your students' swings against them.</p>
        <p>A swing that another coach has written to a file can be brought in as it is, with its points and marks.</p>
      </EmptyState>
    )
  const isReferences = only?.kind === 'is' && only.fact === 'reference'
  return (
    <div className="shelf-empty">
      <p>{isReferences ? 'No swing is marked as a reference yet: choose one and press R.' : only?.kind === 'is' && only.fact === 'favourite' ? 'No favourites yet: choose a swing and press F.' : only?.kind === 'field' && only.field === 'collection' ? 'Nothing is in this collection yet: choose swings and press C.' : 'Nothing on the Shelf matches.'}</p>
      <Button onClick={() => shelf.clear()}>Show everything</Button>
    </div>
  )
}

function UndoLine() {
  const shelf = useShelf()
  const step = useShelfState((state) => state.undo.at(-1) ?? null)
  if (!step) return null
  return (
    <footer className="undo-line" role="status">
      <span className="clip-text">{step.words}</span>
      <Button look="plain" onClick={() => void shelf.undo()}>Undo <kbd aria-hidden="true">{keyWords('Mod+z').join(' ')}</kbd></Button>
      <Button look="plain" onClick={() => shelf.state.setState({ undo: [] })}>Keep</Button>
    </footer>
  )
}
