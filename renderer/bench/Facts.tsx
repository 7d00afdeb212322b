import { useEffect, useRef } from 'react'
import type { PaneId } from '../../shared/walkthrough/stage.ts'
import { tickOf } from '../../shared/walkthrough/motion.ts'
import { handednessWords, rateWords, viewWords } from '../ui/words.ts'
import { useClip } from '../ui/useRecords.ts'
import { useBench, useParts, useRenderCount } from './benchContext.tsx'
import { ClipChoice } from './ClipChoice.tsx'
import { secondsWords, timeFrom } from './markWords.ts'

/** What is true of a pane now; the numbers follow the playhead outside React. */
export function Facts({ pane }: { readonly pane: PaneId }) {
  useRenderCount()
  const { bench } = useParts()
  const clipId = useBench((state) => state.clipIds[pane])
  const isTied = useBench((state) => state.isTied)
  const clip = useClip(clipId)
  const frame = useRef<HTMLElement>(null)
  const time = useRef<HTMLElement>(null)
  useEffect(() => bench.onFrame(() => {
    const record = bench.clip(pane)
    const shown = bench.view?.shown()[pane]
    if (!record || !frame.current || !time.current) return
    const { tie } = bench.store.stage
    const at = shown ?? bench.frame(pane)
    const { seconds, error } = timeFrom(record, tie ? (pane === 0 ? tie.left : tie.right) : record.frames.ticks[0]!, tickOf(record.frames, at))
    write(frame.current, `${at + 1} of ${record.frames.ticks.length}`)
    write(time.current, `${secondsWords(seconds)} \u00b1 ${error.toFixed(3)} s`)
  }), [bench, pane, clipId, isTied])
  if (clipId === null) return <section className="facts-of"><p className="quiet">{pane === 0 ? 'Left pane' : 'Set beside it'}</p><ClipChoice pane={pane} /></section>
  return (
    <section className="facts-of" aria-label={pane === 0 ? 'Left clip' : 'Right clip'}>
      <ClipChoice pane={pane} />
      <dl className="facts">
        <dt>Frame</dt><dd><strong ref={frame} /></dd>
        <dt>{isTied ? 'From the tie' : 'From the start'}</dt><dd><strong ref={time} title="Real time; known to one interval between frames" /></dd>
        {clip ? <><dt>Rate</dt><dd>{rateWords(clip.captureRate, clip.playRate)}</dd><dt>View</dt><dd>{viewWords[clip.view]}, {handednessWords[clip.handedness].toLowerCase()}</dd></> : null}
      </dl>
    </section>
  )
}

function write(element: HTMLElement, words: string): void {
  if (element.textContent !== words) element.textContent = words
}
