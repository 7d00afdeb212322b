import { useState } from 'react'
import { createPortal } from 'react-dom'
import type { ShelfItem } from '../../shared/contract/shelf.ts'
import { useAsked, type Part } from './asked.ts'
import './clipFinder.css'
import { useDesk } from './desk.tsx'
import { Dialog } from './Dialog.tsx'
import { TextField } from './Field.tsx'
import { dayWords, viewWords } from './words.ts'

const most = 40
const parts: readonly Part[] = ['clips', 'swings', 'shelf']

/** Finds one clip among all of the library by words of its student, club, view, date, name or notes. */
export function ClipFinder({ title, onFind, onClose }: { readonly title: string; readonly onFind: (clipId: string) => void; readonly onClose: () => void }) {
  const [text, setText] = useState('')
  const { answer } = useAsked('shelf.search', { text, order: 'newest', offset: 0, limit: most }, parts)
  const found = (answer?.items ?? []).flatMap((item) => item.clips.map((clip) => ({ item, clip })))
  const take = (clipId: string | undefined): void => {
    if (clipId === undefined) return
    onClose()
    onFind(clipId)
  }
  // On its own in the page: where it is asked for may be part of another form, or of what lets the pointer through.
  return createPortal(
    <Dialog title={title} onClose={onClose} onSubmit={() => take(found[0]?.clip.id)}>
      <TextField label="Find a clip" placeholder="A student, a club, a view, a date" value={text} autoFocus onChange={(event) => setText(event.target.value)} />
      <ul className="clip-finder" aria-label="Clips found">
        {found.map(({ item, clip }) => <li key={clip.id}><Found item={item} clip={clip} onTake={() => take(clip.id)} /></li>)}
      </ul>
      {answer && found.length === 0 ? <p className="quiet">No clip has these words. A part of a word does; take one out to find more.</p> : null}
      {answer && answer.total > answer.items.length ? <p className="quiet small">The newest {answer.items.length} of {answer.total.toLocaleString('en')} swings; another word makes them fewer.</p> : null}
    </Dialog>,
    document.body,
  )
}

function Found({ item, clip, onTake }: { readonly item: ShelfItem; readonly clip: ShelfItem['clips'][number]; readonly onTake: () => void }) {
  const desk = useDesk()
  return (
    <button type="button" className="clip-found" onClick={onTake}>
      <img src={desk.mediaUrl(`poster/${clip.id}.jpg`)} alt="" loading="lazy" data-mirrored={clip.mirrored} />
      <span className="clip-found-words">
        <strong className="clip-text">{item.student || 'No student'}</strong>
        <span className="quiet clip-text">{[viewWords[clip.view], item.club, dayWords(item.date), clip.fileName].filter(Boolean).join(', ')}</span>
      </span>
    </button>
  )
}
