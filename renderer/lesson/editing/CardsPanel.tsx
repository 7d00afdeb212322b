import { useState } from 'react'
import { useStore } from 'zustand'
import { cardAt, setCard, withPieces } from '../../../shared/walkthrough/editPieces.ts'
import { toMs, type CardPiece } from '../../../shared/walkthrough/edits.ts'
import { Button } from '../../ui/Button.tsx'
import { TextArea, TextField } from '../../ui/Field.tsx'
import { useLibrary } from '../../ui/desk.tsx'
import { EarlierLesson } from './EarlierLesson.tsx'
import { newId, type LessonEditor } from './lessonEditor.ts'
import type { EditingParts } from './LessonEditing.tsx'

type End = 'opening' | 'closing'
const names: Readonly<Record<End, { readonly title: string; readonly add: string; readonly change: string; readonly remove: string }>> = {
  opening: { title: 'Title card', add: 'Add a title card', change: 'Change the title card', remove: 'Take the title card away' },
  closing: { title: 'Closing card', add: 'Add a closing card', change: 'Change the closing card', remove: 'Take the closing card away' },
}

/** The words that open the lesson and those that close it. */
export function CardsPanel({ parts }: { readonly parts: EditingParts }) {
  const { editor, player } = parts
  const lesson = useStore(editor.view, (view) => view.lesson)!
  const students = useLibrary((library) => library.students)
  const [isChoosing, setChoosing] = useState(false)
  const first = lesson.takes[0]!
  const student = students.find(({ id }) => id === first.studentId)?.name ?? ''
  const blank: Readonly<Record<End, Omit<CardPiece, 'id'>>> = {
    opening: { kind: 'card', title: first.title, lines: student && !first.title.includes(student) ? [student] : [], lasts: 3 * 48_000 },
    closing: { kind: 'card', title: 'What to do now', lines: [], lasts: 5 * 48_000 },
  }
  return (
    <>
      {(['opening', 'closing'] as const).map((end) => {
        const card = cardAt(lesson.edits.pieces, end)
        return (
          <section key={end} className="tray-take" aria-label={names[end].title}>
            <h4>{names[end].title}</h4>
            {card ? <CardForm key={JSON.stringify(card)} card={card} end={end} editor={editor} onShow={() => player.seek(end === 'opening' ? 0 : Math.max(0, (editor.view.getState().programme?.lengthMs ?? 0) - toMs(card.lasts) + 1))} /> : (
              <Button onClick={() => editor.edit(names[end].add, (edits) => withPieces(edits, setCard(edits.pieces, end, { ...blank[end], id: newId() })), end === 'opening' ? 0 : 'follow')}>{names[end].add}</Button>
            )}
          </section>
        )
      })}
      <Button onClick={() => setChoosing(true)}>Take over from another lesson</Button>
      {isChoosing ? <EarlierLesson parts={parts} onClose={() => setChoosing(false)} /> : null}
    </>
  )
}

/** Kept when a field is left, as one step each. */
function CardForm({ card, end, editor, onShow }: { readonly card: CardPiece; readonly end: End; readonly editor: LessonEditor; readonly onShow: () => void }) {
  const [title, setTitle] = useState(card.title)
  const [lines, setLines] = useState(card.lines.join('\n'))
  const [seconds, setSeconds] = useState(String(toMs(card.lasts) / 1000))
  const keep = (): void => {
    const value = Number(seconds)
    const lasts = value >= 0.5 && value <= 60 ? Math.round(value * 48_000) : card.lasts
    const next: CardPiece = { ...card, title: title.trim(), lines: lines.split('\n').map((line) => line.trim().slice(0, 200)).slice(0, 12).filter((line, i, all) => line !== '' || i < all.length - 1), lasts }
    editor.edit(names[end].change, (edits) => withPieces(edits, setCard(edits.pieces, end, next)))
  }
  return (
    <div className="fields">
      <TextField label="Title" value={title} maxLength={200} onChange={(event) => setTitle(event.target.value)} onBlur={keep} />
      <TextArea label="Lines" rows={3} value={lines} onChange={(event) => setLines(event.target.value)} onBlur={keep} />
      <TextField label="Seconds" className="tray-short" inputMode="decimal" value={seconds} onChange={(event) => setSeconds(event.target.value.replace(',', '.'))} onBlur={keep} />
      <span className="tray-row">
        <Button look="plain" onClick={onShow}>Show</Button>
        <Button look="plain" onClick={() => editor.edit(names[end].remove, (edits) => withPieces(edits, setCard(edits.pieces, end, null)))}>Take away</Button>
      </span>
    </div>
  )
}
