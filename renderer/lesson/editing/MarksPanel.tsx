import { useState } from 'react'
import { useStore } from 'zustand'
import { inks, meanings, type Mark } from '../../../shared/markup/mark.ts'
import { removeFix, spansOfFix } from '../../../shared/walkthrough/editFixes.ts'
import { toMs, type MarkFix } from '../../../shared/walkthrough/edits.ts'
import type { Programme } from '../../../shared/walkthrough/programme.ts'
import { Button, ToolButton } from '../../ui/Button.tsx'
import { BareSelect, Choices } from '../../ui/Field.tsx'
import { clockWords } from '../clockWords.ts'
import type { EditingParts } from './LessonEditing.tsx'
import { addable, fixWords, type FixLength } from './markFixing.ts'

const shapeNames: Readonly<Record<Mark['shape'], string>> = {
  line: 'Line', segment: 'Segment', arrow: 'Arrow', box: 'Box', circle: 'Circle', dot: 'Dot', angle: 'Angle', polyline: 'Polyline', freehand: 'Freehand', text: 'Text',
  fan: 'Shaft as it is', plan: 'From above', arms: 'Arms', figure: 'Arms in the corner', misses: 'Fan of misses',
}
const inkNames = { plain: 'White', lead: 'Lead side', trail: 'Trail side', club: 'Club', reference: 'Reference', head: 'Head', body: 'Body' } as const
const nameOf = (mark: Pick<Mark, 'meaning' | 'shape' | 'text'>): string => {
  const name = mark.meaning ? meanings[mark.meaning].name : shapeNames[mark.shape]
  return mark.text ? `${name}: ${mark.text.split('\n')[0]}` : name
}
const lengths = [
  { value: 'as-it-stays', words: 'While it stays so' },
  { value: 'to-the-end', words: 'To the end' },
  { value: 'seconds', words: 'Some seconds' },
  { value: 'throughout', words: 'Throughout' },
] as const satisfies readonly { value: FixLength; words: string }[]

/** Marks at this instant, to be set right after the fact; and all that was set right, wherever it is. */
export function MarksPanel({ parts: { editor, player, fixing } }: { readonly parts: EditingParts }) {
  const lesson = useStore(editor.view, (view) => view.lesson)!
  const programme = useStore(editor.view, (view) => view.programme)!
  const { markId, length, seconds, adding } = useStore(fixing.view)
  // Looked at again whenever the playhead comes to rest elsewhere.
  useStore(player.view, (view) => view.restMs)
  const playing = useStore(player.view, (view) => view.playing)
  const seen = fixing.seen()
  const chosen = fixing.chosen()
  const fixes = lesson.edits.fixes.map((fix) => ({ fix, span: spansOfFix(programme, fix)[0] }))
  return (
    <>
      {playing ? <p className="quiet">Rest where a mark is wrong, then choose it here or on the picture.</p> : null}
      {!playing && seen.length === 0 ? <p className="quiet">No mark is seen at this instant.</p> : null}
      <ul className="tray-list">
        {seen.map((mark) => (
          <li key={mark.id}><button type="button" className="tray-step" aria-pressed={mark.id === markId} onClick={() => fixing.choose(mark.id === markId ? null : mark.id)}><span className="tray-ink" style={{ background: `var(--ink-${mark.ink})` }} />{nameOf(mark)}</button></li>
        ))}
      </ul>
      {chosen ? <Chosen key={chosen.id} mark={chosen} parts={{ editor, player, fixing }} /> : null}
      <Choices label="For how long" choices={lengths} value={length} onChoose={(value) => fixing.setLength(value)} />
      {length === 'seconds' ? <label className="tray-row"><span className="quiet">Seconds from here</span><input type="number" className="digits" min={0.5} max={600} step={0.5} defaultValue={seconds} onChange={(event) => { if (Number(event.target.value) > 0) fixing.setLength('seconds', Number(event.target.value)) }} /></label> : null}
      <div className="tray-row">
        <BareSelect aria-label="Shape to draw" value={adding ?? ''} choices={[{ value: '', words: 'Draw one that is missing' }, ...addable.map((shape) => ({ value: shape, words: shapeNames[shape] }))]} onChoose={(shape) => fixing.view.setState({ adding: shape === '' ? null : (shape as (typeof addable)[number]) })} />
      </div>
      {adding ? <p className="quiet" role="status">Drag on the picture.</p> : null}
      {fixes.length > 0 ? (
        <>
          <h4>Set right</h4>
          <ol className="tray-list">
            {fixes.map(({ fix, span }) => {
              const mark = fix.change.kind === 'add' ? fix.change.mark : fixedMark(programme, fix, span)
              return (
                <li key={fix.id}>
                  <button type="button" className="tray-place digits" disabled={!span} onClick={() => span && player.seek(toMs(span.from) + 20)}>{span ? clockWords(toMs(span.from)) : 'cut'}</button>
                  <span className="clip-text">{fixWords(fix, mark ? nameOf(mark) : 'Mark')}</span>
                  <Button look="plain" onClick={() => editor.edit('As it was drawn', (edits) => removeFix(edits, fix.id))}>As drawn</Button>
                </li>
              )
            })}
          </ol>
        </>
      ) : null}
    </>
  )
}

/** The mark that a fix is about, as the recording has it. */
function fixedMark(programme: Programme, fix: MarkFix, span: { readonly from: number } | undefined): Mark | null {
  if (!span || fix.change.kind === 'add') return null
  const seen = programme.with({ ...programme.edits, fixes: [] }).at(toMs(span.from) + 1)
  return seen?.kind === 'stage' ? seen.stage.marks[fix.change.markId] ?? null : null
}

function Chosen({ mark, parts: { fixing } }: { readonly mark: Mark; readonly parts: Pick<EditingParts, 'editor' | 'player' | 'fixing'> }) {
  const [text, setText] = useState(mark.text)
  const keep = (): void => {
    if (text !== mark.text) fixing.change({ text }, 'Change the words of a mark')
  }
  return (
    <div className="tray-chosen" role="group" aria-label={nameOf(mark)}>
      <span className="inks" role="group" aria-label="Ink">
        {inks.map((ink) => <button key={ink} type="button" aria-pressed={mark.ink === ink} aria-label={inkNames[ink]} title={inkNames[ink]} style={{ '--this-ink': `var(--ink-${ink})` } as React.CSSProperties} onClick={() => fixing.change({ ink }, 'Change the ink of a mark')} />)}
      </span>
      <span className="tray-row">
        <Button look="plain" aria-label="Thinner" onClick={() => fixing.change({ weight: Math.max(1, mark.weight - 1) }, 'Make a mark thinner')}>{'\u2212'}</Button>
        <span className="digits" title="Weight of the line">{mark.weight}</span>
        <Button look="plain" aria-label="Thicker" onClick={() => fixing.change({ weight: Math.min(30, mark.weight + 1) }, 'Make a mark thicker')}>+</Button>
        <ToolButton pressed={mark.dashed} onClick={() => fixing.change({ dashed: !mark.dashed }, 'Change the line of a mark')}>Dashed</ToolButton>
        <Button look="danger" onClick={() => fixing.remove('Take a mark away')}>Take away</Button>
      </span>
      <input aria-label="Words" placeholder="Words beside it" value={text} maxLength={2000} onChange={(event) => setText(event.target.value)} onBlur={keep} onKeyDown={(event) => { if (event.key === 'Enter') event.currentTarget.blur() }} />
      <p className="quiet">Drag it or its corners on the picture; Alt and an arrow moves it by a pixel.</p>
    </div>
  )
}
