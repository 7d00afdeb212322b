import { useEffect, useRef } from 'react'
import { positionNames } from '../../../shared/contract/pointsFile.ts'
import { positionTitle } from '../../../shared/swing/digitised.ts'
import { Warning } from '../../ui/Field.tsx'
import { useParts } from '../benchContext.tsx'
import { useMeasuring, useMeasuringParts } from './measuringContext.tsx'
import { positionDigit } from './positionLines.ts'

/** What is asked of the hand, over the foot of the pane it is asked of; and what was refused. */
export function Prompt() {
  const { bench } = useParts()
  const { placer, measuring } = useMeasuringParts()
  useMeasuring((state) => state.task)
  useMeasuring((state) => state.repeat)
  useMeasuring((state) => state.thrice)
  const chord = useMeasuring((state) => state.chord)
  const refusal = useMeasuring((state) => state.refusal)
  const listening = useMeasuring((state) => state.listening)
  const box = useRef<HTMLDivElement>(null)
  const words = placer.words()
  const task = measuring.state.getState().task
  const isDone = task?.kind === 'plan' && !words

  useEffect(() => {
    const host = box.current?.closest('.bench')?.querySelector<HTMLElement>('.bench-stage')
    return bench.onFrame(() => {
      const rect = bench.view?.rect(bench.active)
      if (!box.current || !host || !rect) return
      // Over the active pane, or the whole stage where it is narrow.
      const width = Math.max(rect.width, 360)
      Object.assign(box.current.style, { left: `${Math.max(0, rect.x + rect.width / 2 - width / 2)}px`, top: `${rect.y + rect.height}px`, width: `${width}px` })
    })
  }, [bench])

  return (
    <div className="placing-prompt" ref={box} role="status">
      {refusal ? <p className="prompt-refusal"><Warning /><span>{refusal}</span></p> : null}
      {listening !== null ? <p className="prompt-words"><strong>Listening for impact</strong><progress aria-label="Both clips' sound" max={1} value={listening} /><span><kbd>Esc</kbd>stops</span></p> : null}
      {chord ? (
        <p className="prompt-chord">
          <strong>{chord === 'go-to' ? 'Go to' : 'This frame is'}</strong>
          {positionNames.map((name, i) => <span key={name}><kbd>{positionDigit(i)}</kbd>{positionTitle(name)}</span>)}
          {chord === 'set' ? <span><kbd>Shift</kbd>between this frame and the next</span> : null}
        </p>
      ) : null}
      {!chord && words ? <p className="prompt-words"><strong>{words.what}</strong><span>{words.how}</span></p> : null}
      {!chord && isDone ? <p className="prompt-words"><span>{task.plan.steps.length > 0 ? 'All points of this are placed. Drag one to move it; Esc puts them away.' : 'Set the positions first: go to the frame, press L and its digit.'}</span></p> : null}
    </div>
  )
}
