import { useEffect, useRef, useState } from 'react'
import { useDesk } from '../../ui/desk.tsx'

type Shape = 'page' | 'phone'
const widths: Readonly<Record<Shape, number>> = { page: 860, phone: 390 }

/**
 * The very page that is sent, in a frame that may run nothing. It is fetched anew when what stands on it changes; the page
 * before stays until the next one is there.
 * @param answer changes when the plan does
 */
export function PlanPreview({ walkthroughId, answer }: { readonly walkthroughId: string; readonly answer: object }) {
  const desk = useDesk()
  const [shape, setShape] = useState<Shape>('page')
  const [scheme, setScheme] = useState<'light' | 'dark'>('light')
  const [wanted, setWanted] = useState(0)
  const [shown, setShown] = useState(0)
  const host = useRef<HTMLDivElement>(null)
  const [room, setRoom] = useState({ width: 500, height: 600 })
  useEffect(() => {
    const timer = setTimeout(() => setWanted((before) => before + 1), 60)
    return () => clearTimeout(timer)
  }, [answer])
  useEffect(() => {
    const element = host.current!
    const watch = new ResizeObserver(() => setRoom({ width: element.clientWidth, height: element.clientHeight }))
    watch.observe(element)
    return () => watch.disconnect()
  }, [])
  const width = widths[shape]
  const scale = Math.min(1, room.width / width)
  const frame = (version: number) => (
    <iframe
      key={version}
      sandbox=""
      title={version === shown ? 'The plan as the student sees it' : 'The plan, being renewed'}
      data-shown={version === shown}
      src={desk.mediaUrl(`plan-preview/${walkthroughId}.html?v=${version}`)}
      style={{ width, height: room.height / scale, scale: String(scale), colorScheme: scheme }}
      onLoad={() => setShown(version)}
    />
  )
  return (
    <div className="plan-preview">
      <div className="plan-preview-choices">
        <span className="switch" role="group" aria-label="Seen on">
          <button type="button" aria-pressed={shape === 'page'} onClick={() => setShape('page')}>A screen</button>
          <button type="button" aria-pressed={shape === 'phone'} onClick={() => setShape('phone')}>A phone</button>
        </span>
        <span className="switch" role="group" aria-label="Seen in">
          <button type="button" aria-pressed={scheme === 'light'} onClick={() => setScheme('light')}>Light</button>
          <button type="button" aria-pressed={scheme === 'dark'} onClick={() => setScheme('dark')}>Dark</button>
        </span>
      </div>
      <div className="plan-frame" ref={host} style={{ justifyContent: shape === 'phone' ? 'center' : undefined }}>
        {wanted === 0 ? null : wanted === shown || shown === 0 ? frame(wanted) : <>{frame(shown)}{frame(wanted)}</>}
      </div>
    </div>
  )
}
