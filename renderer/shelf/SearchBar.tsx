import { useEffect, useId, useState, type KeyboardEvent, type RefObject } from 'react'
import type { ShelfOrder } from '../../shared/contract/shelf.ts'
import { parseShelfQuery, queryText, termText } from '../../shared/shelf/query.ts'
import { Button } from '../ui/Button.tsx'
import { BareSelect } from '../ui/Field.tsx'
import { useShelf, useShelfState } from './shelfContext.tsx'
import { chipWords } from './shelfWords.ts'
import { suggestions } from './suggest.ts'

const orders: readonly { readonly value: ShelfOrder; readonly words: string }[] = [
  { value: 'best', words: 'Best match first' }, { value: 'newest', words: 'Newest first' }, { value: 'oldest', words: 'Oldest first' },
]

/** The box, the filters that were typed or chosen as chips, and how many there are. */
export function SearchBar({ box, onDown }: { readonly box: RefObject<HTMLInputElement | null>; /** The keyboard goes on to what was found. */ readonly onDown: () => void }) {
  const shelf = useShelf()
  const typed = useShelfState((state) => state.typed)
  const chips = useShelfState((state) => state.chips)
  const words = useShelfState((state) => state.words)
  const collections = useShelfState((state) => state.collections)
  const order = useShelfState((state) => state.order)
  const look = useShelfState((state) => state.look)
  const listId = useId()
  const [open, setOpen] = useState(false)
  const [at, setAt] = useState(-1)
  const list = open ? suggestions(typed, { words, collections }) : []
  useEffect(() => setAt(-1), [typed])
  const take = (text: string): void => {
    shelf.type(text)
    box.current?.focus()
  }
  const key = (event: KeyboardEvent<HTMLInputElement>): void => {
    const step = event.key === 'ArrowDown' ? 1 : event.key === 'ArrowUp' ? -1 : 0
    if (step !== 0 && list.length > 0) {
      event.preventDefault()
      // One place more than there are suggestions: the box itself, at -1.
      setAt((old) => ((old + 1 + step + list.length + 1) % (list.length + 1)) - 1)
    } else if (event.key === 'ArrowDown') {
      event.preventDefault()
      onDown()
    } else if (event.key === 'Enter' || (event.key === 'Tab' && at >= 0)) {
      event.preventDefault()
      const one = list[at]
      if (one) return take(one.text)
      shelf.commit()
      setOpen(false)
    } else if (event.key === 'Escape') {
      event.preventDefault()
      if (list.length > 0) setOpen(false)
      else if (typed !== '') shelf.type('')
      else onDown()
    } else if (event.key === 'Backspace' && typed === '' && chips.length > 0) {
      event.preventDefault()
      shelf.dropChip(chips.at(-1)!, true)
    }
  }
  return (
    <header className="shelf-bar">
      <div className="shelf-search">
        <input
          ref={box} type="search" role="combobox" className="search" aria-label="Find on the Shelf" aria-expanded={list.length > 0} aria-controls={listId} aria-autocomplete="list"
          aria-activedescendant={list[at] ? `${listId}-${at}` : undefined} placeholder="Find a name, a club, a tag, what was asked" autoComplete="off" spellCheck={false} value={typed}
          onChange={(event) => {
            setOpen(true)
            shelf.type(event.target.value)
          }}
          onKeyDown={key} onBlur={() => setOpen(false)}
        />
        <ul id={listId} className="suggestions" role="listbox" aria-label="What could follow" hidden={list.length === 0}>
          {list.map((one, i) => (
            <li key={one.text} id={`${listId}-${i}`} role="option" aria-selected={i === at} onMouseDown={(event) => {
                event.preventDefault()
                take(one.text)
              }}>{one.words}</li>
          ))}
        </ul>
      </div>
      <BareSelect aria-label="Order" choices={orders} value={order} onChoose={(value) => shelf.setOrder(value)} />
      <div className="switch" role="group" aria-label="Look">
        {(['grid', 'list'] as const).map((one) => <button key={one} type="button" aria-pressed={look === one} onClick={() => shelf.state.setState({ look: one })}>{one === 'grid' ? 'Grid' : 'List'}</button>)}
      </div>
      {chips.length > 0 ? (
        <ul className="chips" aria-label="Filters">
          {chips.map((chip) => (
            <li key={termText(chip)}>
              <button type="button" className="chip" title="Take this filter away" aria-label={`Take the filter away: ${chipWords(chip)}`} onClick={() => shelf.dropChip(chip)}>{chipWords(chip)}<span aria-hidden="true">×</span></button>
            </li>
          ))}
          <li><Button look="plain" onClick={() => shelf.clear()}>Clear all</Button></li>
        </ul>
      ) : null}
      <Found />
    </header>
  )
}

/** How many there are, and what was done to find them. */
function Found() {
  const total = useShelfState((state) => state.total)
  const { corrected, order } = useShelfState((state) => state.shown)
  const wanted = useShelfState((state) => state.order)
  const hasText = useShelfState((state) => parseShelfQuery(`${state.typed} ${queryText(state.chips)}`).some((term) => term.kind === 'words' || term.kind === 'field'))
  const chosen = useShelfState((state) => state.chosen.length)
  if (total === null) return <p className="shelf-found quiet" role="status">Opening the Shelf</p>
  return (
    <p className="shelf-found quiet" role="status">
      {total === 1 ? '1 swing' : `${total.toLocaleString('en')} swings`}
      {wanted === 'best' && order === 'newest' && hasText && total > 0 ? ', newest first: too many to weigh them all' : ''}
      {corrected.map(({ from, to }) => <span key={from}>. Nothing holds “{from}”, so this is for <strong>{to}</strong></span>)}
      {chosen > 0 ? <span>, {chosen.toLocaleString('en')} chosen</span> : null}
    </p>
  )
}
