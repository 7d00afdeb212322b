import { useState, type DragEvent, type KeyboardEvent } from 'react'
import type { Finding } from '../../../shared/contract/finding.ts'
import { numberWords, placeWords } from '../../../shared/plan/words.ts'
import { Button } from '../../ui/Button.tsx'
import { useDesk } from '../../ui/desk.tsx'
import { Check, Warning } from '../../ui/Field.tsx'
import { useClip } from '../../ui/useRecords.ts'
import { PhraseField } from '../../ui/PhraseField.tsx'
import { viewWords } from '../../ui/words.ts'

interface CardProps {
  readonly finding: Finding
  readonly isOnPlan: boolean
  /** It is the cause, or would be the first thing told. */
  readonly isFirst: boolean
  readonly isDragged: boolean
  readonly drop: { readonly onDragOver: (event: DragEvent) => void; readonly onDrop: (event: DragEvent) => void }
  readonly onDrag: (id: string | null) => void
  readonly onKey: (event: KeyboardEvent) => void
  readonly onStep: (by: 1 | -1) => void
  readonly onCause: () => void
  readonly onSave: (patch: Partial<Finding>, words: string) => void
  readonly onRemove: () => void
  readonly onBench: () => void
}

/** Says when a picture has to be fetched anew. */
const versionOf = ({ picture }: Finding): string => `${picture.tick}-${picture.zoom}-${picture.mirror}-${picture.marks.length}-${JSON.stringify(picture.marks).length}-${picture.beside?.shown ? `${picture.beside.tick}-${JSON.stringify(picture.beside).length}` : 'alone'}`

/** One finding: its picture, what is seen in the coach's words, its number with the error, and where it stands. */
export function FindingCard({ finding, isOnPlan, isFirst, isDragged, drop, onDrag, onKey, onStep, onCause, onSave, onRemove, onBench }: CardProps) {
  const desk = useDesk()
  const { number, saw, role, picture } = finding
  const { beside } = picture
  const [isBroken, setBroken] = useState(false)
  // Without the other view, once that has left the library.
  const isOtherGone = useClip(beside?.shown ? beside.clipId : null) === null && (beside?.shown ?? false)
  const where = [placeWords(finding.at), number?.view ? viewWords[number.view].toLowerCase() : ''].filter(Boolean).join(', ')
  const name = saw || number?.title || 'A frame'
  return (
    <li
      className="finding"
      data-finding={finding.id}
      data-dragged={isDragged}
      tabIndex={0}
      aria-label={`${name}${number ? `, ${numberWords(number)}` : ''}`}
      onKeyDown={onKey}
      {...drop}
    >
      <div
        className="finding-picture"
        data-pair={beside?.shown ?? false}
        draggable
        title="Drag to move"
        onDragStart={(event) => {
          event.dataTransfer.effectAllowed = 'move'
          event.dataTransfer.setData('text/plain', name)
          onDrag(finding.id)
        }}
        onDragEnd={() => onDrag(null)}
      >
        {isBroken ? <p className="quiet small"><Warning /> No picture: its clip cannot be read.</p> : <img src={desk.mediaUrl(`finding/${finding.id}.jpg?v=${versionOf(finding)}${isOtherGone ? '-alone' : ''}`)} alt="" width={beside?.shown ? 144 : 90} height="120" onError={() => setBroken(true)} />}
      </div>
      <div className="finding-words">
        <PhraseField bare label={`What is seen: ${name}`} kind="saw" value={saw} rows={2} placeholder="What is seen, in a sentence to the student" onCommit={(text) => onSave({ saw: text }, 'Changed the words of a finding')} />
        {number ? (
          <p className="finding-number" title={`From ${number.basis}`}>
            <strong className="numbers">{numberWords(number)}</strong> <span className="quiet">{[number.title, where].filter(Boolean).join(', ')}</span>
          </p>
        ) : <p className="quiet">{where || 'A frame without a name'}</p>}
        <div className="finding-acts">
          {role === 'cause' ? null : <Button look="plain" onClick={onCause}>Make it the cause</Button>}
          <Button look="plain" disabled={isFirst && role === 'cause'} aria-label={`Move up: ${name}`} onClick={() => onStep(-1)}>Up</Button>
          <Button look="plain" aria-label={`Move down: ${name}`} onClick={() => onStep(1)}>Down</Button>
          <Button look="plain" onClick={onBench}>On the Bench</Button>
          <Button look="plain" aria-label={`Remove: ${name}`} onClick={onRemove}>Remove</Button>
          <div className="finding-shows">
            {role === 'aside' ? null : <Check label={finding.shown && !isOnPlan ? 'Picture on the plan (no room)' : 'Picture on the plan'} checked={finding.shown} onCheck={(shown) => onSave({ shown }, shown ? 'Put a picture onto the plan' : 'Took a picture off the plan')} />}
            {beside ? <Check label="Both views in it" checked={beside.shown} onCheck={(shown) => onSave({ picture: { ...picture, beside: { ...beside, shown } } }, shown ? 'Put the other view into a picture' : 'Took the other view out of a picture')} /> : null}
          </div>
        </div>
      </div>
    </li>
  )
}
