import { useEffect, useMemo, useRef } from 'react'
import type { Mark } from '../../shared/markup/mark.ts'
import { showsAt } from '../../shared/markup/mark.ts'
import { tickOf } from '../../shared/walkthrough/motion.ts'
import type { PaneId } from '../../shared/walkthrough/stage.ts'
import { ToolButton } from '../ui/Button.tsx'
import { Warning } from '../ui/Field.tsx'
import { faultOf } from '../ui/notices.ts'
import { viewWords } from '../ui/words.ts'
import { marksOf } from './benchMarks.ts'
import { useBench, useParts, useRenderCount } from './benchContext.tsx'
import { markName, spanWords } from './markWords.ts'
import { StyleRow } from './StyleRow.tsx'

/** The marks on both panes' clips: jump to, hide, write, delete; the chosen one can be restyled. */
export function MarkList() {
  useRenderCount()
  const { bench, drawing } = useParts()
  const clipIds = useBench((state) => state.clipIds)
  const marks = useBench((state) => state.marks)
  const selected = useBench((state) => state.selected)
  const canUndo = useBench((state) => state.canUndo)
  const canRedo = useBench((state) => state.canRedo)
  const stands = useBench((state) => state.paletteStands)
  const list = useRef<HTMLDivElement>(null)
  const panes = useMemo(() => ([0, 1] as const).filter((pane) => clipIds[pane] !== null && (pane === 0 || clipIds[1] !== clipIds[0])), [clipIds])
  // Which marks show on the frame now changes with the playhead, so it is said outside React.
  useEffect(() => bench.onFrame(() => {
    for (const row of list.current?.querySelectorAll<HTMLElement>('[data-mark]') ?? []) {
      const mark = bench.store.stage.marks[row.dataset.mark!]
      const pane = mark ? bench.marks.paneOf(mark) : null
      const clip = pane === null ? null : bench.clip(pane)
      const frame = pane === null ? null : bench.view?.shown()[pane] ?? null
      const isShown = mark && clip && frame !== null ? showsAt(mark, tickOf(clip.frames, frame)) : false
      if (row.dataset.shown !== String(isShown)) row.dataset.shown = String(isShown)
    }
  }), [bench, marks, clipIds])
  const chosen = selected === null ? null : marks[selected] ?? null
  const count = panes.reduce<number>((sum, pane) => sum + marksOf(marks, clipIds[pane]).length, 0)
  return (
    <section className="marks" aria-label="Marks">
      <header>
        <h2>Marks</h2>
        <ToolButton disabled={!canUndo} onClick={() => bench.marks.undo()}>Undo</ToolButton>
        <ToolButton disabled={!canRedo} onClick={() => bench.marks.redo()}>Redo</ToolButton>
      </header>
      <SavingWords />
      {count === 0 ? <p className="quiet">None yet. Press <kbd>D</kbd> over a pane, or right-click, and choose what you mean.</p> : null}
      <div ref={list} className="mark-rows">
        {panes.map((pane) => <PaneMarks key={pane} pane={pane} marks={marksOf(marks, clipIds[pane])} selected={selected} named={panes.length > 1} />)}
      </div>
      {chosen ? (
        <div className="chosen" aria-label={`Chosen: ${markName(chosen)}`} role="group">
          {stands === 'docked' ? null : <StyleRow />}
          <div className="chosen-row">
            <ToolButton onClick={() => drawing.write(chosen)} keys="E">{chosen.shape === 'text' ? 'Words' : 'Caption'}</ToolButton>
            <ToolButton disabled={panes.length < 2} onClick={() => bench.marks.duplicate()} keys="C">Copy across</ToolButton>
            <ToolButton onClick={() => bench.marks.remove([chosen.id])} keys="Del">Delete</ToolButton>
          </div>
        </div>
      ) : null}
    </section>
  )
}

function PaneMarks({ pane, marks, selected, named }: { readonly pane: PaneId; readonly marks: readonly Mark[]; readonly selected: string | null; readonly named: boolean }) {
  const { bench } = useParts()
  const clip = bench.clip(pane)
  const other = bench.clip(pane === 0 ? 1 : 0)
  if (!clip || marks.length === 0) return null
  // The view tells the panes apart, except where both show the same one.
  const name = other?.view === clip.view ? (pane === 0 ? 'Left pane' : 'Right pane') : viewWords[clip.view]
  return (
    <>
      {named ? <h3>{name}</h3> : null}
      <ul>
        {marks.map((mark) => (
          <li key={mark.id} data-mark={mark.id} data-shown="false" data-hidden={mark.hidden} aria-current={mark.id === selected || undefined}>
            <i className="ink" style={{ background: `var(--ink-${mark.ink})` }} />
            <button type="button" className="mark-name" onClick={() => bench.marks.goToMark(mark)} title="Choose it and go to where it shows">
              <span className="clip-text">{mark.text || markName(mark)}</span>
              <span className="quiet numbers">{spanWords(mark, clip.frames)}</span>
            </button>
            <button type="button" className="tool" onClick={() => bench.marks.put([{ ...mark, hidden: !mark.hidden }])}>{mark.hidden ? 'Show' : 'Hide'}</button>
          </li>
        ))}
      </ul>
    </>
  )
}

/** Only what is wrong is said: marks that are on disk need no words. */
function SavingWords() {
  useRenderCount()
  const { bench } = useParts()
  const saving = useBench((state) => state.saving)
  if (saving.state !== 'failed') return null
  const { message, remedy } = faultOf(saving.error)
  return (
    <p className="not-saved" role="alert">
      <Warning /><span>The latest marks are not on disk: {message} {remedy ?? ''} They are kept here and tried again.</span>
      <button type="button" className="button button-normal" onClick={() => void bench.saver.flush()}>Try now</button>
    </p>
  )
}
