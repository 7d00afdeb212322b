import { useState } from 'react'
import { useStore } from 'zustand'
import type { Lesson } from '../../../shared/contract/lesson.ts'
import { cardAt, insertAt, setCard, within, withPieces, type OutSpan } from '../../../shared/walkthrough/editPieces.ts'
import { takesIn, toMs, toSamples, type CardPiece, type Edits, type Take } from '../../../shared/walkthrough/edits.ts'
import { Programme } from '../../../shared/walkthrough/programme.ts'
import { Button } from '../../ui/Button.tsx'
import { Dialog } from '../../ui/Dialog.tsx'
import { useDesk, useLibrary } from '../../ui/desk.tsx'
import { TextField, Warning } from '../../ui/Field.tsx'
import { attempt } from '../../ui/notices.ts'
import { minuteWords } from '../../ui/words.ts'
import { useClips, useWalkthroughs } from '../../ui/useRecords.ts'
import { clockWords } from '../clockWords.ts'
import { secondsWords } from './actions.ts'
import { newId } from './lessonEditor.ts'
import type { EditingParts } from './LessonEditing.tsx'

const mostFound = 50

/** Another lesson opened to take from: its list, its takes and what it plays as. */
interface Source {
  readonly lesson: Lesson
  readonly takes: readonly Take[]
  readonly programme: Programme
}

/**
 * Starts from an earlier lesson: takes over its cards (the student's name changed), its way of cleaning the sound, and parts
 * of it, chapter by chapter, by reference. Nothing is typed twice and nothing is copied.
 */
export function EarlierLesson({ parts, onClose }: { readonly parts: EditingParts; readonly onClose: () => void }) {
  const desk = useDesk()
  const { editor } = parts
  const own = useStore(editor.view, (view) => view.lesson)!
  const students = useLibrary((library) => library.students)
  const [words, setWords] = useState('')
  const [source, setSource] = useState<Source | null>(null)
  const nameOf = (studentId: string | null): string => students.find(({ id }) => id === studentId)?.name ?? 'no student'
  const page = useWalkthroughs({ text: words.trim(), limit: mostFound + 1 })
  const found = (page?.items ?? []).filter(({ id }) => id !== own.id).slice(0, mostFound)
  const open = (id: string): void => void attempt(async () => {
    const lesson = await desk.call('lesson.get', { id })
    const takes = await Promise.all(takesIn(lesson.edits).flatMap((takeId) => lesson.takes.filter((take) => take.id === takeId)).map((take) => editor.takeOf(take.id, take.durationMs)))
    setSource({ lesson, takes, programme: new Programme(takes, lesson.edits) })
  })
  return (
    <Dialog title={source ? `From “${source.lesson.takes[0]!.title}”` : 'From another lesson'} onClose={onClose} actions={<>{source ? <Button onClick={() => setSource(null)}>Another lesson</Button> : null}<Button onClick={onClose}>Done</Button></>}>
      {source ? <TakeFrom source={source} parts={parts} nameOf={nameOf} /> : (
        <div className="earlier">
          <TextField label="Find a lesson" placeholder="A word of its title, or a student" value={words} autoFocus onChange={(event) => setWords(event.target.value)} />
          <ul className="tray-list">
            {found.map((each) => (
              <li key={each.id}><button type="button" className="tray-step" onClick={() => open(each.id)}><span>{each.title}</span><span className="quiet">{nameOf(each.studentId)}, {clockWords(each.durationMs)}, {minuteWords(each.createdAt)}</span></button></li>
            ))}
          </ul>
          {page && found.length === 0 ? <p className="quiet">{words.trim() !== '' ? 'No other lesson has these words.' : 'There is no other lesson yet.'}</p> : null}
        </div>
      )}
    </Dialog>
  )
}

function TakeFrom({ source: { lesson, takes, programme }, parts: { editor, player }, nameOf }: { readonly source: Source; readonly parts: EditingParts; readonly nameOf: (studentId: string | null) => string }) {
  const own = useStore(editor.view, (view) => view.lesson)!
  const [theirs, ours] = [nameOf(lesson.takes[0]!.studentId), nameOf(own.takes[0]!.studentId)]
  const reworded = (card: CardPiece): CardPiece => ({ ...card, id: newId(), title: card.title.replaceAll(theirs, ours), lines: card.lines.map((line) => line.replaceAll(theirs, ours)) })
  const [opening, closing] = [cardAt(lesson.edits.pieces, 'opening'), cardAt(lesson.edits.pieces, 'closing')]
  const shown = [...new Set(takes.flatMap(({ log }) => Object.keys(log.header.clips)))]
  const clips = useClips(shown)
  const others = [...new Set(clips.filter(({ studentId }) => studentId !== null && studentId !== own.takes[0]!.studentId).map(({ studentId }) => nameOf(studentId)))]
  const take = (name: string, edit: (edits: Edits) => Edits): void => void editor.edit(name, edit)
  return (
    <div className="earlier">
      <section>
        <h4>Cards and sound</h4>
        <span className="tray-row">
          <Button disabled={!opening} onClick={() => opening && take('Take over a title card', (edits) => withPieces(edits, setCard(edits.pieces, 'opening', reworded(opening))))}>Title card</Button>
          <Button disabled={!closing} onClick={() => closing && take('Take over a closing card', (edits) => withPieces(edits, setCard(edits.pieces, 'closing', reworded(closing))))}>Closing card</Button>
          <Button onClick={() => take('Clean the sound as in another lesson', (edits) => ({ ...edits, sound: lesson.edits.sound }))}>Sound cleaning</Button>
        </span>
        {!opening && !closing ? <p className="quiet">It has no cards.</p> : null}
      </section>
      <section>
        <h4>Parts, put in at {clockWords(player.now())}</h4>
        {others.length > 0 ? <p className="lesson-recovered"><Warning /> It shows footage of {others.join(' and ')}; what is put in can be handed over only where the Shelf says that it may be sent.</p> : null}
        <ul className="tray-list">
          {partsOf(programme).map(({ title, span }) => (
            <li key={`${title} ${span.from}`}>
              <span className="digits">{clockWords(toMs(span.from))}</span>
              <span className="clip-text">{title}, {secondsWords(span.to - span.from)}</span>
              <Button look="plain" aria-label={`Put “${title}” in here`} onClick={() => take(`Put in “${title}” of another lesson`, (edits) => withPieces(edits, insertAt(edits.pieces, toSamples(player.now()), within(programme.pieces.map(({ piece }) => piece), span, newId).map((piece) => ({ ...piece, id: newId() })), newId)))}>Put in</Button>
            </li>
          ))}
        </ul>
      </section>
    </div>
  )
}

/** Its chapters as spans, what comes before the first, and the whole, without its cards. */
function partsOf(programme: Programme): { readonly title: string; readonly span: OutSpan }[] {
  const [first, last] = [programme.pieces[0], programme.pieces.at(-1)]
  const begin = first?.piece.kind === 'card' ? first.length : 0
  const end = last?.piece.kind === 'card' && programme.pieces.length > 1 ? last.at : programme.length
  const chapters = programme.chapters().map(({ title, atMs }) => ({ title, at: Math.min(Math.max(toSamples(atMs), begin), end) }))
  const spans = chapters.map(({ title, at }, i) => ({ title, span: { from: at, to: chapters[i + 1]?.at ?? end } }))
  const before = chapters[0] && chapters[0].at > begin ? [{ title: 'Beginning', span: { from: begin, to: chapters[0].at } }] : []
  return [...before, ...spans, { title: 'All of it', span: { from: begin, to: end } }].filter(({ span }) => span.to > span.from)
}
