import { useEffect, useRef } from 'react'
import type { PaneId } from '../../../shared/walkthrough/stage.ts'
import { Waiting } from '../../ui/EmptyState.tsx'
import { Warning } from '../../ui/Field.tsx'
import { viewWords } from '../../ui/words.ts'
import { noInset, pictureInset, setInset } from '../pictureInset.ts'
import { useCompare, useComparison } from './compareContext.tsx'

/** What stands over each reference's picture: whose it is and its frame, or what went wrong. */
export function ReferenceTags() {
  return <><ReferenceTag pane={0} /><ReferenceTag pane={1} /></>
}

function ReferenceTag({ pane }: { readonly pane: PaneId }) {
  const comparison = useComparison()
  const { bench } = comparison
  const box = useRef<HTMLDivElement>(null)
  const frameWords = useRef<HTMLSpanElement>(null)
  const waits = useRef<HTMLDivElement>(null)
  const failed = useRef<HTMLDivElement>(null)
  const reference = useCompare((state) => state.references[pane])
  const beside = useCompare((state) => state.beside)
  const look = reference?.look
  useEffect(() => bench.onFrame(() => {
    if (!box.current) return
    const shown = bench.view?.reference(pane) ?? null
    box.current.hidden = shown === null
    if (!shown) return
    const { rect, frame, state } = shown
    Object.assign(box.current.style, { left: `${rect.x}px`, top: `${rect.y}px`, width: `${rect.width}px`, height: `${rect.height}px` })
    // Beside, on its own picture; over the student, at the student's other side.
    const own = bench.view?.place(pane)
    const [toHost, image] = look === 'beside' ? [shown.toHost, comparison.seat(pane)] : [own?.toHost, bench.clip(pane)]
    setInset(box.current, toHost && image ? pictureInset(rect, toHost, image) : noInset)
    const words = frame === null ? '' : String(frame + 1)
    if (frameWords.current && frameWords.current.textContent !== words) frameWords.current.textContent = words
    if (waits.current) waits.current.hidden = state.kind !== 'opening'
    if (failed.current) {
      failed.current.hidden = state.kind !== 'failed'
      const why = state.kind === 'failed' ? state.error.message : ''
      const text = failed.current.querySelector('span')
      if (text && text.textContent !== why) text.textContent = why
    }
  }), [bench, comparison, pane, look])
  if (!reference) return null
  const clip = comparison.seat(pane)
  return (
    <div className="pane-tag reference-tag" ref={box} data-look={look} hidden>
      <p className="pane-name"><strong>{beside?.student?.name ?? beside?.title ?? 'Reference'}</strong>{clip ? <span>{viewWords[clip.view]}</span> : null}<span className="numbers" ref={frameWords} data-reference-frame={pane} /></p>
      {look === 'beside' ? <div className="pane-words" ref={waits} hidden><Waiting words="Opening the reference" /></div> : null}
      <div className="pane-words" role="alert" ref={failed} hidden><p><Warning /> <span /></p></div>
    </div>
  )
}
