import { useState, type CSSProperties, type MouseEvent } from 'react'
import type { ShelfItem } from '../../shared/contract/shelf.ts'
import { dayWords, viewWords } from '../ui/words.ts'
import { itemName } from './shelfWords.ts'
import { Still } from './Still.tsx'

export interface PlaceProps {
  readonly item: ShelfItem | undefined
  readonly index: number
  readonly total: number
  readonly chosen: boolean
  /** The keyboard is here, and the Shelf has it. */
  readonly focused: boolean
  readonly look: 'grid' | 'list'
  readonly style: CSSProperties
  /** Width of the place in CSS pixels. */
  readonly width: number
  readonly onChoose: (event: MouseEvent) => void
  readonly onOpen: () => void
}

export const placeId = (index: number): string => `shelf-${index}`
export const stillHeight = { grid: 176, list: 46 } as const

/** A swing's place in the grid or in the list; empty while it is being fetched. */
export function Place({ item, index, total, chosen, focused, look, style, width, onChoose, onOpen }: PlaceProps) {
  const [hovered, setHovered] = useState(false)
  const across = look === 'grid' ? width - 12 : 92
  return (
    <div
      id={placeId(index)}
      role="option"
      aria-selected={chosen}
      aria-posinset={index + 1}
      aria-setsize={total}
      aria-label={item ? undefined : 'On its way'}
      className={`place place-${look}`}
      data-focused={focused}
      data-key={item?.key}
      style={style}
      onPointerEnter={() => setHovered(true)}
      onPointerLeave={() => setHovered(false)}
      onMouseDown={(event) => event.button === 0 && onChoose(event)}
      onDoubleClick={onOpen}
    >
      <span className="place-stills" style={{ height: stillHeight[look] }}>
        {item?.clips.map((clip) => <Still key={clip.id} clip={clip} width={(across - (item.clips.length - 1) * 2) / item.clips.length} height={stillHeight[look]} playing={hovered || focused} />)}
      </span>
      {item ? (look === 'grid' ? <GridWords item={item} /> : <ListWords item={item} />) : null}
    </div>
  )
}

const Flags = ({ item }: { readonly item: ShelfItem }) => (
  <span className="place-flags">
    {item.favourite ? <span className="flag flag-favourite">Favourite</span> : null}
    {item.reference ? <span className="flag flag-reference">Reference</span> : null}
    {item.permission === 'lessons-only' ? <span className="flag flag-only">Lessons only</span> : null}
  </span>
)

/** The views of a swing, short enough to stand under its pictures. */
function viewsOf(item: ShelfItem): string {
  const views = item.clips.map(({ view }) => view)
  return views.length === 2 && views.includes('face-on') && views.includes('down-the-line') ? 'both views' : views.map((view) => viewWords[view].toLowerCase()).join(' + ')
}

function GridWords({ item }: { readonly item: ShelfItem }) {
  return (
    <span className="place-words">
      <span className="place-name clip-text">{itemName(item)}{item.club ? <span className="quiet">, {item.club}</span> : null}</span>
      <span className="clip-text quiet">{dayWords(item.date)}, {viewsOf(item)}</span>
      <span className="place-foot"><Flags item={item} /><span className="clip-text quiet">{item.tags.join(', ')}</span></span>
    </span>
  )
}

function ListWords({ item }: { readonly item: ShelfItem }) {
  return (
    <>
      <span className="place-name clip-text">{itemName(item)}</span>
      <span className="clip-text">{item.club}</span>
      <span className="clip-text quiet">{viewsOf(item)}</span>
      <span className="numbers quiet">{dayWords(item.date)}</span>
      <Flags item={item} />
      <span className="clip-text quiet">{[...item.tags, item.note.replaceAll('\n', ' ')].filter(Boolean).join(', ')}</span>
    </>
  )
}
