import type { ShelfFact, ShelfTerm } from '../../shared/shelf/query.ts'
import { sameTerm } from '../../shared/shelf/query.ts'
import { Button } from '../ui/Button.tsx'
import { Menu } from '../ui/Menu.tsx'
import { useShelf, useShelfState } from './shelfContext.tsx'

const facts: readonly (readonly [ShelfFact, string])[] = [['reference', 'References'], ['favourite', 'Favourites'], ['lessons-only', 'For my lessons only']]

/** Ways to part of the Shelf: what it is, and the coach's own collections. Each is a filter like any other. */
export function CollectionsColumn() {
  const shelf = useShelf()
  const chips = useShelfState((state) => state.chips)
  const collections = useShelfState((state) => state.collections)
  const total = useShelfState((state) => state.words.total)
  const typed = useShelfState((state) => state.typed)
  const isOn = (term: ShelfTerm): boolean => chips.some((chip) => sameTerm(chip, term))
  return (
    <nav className="shelf-column" aria-label="Collections">
      <ul>
        <li><Way words="Everything" count={total} on={chips.length === 0 && typed === ''} onGo={() => shelf.clear()} /></li>
        {facts.map(([fact, words]) => {
          const term: ShelfTerm = { kind: 'is', fact, not: false }
          return <li key={fact}><Way words={words} count={null} on={isOn(term)} onGo={() => shelf.toggleChip(term)} /></li>
        })}
      </ul>
      <header><h2>Collections</h2><Button look="plain" onClick={() => shelf.openSheet({ kind: 'collection', id: null, keys: [] })}>New</Button></header>
      {collections.length === 0 ? <p className="quiet shelf-hint">Swings that belong together for you: good tops, wedges, before and after. Choose some and press C.</p> : null}
      <ul className="shelf-collections">
        {collections.map(({ id, name, count }) => {
          const term: ShelfTerm = { kind: 'field', field: 'collection', text: name, whole: true, not: false }
          return (
            <li key={id} className="shelf-collection">
              <Way words={name} count={count} on={isOn(term)} onGo={() => shelf.toggleChip(term)} />
              <Menu label={<span aria-label={`More on ${name}`}>…</span>} items={[
                { words: 'Rename', run: () => shelf.openSheet({ kind: 'collection', id, keys: [] }) },
                { words: 'Delete; its swings stay', run: () => void shelf.removeCollection(id) },
              ]} />
            </li>
          )
        })}
      </ul>
    </nav>
  )
}

function Way({ words, count, on, onGo }: { readonly words: string; readonly count: number | null; readonly on: boolean; readonly onGo: () => void }) {
  return (
    <button type="button" className="way" aria-pressed={on} onClick={onGo}>
      <span className="clip-text">{words}</span>{count === null ? null : <span className="numbers quiet">{count.toLocaleString('en')}</span>}
    </button>
  )
}
