import { useDesk } from '../ui/desk.tsx'
import { stripStyle, useStrip } from '../ui/filmstrip.ts'
import type { ShelfItem } from '../../shared/contract/shelf.ts'

/** Seconds that a swing on the Shelf takes to play through, however many small frames there are of it. */
const playsFor = 2.4

/** A clip's still; while it plays, its filmstrip runs through in its place, without a decoder and without a timer. */
export function Still({ clip, width, height, playing }: { readonly clip: ShelfItem['clips'][number]; readonly width: number; readonly height: number; readonly playing: boolean }) {
  const desk = useDesk()
  const strip = useStrip(clip.id, playing)
  const isRunning = playing && strip !== null && strip.frames.length > 1
  return (
    <span className="still" style={{ width, height }} data-mirrored={clip.mirrored}>
      <img src={desk.mediaUrl(`poster/${clip.id}.jpg`)} alt="" loading="lazy" decoding="async" draggable={false} onError={(event) => event.currentTarget.classList.add('still-missing')} />
      {isRunning ? (
        <span className="still-strip" style={{ ...stripStyle(strip, 0, { width, height }), animationDuration: `${playsFor}s`, animationTimingFunction: `steps(${strip.frames.length}, jump-none)` }} />
      ) : null}
    </span>
  )
}
