import { useEffect, useRef, useState } from 'react'
import { useStore } from 'zustand'
import { toMs } from '../../../shared/walkthrough/edits.ts'
import { Button, ToolButton } from '../../ui/Button.tsx'
import { BareSelect } from '../../ui/Field.tsx'
import { keyWords } from '../../ui/keys.ts'
import { clockWords } from '../clockWords.ts'
import { cutSelection, heldPieceAt, pauseHere, secondsWords, setPause } from './actions.ts'
import { zoomWaves, type EditingParts } from './LessonEditing.tsx'
import { takeAgain } from './takeAgain.ts'

export const trays = [
  { id: 'silences', words: 'Silences', keys: 't' },
  { id: 'takes', words: 'Takes', keys: 'k' },
  { id: 'chapters', words: 'Chapters', keys: 'h' },
  { id: 'cards', words: 'Cards', keys: 'a' },
  { id: 'marks', words: 'Marks', keys: 'm' },
  { id: 'sound', words: 'Sound', keys: 'u' },
  { id: 'steps', words: 'Steps', keys: 'y' },
] as const
export type TrayId = (typeof trays)[number]['id']

const paces = [
  { value: '0.75', words: '0.75\u00d7' },
  { value: '1', words: '1\u00d7' },
  { value: '1.25', words: '1.25\u00d7' },
  { value: '1.5', words: '1.5\u00d7' },
] as const

/** Playing: to a place, from chapter to chapter, faster or slower. */
export function Transport({ parts: { editor, player } }: { readonly parts: EditingParts }) {
  const playing = useStore(player.view, (view) => view.playing)
  const pace = useStore(player.view, (view) => view.pace)
  const programme = useStore(editor.view, (view) => view.programme)!
  const selection = useStore(editor.view, (view) => view.selection)
  const elapsed = useRef<HTMLElement>(null)
  const slider = useRef<HTMLInputElement>(null)
  const hasChapters = programme.chapters().length > 0

  useEffect(() => {
    let frame = 0
    const follow = (): void => {
      const ms = player.now()
      const words = clockWords(ms)
      if (elapsed.current && elapsed.current.textContent !== words) elapsed.current.textContent = words
      const seconds = String(Math.floor(ms / 1000))
      if (slider.current && slider.current.value !== seconds) {
        slider.current.value = seconds
        slider.current.setAttribute('aria-valuetext', `${words} of ${clockWords(programme.lengthMs)}`)
      }
      frame = requestAnimationFrame(follow)
    }
    follow()
    return () => cancelAnimationFrame(frame)
  }, [player, programme])

  return (
    <div className="lesson-bar">
      <Button look="primary" onClick={() => player.toggle()}>{playing ? 'Pause' : 'Play'}</Button>
      <Button onClick={() => player.seek(player.now() - 5000)}>Back 5 s</Button>
      <p className="lesson-time digits"><strong ref={elapsed}>0:00</strong> of {clockWords(programme.lengthMs)}</p>
      <input ref={slider} className="lesson-place" type="range" aria-label="Place in the lesson" min={0} max={Math.floor(programme.lengthMs / 1000)} step={1} defaultValue={0} onChange={(event) => player.seek(Number(event.target.value) * 1000)} />
      {selection ? <Button onClick={() => player.playSpan(toMs(selection.from), toMs(selection.to))}>Play selection</Button> : null}
      {hasChapters ? <><Button onClick={() => toChapter({ editor, player }, -1)}>Chapter before</Button><Button onClick={() => toChapter({ editor, player }, 1)}>Next chapter</Button></> : null}
      <BareSelect aria-label="Pace" value={String(pace) as (typeof paces)[number]['value']} choices={paces} onChoose={(value) => player.setPace(Number(value))} />
    </div>
  )
}

export function toChapter({ editor, player }: Pick<EditingParts, 'editor' | 'player'>, step: 1 | -1): void {
  const { programme } = editor.view.getState()
  const at = player.now()
  const starts = [0, ...(programme?.chapters() ?? []).map(({ atMs }) => atMs)]
  const target = step > 0 ? starts.find((start) => start > at + 50) : starts.findLast((start) => start < at - 1000)
  if (target !== undefined) player.seek(target)
}

/** What can be done to the lesson here, what can be undone, and what there is to be looked through. */
export function EditBar({ parts, tray, onTray }: { readonly parts: EditingParts; readonly tray: TrayId | null; readonly onTray: (id: TrayId | null) => void }) {
  const { editor, player } = parts
  const lesson = useStore(editor.view, (view) => view.lesson)!
  const selection = useStore(editor.view, (view) => view.selection)
  const saving = useStore(editor.view, (view) => view.saving)
  const restMs = useStore(player.view, (view) => view.restMs)
  const undone = lesson.steps[lesson.step]
  const done = lesson.steps[lesson.step - 1]
  const held = heldPieceAt(editor, restMs)
  return (
    <div className="edit-bar" role="toolbar" aria-label="Editing">
      <Button disabled={!selection} title="Takes the selection out (Delete)" onClick={() => cutSelection(editor)}>Cut</Button>
      <Button title={`Goes to the Bench with the stage as it stands here (${keyWords('r').join(' ')})`} onClick={() => takeAgain(parts, 'again')}>{selection ? 'Retake selection' : 'Retake from here'}</Button>
      <Button title={`Records a new part to be put in here (${keyWords('n').join(' ')})`} onClick={() => takeAgain(parts, 'insert')}>Insert here</Button>
      <PauseControl key={held?.id ?? 'none'} held={held ? toMs(held.lasts) / 1000 : null} onPause={(seconds) => pauseHere(editor, player.now(), seconds)} onLasts={(seconds) => held && setPause(editor, held.id, seconds)} />
      <span className="edit-gap" />
      <p className="edit-said quiet digits" role="status">
        {selection ? `${secondsWords(selection.to - selection.from)} selected, from ${clockWords(toMs(selection.from))}` : saving === 'saving' ? 'Saving' : 'Drag over the sound to select'}
      </p>
      <Button look="plain" disabled={!done} title={done ? `Undo: ${done.name}` : undefined} onClick={() => editor.undo()}>Undo</Button>
      <Button look="plain" disabled={!undone} title={undone ? `Redo: ${undone.name}` : undefined} onClick={() => editor.redo()}>Redo</Button>
      <span className="edit-zoom" role="group" aria-label="Zoom">
        <Button look="plain" aria-label="Zoom out" onClick={() => zoomWaves(editor, 0.5)}>{'\u2212'}</Button>
        <Button look="plain" onClick={() => zoomWaves(editor, 0)}>All</Button>
        <Button look="plain" aria-label="Zoom in" onClick={() => zoomWaves(editor, 2)}>+</Button>
      </span>
      <span className="edit-trays" role="group" aria-label="Look through">
        {trays.map(({ id, words, keys }) => <ToolButton key={id} pressed={tray === id} title={keyWords(keys).join(' ')} onClick={() => onTray(tray === id ? null : id)}>{words}</ToolButton>)}
      </span>
    </div>
  )
}

/** On a pause or a card: how long it lasts. Elsewhere: a pause of so many seconds can be put in. */
function PauseControl({ held, onPause, onLasts }: { readonly held: number | null; readonly onPause: (seconds: number) => void; readonly onLasts: (seconds: number) => void }) {
  const [seconds, setSeconds] = useState(String(held === null ? 2 : Math.round(held * 10) / 10))
  const value = Number(seconds)
  const isGood = Number.isFinite(value) && value >= (held === null ? 0.1 : 0) && value <= 60
  return (
    <span className="edit-pause">
      <Button disabled={!isGood} title={held === null ? 'Holds the picture here (P)' : 'How long what is seen here lasts; 0 takes a pause out'} onClick={() => (held === null ? onPause(value) : onLasts(value))}>{held === null ? 'Pause here' : 'Lasts'}</Button>
      <input aria-label="Seconds" className="digits" inputMode="decimal" value={seconds} onChange={(event) => setSeconds(event.target.value.replace(',', '.'))} onKeyDown={(event) => {
        if (event.key === 'Enter' && isGood) (held === null ? onPause : onLasts)(value)
      }} />
      <span className="quiet">s</span>
    </span>
  )
}
