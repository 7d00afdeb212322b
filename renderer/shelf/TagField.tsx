import { useId, useState, type KeyboardEvent } from 'react'
import type { ShelfItem } from '../../shared/contract/shelf.ts'
import { Field } from '../ui/Field.tsx'
import { useShelf, useShelfState } from './shelfContext.tsx'

/** Tags of all that is chosen. One that only some have is given to the rest by its name, or taken from all by its cross. */
export function TagField({ keys, items }: { readonly keys: readonly string[]; readonly items: readonly ShelfItem[] }) {
  const shelf = useShelf()
  const words = useShelfState((state) => state.words.tags)
  const [draft, setDraft] = useState('')
  const listId = useId()
  const tags = [...new Map(items.flatMap((item) => item.tags).map((tag) => [tag.toLowerCase(), tag])).values()].toSorted((a, b) => a.localeCompare(b))
  const isOnAll = (tag: string): boolean => items.every((item) => item.tags.some((one) => one.toLowerCase() === tag.toLowerCase()))
  const add = (): void => {
    const list = draft.split(',').map((one) => one.trim()).filter(Boolean)
    if (list.length === 0) return
    setDraft('')
    void shelf.tag(keys, list, [])
  }
  const fault = draft.includes('"') ? 'A tag has no quotation marks.' : draft.split(',').some((one) => one.trim().length > 60) ? 'A tag has 60 letters at most.' : null
  const key = (event: KeyboardEvent): void => {
    if (event.key === 'Enter') {
      event.preventDefault()
      if (!fault) add()
    } else if (event.key === 'Escape' && draft !== '') {
      event.stopPropagation()
      setDraft('')
    }
  }
  return (
    <Field label="Tags" fault={fault}>
      {(wiring) => (
        <>
          {tags.length > 0 ? (
            <ul className="chips">
              {tags.map((tag) => (
                <li key={tag} className="tag" data-some={!isOnAll(tag)}>
                  {isOnAll(tag) ? <span>{tag}</span> : <button type="button" className="tag-name" title="Some have it: give it to all" onClick={() => void shelf.tag(keys, [tag], [])}>{tag} (some)</button>}
                  <button type="button" className="tag-cross" aria-label={`Take the tag ${tag} away`} onClick={() => void shelf.tag(keys, [], [tag])}>×</button>
                </li>
              ))}
            </ul>
          ) : null}
          <input {...wiring} type="text" id={wiring.id} data-tags autoComplete="off" list={listId} value={draft} placeholder="Add a tag; commas part several" onChange={(event) => setDraft(event.target.value)} onKeyDown={key} onBlur={() => !fault && add()} />
          <datalist id={listId}>{words.filter((tag) => !isOnAll(tag)).slice(0, 50).map((tag) => <option key={tag} value={tag} />)}</datalist>
        </>
      )}
    </Field>
  )
}
