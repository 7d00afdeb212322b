import { useEffect, useRef, useState } from 'react'
import { handoffSize, type HandoffSettings, type Walkthrough } from '../../shared/contract/walkthrough.ts'
import { drawCard } from '../../shared/picture/drawCard.ts'
import { drawOverlay } from '../../shared/picture/drawInstant.ts'
import { pictureLayers } from '../../shared/picture/views.ts'
import { paneBackground } from '../../shared/picture/palette.ts'
import { takesIn, type Take } from '../../shared/walkthrough/edits.ts'
import { parseLog } from '../../shared/walkthrough/log.ts'
import { Programme } from '../../shared/walkthrough/programme.ts'
import { fetchOriginal } from '../playback/originalPixels.ts'
import { useDesk } from '../ui/desk.tsx'
import { faultOf } from '../ui/notices.ts'

/** The instant of the edited lesson that stands on the player, laid out as the video will be: the originals' frames under the same marks, or a card. */
export function HandoffPreview({ walkthrough, settings, atMs }: { readonly walkthrough: Walkthrough; readonly settings: HandoffSettings; readonly atMs: number }) {
  const desk = useDesk()
  const canvas = useRef<HTMLCanvasElement>(null)
  const [programme, setProgramme] = useState<Programme | null>(null)
  const [fault, setFault] = useState<string | null>(null)
  useEffect(() => {
    const read = async (): Promise<Programme> => {
      const { edits, takes } = await desk.call('lesson.get', { id: walkthrough.id })
      const shown = takesIn(edits).flatMap((id) => takes.filter((take) => take.id === id))
      const logged = shown.map(async ({ id, durationMs }): Promise<Take> => ({ id, durationMs, log: parseLog((await desk.call('walkthrough.log', { id })).text) }))
      return new Programme(await Promise.all(logged), edits)
    }
    let isHere = true
    read().then((made) => isHere && setProgramme(made), (error: unknown) => isHere && setFault(faultOf(error).message))
    return () => {
      isHere = false
    }
  }, [desk, walkthrough.id])

  const { width, height } = handoffSize(settings)
  useEffect(() => {
    const element = canvas.current
    const ctx = element?.getContext('2d')
    const instant = programme?.at(atMs)
    if (!element || !ctx || !instant) return
    const size = { width, height }
    element.width = width
    element.height = height
    if (instant.kind === 'card') return drawCard(ctx, size, instant.card)
    const overlay = { size, stage: instant.stage, clips: instant.clips }
    const layers = pictureLayers(overlay)
    const stop = new AbortController()
    const draw = (pictures: readonly (VideoFrame | null)[]) => {
      ctx.setTransform(1, 0, 0, 1, 0, 0)
      ctx.fillStyle = paneBackground
      ctx.fillRect(0, 0, width, height)
      layers.forEach((layer, i) => {
        const picture = pictures[i]
        const clip = overlay.clips[layer.clipId]!
        if (!picture) return
        const { rect, transform: { a, b, c, d, e, f } } = layer
        ctx.save()
        ctx.beginPath()
        ctx.rect(rect.x, rect.y, rect.width, rect.height)
        ctx.clip()
        ctx.setTransform(a, b, c, d, e, f)
        ctx.globalAlpha = layer.alpha
        ctx.drawImage(picture, 0, 0, clip.width, clip.height)
        ctx.restore()
      })
      ctx.setTransform(1, 0, 0, 1, 0, 0)
      drawOverlay(ctx, overlay)
    }
    draw([])
    void Promise.all(layers.map(({ clipId, frame }) => fetchOriginal(desk.mediaUrl(`frame/${clipId}/${frame}`), stop.signal))).then(
      (pictures) => {
        if (!stop.signal.aborted) draw(pictures)
        for (const picture of pictures) picture.close()
      },
      (error: unknown) => {
        if (!stop.signal.aborted) setFault(faultOf(error).message)
      },
    )
    return () => stop.abort()
  }, [desk, programme, atMs, width, height])

  return (
    <figure className="handoff-preview">
      <canvas ref={canvas} style={{ aspectRatio: `${width} / ${height}` }} aria-label="How the video will be laid out" />
      <figcaption className="quiet">{fault ?? `${width} x ${height}, laid out as it will be at this instant.`}</figcaption>
    </figure>
  )
}
