import { useEffect, useRef } from 'react'
import { Button, ToolButton } from '../ui/Button.tsx'
import { Warning } from '../ui/Field.tsx'
import { Live, LiveSlider, useArms, useArmsRoom } from './armsContext.tsx'
import { figureHolder } from './figureHolder.ts'
import { fixedViewWords, type FixedView } from './figure/eye.ts'
import { FigureView } from './figure/figureView.ts'
import { effectWords } from './numbers.ts'
import type { Shown } from './armsRoom.ts'
import type { ArmsState } from './armsState.ts'

const views = Object.keys(fixedViewWords) as FixedView[]

/** The figure, whence it is looked at, and the slider from as it is to as it is wanted. */
export function Figure() {
  const room = useArmsRoom()
  const host = useRef<HTMLDivElement>(null)
  const view = useArms((state) => state.view)
  const isFlat = useArms((state) => state.isFlat)
  const isSketch = useArms((state) => (state.now ? state.now.kind === 'sketch' : undefined))
  const loading = useArms((state) => (state.now ? null : state.loading))
  useEffect(() => {
    const figure = new FigureView(host.current!, room)
    figureHolder.view = figure
    return () => {
      figureHolder.view = null
      figure.dispose()
    }
  }, [room])
  return (
    <section className="arms-figure" aria-label="The figure">
      <div
        ref={host} className="arms-host" role="img" data-view={view}
        aria-label="Thorax, arms and club. The numbers beside it say what it shows; the arrow keys move the elbow."
      />
      <div className="arms-views" role="group" aria-label="Looked at from">
        {views.map((one, i) => <ToolButton key={one} pressed={view === one} keys={String(i + 1)} onClick={() => room.look(one)}>{capital(fixedViewWords[one])}</ToolButton>)}
        {isSketch ? <span className="arms-sketch">sketch: nobody filmed this body</span> : null}
      </div>
      {isFlat ? <p className="arms-flat" role="status"><Warning /> No WebGL here: the figure is drawn flat. Everything else works as usual.</p> : null}
      {loading ? <p className="arms-waiting">{loading}</p> : null}
      <Live className="arms-effect" aria-live="off" read={effectRead} />
      <div className="arms-blend">
        <label htmlFor="arms-blend">{isSketch ? 'As it is' : 'As filmed'}</label>
        <LiveSlider id="arms-blend" disabled={isSketch === undefined} min={0} max={100} step={1} value={blendOf} valueWords={blendWords} onMove={(value) => room.setBlend(value / 100)} aria-label={isSketch ? 'From as it is to as wanted' : 'From as filmed to as wanted'} />
        <span>As wanted</span>
        <Button look="plain" disabled={isSketch === undefined} onClick={() => room.backToNow()}>{isSketch ? 'Start again' : 'Back to filmed'}</Button>
      </div>
    </section>
  )
}

const blendOf = ({ blend }: Shown): number => blend * 100
const blendWords = ({ blend }: Shown): string => (blend === 0 ? 'as it is' : blend === 1 ? 'as wanted' : `${Math.round(blend * 100)} % of the way`)
function effectRead({ pose }: Shown, { now, spread }: ArmsState): string {
  if (!now) return ''
  // Near a fold too few of the sampled bodies get so far for an error, and without one there is no number.
  if (spread && pose.change.azimuthSigmaDeg === null) return 'How far the shaft turns cannot be told here: too few of the sampled bodies get so far'
  return capital(effectWords(now, pose))
}
const capital = (text: string): string => `${text[0]?.toUpperCase() ?? ''}${text.slice(1)}`
