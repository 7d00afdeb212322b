import { useEffect, useRef } from 'react'
import { drawMissFan } from '../../../shared/picture/drawMisses.ts'
import { missFault } from '../../../shared/flight/missFan.ts'
import { useArms, useArmsRoom } from '../armsContext.tsx'
import { missInputOf } from './faceState.ts'
import { missesOf } from './misses.ts'

/** The fan of misses from above, as large as the room lets it be; drawn by the same code as on the picture. */
export function Fan() {
  const room = useArmsRoom()
  const handedness = useArms((state) => state.loaded?.handedness ?? 'right')
  const canvas = useRef<HTMLCanvasElement>(null)
  useEffect(() => {
    const on = canvas.current!
    const host = on.parentElement!
    let frame = 0
    const draw = (): void => {
      frame = 0
      const ratio = Math.min(2, window.devicePixelRatio || 1)
      const { clientWidth: width, clientHeight: height } = host
      if (width === 0 || height === 0) return
      on.width = Math.round(width * ratio)
      on.height = Math.round(height * ratio)
      const ctx = on.getContext('2d')
      const input = room.face.getState()
      if (!ctx || missFault(missInputOf(input))) return
      ctx.setTransform(ratio, 0, 0, ratio, 0, 0)
      const edge = 28
      drawMissFan(ctx as never, missesOf(input, handedness, 400), { x: edge, y: edge, width: width - 2 * edge, height: height - 2 * edge }, 15, false)
    }
    const schedule = (): void => void (frame ||= requestAnimationFrame(draw))
    const watch = new ResizeObserver(schedule)
    watch.observe(host)
    const stop = room.face.subscribe(schedule)
    schedule()
    return () => {
      cancelAnimationFrame(frame)
      watch.disconnect()
      stop()
    }
  }, [room, handedness])
  return (
    <section className="face-fan" aria-label="Misses from above">
      <div className="arms-host"><canvas ref={canvas} role="img" aria-label="Where the balls go, from above and to scale; the numbers stand beside it." /></div>
    </section>
  )
}
