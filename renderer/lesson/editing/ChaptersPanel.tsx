import { useState } from 'react'
import { useStore } from 'zustand'
import { moveChapter, removeChapter, renameChapter } from '../../../shared/walkthrough/editHeadings.ts'
import { toSamples } from '../../../shared/walkthrough/edits.ts'
import { Button } from '../../ui/Button.tsx'
import { clockWords } from '../clockWords.ts'
import { chapterHere } from './actions.ts'
import { nextChapter } from './EditKeys.tsx'
import type { EditingParts } from './LessonEditing.tsx'

/** The lesson's headings: they go into the video as its chapters, and stay on what they head through every edit. */
export function ChaptersPanel({ parts }: { readonly parts: EditingParts }) {
  const { editor, player } = parts
  const programme = useStore(editor.view, (view) => view.programme)!
  const lesson = useStore(editor.view, (view) => view.lesson)!
  const [title, setTitle] = useState('')
  const chapters = programme.chapters()
  const gone = lesson.edits.chapters.length - chapters.length
  const add = (): void => {
    if (chapterHere(editor, player.now(), title.trim() || nextChapter(parts))) setTitle('')
  }
  return (
    <>
      <form className="tray-row" onSubmit={(event) => { event.preventDefault(); add() }}>
        <input aria-label="Title of a chapter that begins here" placeholder={nextChapter(parts)} value={title} maxLength={200} onChange={(event) => setTitle(event.target.value)} />
        <Button onClick={add}>Add here</Button>
      </form>
      {chapters.length === 0 ? <p className="quiet">No chapters yet. Go to where something new begins and add one; drag its flag over the sound to move it.</p> : null}
      <ol className="tray-list">
        {chapters.map(({ id, title: name, atMs }) => (
          <li key={`${id} ${name}`} className="tray-chapter">
            <button type="button" className="tray-place digits" title="Go there" onClick={() => player.seek(atMs)}>{clockWords(atMs)}</button>
            <input aria-label={`Title of the chapter at ${clockWords(atMs)}`} defaultValue={name} maxLength={200} onKeyDown={(event) => { if (event.key === 'Enter') event.currentTarget.blur() }} onBlur={(event) => {
              const next = event.target.value.trim()
              if (next === '') event.target.value = name
              else if (next !== name) editor.edit(`Rename chapter “${next}”`, (edits) => renameChapter(edits, id, next))
            }} />
            <Button look="plain" aria-label={`Move “${name}” to the playhead`} title="Begins at the playhead" onClick={() => editor.edit(`Move chapter “${name}”`, (edits) => moveChapter(edits, id, toSamples(player.now())))}>Here</Button>
            <Button look="plain" aria-label={`Delete the chapter “${name}”`} onClick={() => editor.edit(`Delete chapter “${name}”`, (edits) => removeChapter(edits, id))}>Delete</Button>
          </li>
        ))}
      </ol>
      {gone > 0 ? <p className="quiet">{gone} more {gone === 1 ? 'heads' : 'head'} parts that were cut; undoing the cut brings {gone === 1 ? 'it' : 'them'} back.</p> : null}
    </>
  )
}
