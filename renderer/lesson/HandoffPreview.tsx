import { useEffect, useRef, useState } from 'react'
import { handoffSize, type HandoffSettings, type Walkthrough } from '../../shared/contract/walkthrough.ts'
import { drawOverlay } from '../../shared/picture/drawInstant.ts'
import { pictureLayers } from '../../shared/picture/views.ts'
import { paneBackground } from '../../shared/picture/palette.ts'
import { parseLog, stateAt, type Log } from '../../shared/walkthrough/log.ts'
import { fetchOriginal } from '../playback/originalPixels.ts'
import { useDesk } from '../ui/desk.tsx'
import { faultOf } from '../ui/notices.ts'

/** The instant that stands on the player, laid out as the video will be: the originals' frames under the same marks. */
export function HandoffPreview({ walkthrough, settings, atMs }: { readonly walkthrough: Walkthrough; readonly settings: HandoffSettings; readonly atMs: number }) {
  const desk = useDesk()
  const canvas = useRef<HTMLCanvasElement>(null)
  const [log, setLog] = useState<Log | null>(null)
  const [fault, setFault] = useState<string | null>(null)
  useEffect(() => {
    desk.call('walkthrough.log', { id: walkthrough.id }).then(({ text }) => setLog(parseLog(text)), (error: unknown) => setFault(faultOf(error).message))
  }, [desk, walkthrough.id])

  const { width, height } = handoffSize(settings)
  useEffect(() => {
    const element = canvas.current
    const ctx = element?.getContext('2d')
    if (!element || !ctx || !log) return
    const size = { width, height }
    element.width = width
    element.height = height
    const overlay = { size, stage: stateAt(log, atMs), clips: log.header.clips }
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
  }, [desk, log, atMs, width, height])

  return (
    <figure className="handoff-preview">
      <canvas ref={canvas} style={{ aspectRatio: `${width} / ${height}` }} aria-label="How the video will be laid out" />
      <figcaption className="quiet">{fault ?? `${width} x ${height}, laid out as it will be at this instant.`}</figcaption>
    </figure>
  )
}
