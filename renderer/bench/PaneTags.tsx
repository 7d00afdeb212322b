import { useEffect, useRef } from 'react'
import type { PaneId } from '../../shared/walkthrough/stage.ts'
import { Waiting } from '../ui/EmptyState.tsx'
import { Warning } from '../ui/Field.tsx'
import { viewWords } from '../ui/words.ts'
import { useClip } from '../ui/useRecords.ts'
import { useBench, useParts, useRenderCount } from './benchContext.tsx'
import { ClipChoice } from './ClipChoice.tsx'
import { noInset, pictureInset, setInset } from './pictureInset.ts'
import { platesAt, tagCorner } from './tagCorner.ts'

/** Between the tag and the picture's edge, CSS pixels: --gap-2. */
const gap = 8

/** What stands over each pane: its name and frame, and what to do where there is no picture. */
export function PaneTags() {
  return <><PaneTag pane={0} /><PaneTag pane={1} /></>
}

/** How the picture stands against the world, where that needs a word. */
function turnWords(isTurned: boolean, isFilmedMirrored: boolean) {
  const words = isFilmedMirrored ? (isTurned ? 'filmed mirrored, turned back' : 'mirrored, as filmed') : isTurned ? 'mirrored' : null
  return words ? <span>{words}</span> : null
}

function PaneTag({ pane }: { readonly pane: PaneId }) {
  useRenderCount()
  const { bench } = useParts()
  const box = useRef<HTMLDivElement>(null)
  const frameWords = useRef<HTMLSpanElement>(null)
  const name = useRef<HTMLParagraphElement>(null)
  const clipId = useBench((state) => state.clipIds[pane])
  const state = useBench((one) => one.paneStates[pane])
  const isActive = useBench((one) => one.active === pane && one.layout === 'twin' && one.clipIds[0] !== null && one.clipIds[1] !== null)
  const isMirrored = useBench((one) => one.mirror[pane])
  const clip = useClip(clipId)

  useEffect(() => bench.onFrame(() => {
    const rect = bench.view?.rect(pane)
    if (!box.current) return
    box.current.hidden = !rect
    if (rect) Object.assign(box.current.style, { left: `${rect.x}px`, top: `${rect.y}px`, width: `${rect.width}px`, height: `${rect.height}px` })
    const [place, image] = [bench.view?.place(pane), bench.clip(pane)]
    const inset = rect && place && image ? pictureInset(rect, place.toHost, image) : noInset
    setInset(box.current, inset)
    const shown = bench.view?.shown()[pane]
    const words = shown === null || shown === undefined ? '' : String(shown + 1)
    if (frameWords.current && frameWords.current.textContent !== words) frameWords.current.textContent = words
    if (!name.current || !rect || !place || !image) return
    const tick = image.frames.ticks[shown ?? bench.frame(pane)] ?? 0
    const plates = platesAt(bench.store.stage.marks, image.id, tick, place.toHost)
    const corner = plates.length === 0 ? 'top-left' : tagCorner(
      { width: name.current.offsetWidth, height: name.current.offsetHeight },
      { x: rect.x + inset.left + gap, y: rect.y + inset.top + gap, width: rect.width - inset.left - inset.right - 2 * gap, height: rect.height - 2 * inset.top - 2 * gap }, plates)
    if (name.current.dataset['corner'] !== corner) name.current.dataset['corner'] = corner
  }), [bench, pane, clipId])

  return (
    <div className="pane-tag" ref={box} data-active={isActive}>
      {clipId === null ? (
        <div className="pane-words">
          <p>{pane === 0 ? 'No clip in this pane.' : 'No second clip.'} Choose one to set beside the other:</p>
          <ClipChoice pane={pane} />
        </div>
      ) : (
        <p className="pane-name" ref={name}>
          <strong>{clip ? viewWords[clip.view] : 'Clip'}</strong>
          {turnWords(isMirrored, clip?.mirrored ?? false)}
          <span className="numbers" ref={frameWords} data-frame={pane} />
        </p>
      )}
      {clipId !== null && state.kind === 'opening' ? <div className="pane-words"><Waiting words="Opening the review copy" /></div> : null}
      {clipId !== null && state.kind === 'failed' ? (
        <div className="pane-words" role="alert"><p><Warning /> {state.error.message}</p><p>If it happens again, take the clip in anew in Arrivals.</p></div>
      ) : null}
    </div>
  )
}
