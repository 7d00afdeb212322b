import { useState, type PointerEvent } from 'react'
import { openOnBench } from '../ui/appStore.ts'
import { useDesk } from '../ui/desk.tsx'
import { Warning } from '../ui/Field.tsx'
import type { ClipSummary } from '../ui/libraryStore.ts'
import { byteWords, durationWords, rateWords, viewWords } from '../ui/words.ts'
import { stripStyle, useStrip } from '../ui/filmstrip.ts'
import { choose } from './roomStore.ts'

/** The box for a card's picture, in CSS pixels; arrivals.css gives the same. */
const well = { width: 154, height: 208 }
const pictureWidth = ({ width, height }: Pick<ClipSummary, 'width' | 'height'>): number => width * Math.min(well.width / width, well.height / height)

/** A clip on the table. A click chooses it (with Ctrl or Shift more than one), a double click opens it on the Bench. */
export function ClipCard({ clip, chosen, isStop, swingId, warning }: {
  readonly clip: ClipSummary
  readonly chosen: boolean
  /** Whether Tab stops here; arrows reach the others. */
  readonly isStop: boolean
  /** The pair it is part of. */
  readonly swingId: string | null
  readonly warning: string | null
}) {
  const desk = useDesk()
  const [wanted, setWanted] = useState(false)
  const [at, setAt] = useState<number | null>(null)
  const strip = useStrip(clip.id, wanted)
  const scrub = (event: PointerEvent): void => {
    setWanted(true)
    const box = event.currentTarget.getBoundingClientRect()
    const width = pictureWidth(clip)
    setAt(Math.min(0.999, Math.max(0, (event.clientX - box.left) / width)))
  }
  const small = strip && at !== null ? stripStyle(strip, Math.floor(at * strip.frames.length), well) : null
  const rate = rateWords(clip.captureRate, clip.playRate)
  const view = viewWords[clip.view]
  return (
    <button
      type="button"
      className="clip"
      data-clip={clip.id}
      aria-pressed={chosen}
      tabIndex={isStop ? 0 : -1}
      onClick={(event) => choose(clip.id, event.ctrlKey || event.metaKey || event.shiftKey)}
      onDoubleClick={() => openOnBench(swingId ? { swingId } : { clipId: clip.id })}
    >
      <span className="clip-well" onPointerMove={scrub} onPointerLeave={() => setAt(null)}>
        <img src={desk.mediaUrl(`poster/${clip.id}.jpg`)} alt="" loading="lazy" draggable={false} data-mirrored={clip.mirrored} />
        {small ? <span className="clip-strip" style={small} data-mirrored={clip.mirrored} /> : null}
        {small && at !== null ? <span className="clip-strip-line" style={{ left: at * Number(small.width) }} /> : null}
      </span>
      <span className="clip-words">
        <span className="clip-view clip-text">{view}{clip.club ? <span className="quiet">, {clip.club}</span> : null}</span>
        <span className="clip-text quiet">{rate}</span>
        <span className="clip-text quiet">{durationWords(clip.seconds)}, {byteWords(clip.bytes)}{clip.hdr ? ', HDR' : ''}</span>
        <span className="clip-text quiet" title={clip.fileName}>{clip.fileName}</span>
        {warning ? <span className="clip-text clip-warning" title={warning}><Warning />Consent missing</span> : null}
      </span>
    </button>
  )
}
