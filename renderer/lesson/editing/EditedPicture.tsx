import { useEffect, useRef } from 'react'
import { drawCard } from '../../../shared/picture/drawCard.ts'
import { emptyStage, type Stage, type StageClips } from '../../../shared/walkthrough/stage.ts'
import type { Instant, Programme } from '../../../shared/walkthrough/programme.ts'
import { fetchOriginal } from '../../playback/originalPixels.ts'
import { createStageView, type StageView } from '../../playback/stageView.ts'
import { useDesk } from '../../ui/desk.tsx'

/** What is seen of a lesson at the time of its clock: the stage of the take, or a card over it. */
export function EditedPicture({ programme, now, adjust, onView }: {
  readonly programme: () => Programme
  readonly now: () => number
  /** Puts what is being changed by hand in the place of what is there. */
  readonly adjust: (stage: Stage) => Stage
  /** Hears of the view while it is there, for those who find marks on it. */
  readonly onView: (view: StageView | null, host: HTMLDivElement | null) => void
}) {
  const desk = useDesk()
  const host = useRef<HTMLDivElement>(null)
  const cover = useRef<HTMLCanvasElement>(null)

  useEffect(() => {
    let seen: Instant | null = null
    let clips: StageClips = {}
    const view = createStageView({
      host: host.current!,
      store: {
        settled: (at) => {
          seen = programme().at(at ?? now())
          if (seen?.kind === 'stage') clips = seen.clips
          return seen?.kind === 'stage' ? adjust(seen.stage) : emptyStage
        },
        get clips() {
          return clips
        },
        now,
      },
      media: {
        reviewUrl: (clipId) => desk.mediaUrl(`review/${clipId}.mp4`),
        original: (clipId, index, signal) => fetchOriginal(desk.mediaUrl(`frame/${clipId}/${index}`), signal),
      },
    })
    onView(view, host.current)
    let frame = 0
    let drawn = ''
    const follow = (): void => {
      const canvas = cover.current!
      const card = seen?.kind === 'card' ? seen.card : null
      canvas.hidden = card === null
      const [width, height] = [Math.round(canvas.clientWidth * devicePixelRatio), Math.round(canvas.clientHeight * devicePixelRatio)]
      const wanted = card ? JSON.stringify([card.title, card.lines, width, height]) : ''
      if (card && wanted !== drawn && width > 0) {
        canvas.width = width
        canvas.height = height
        drawCard(canvas.getContext('2d')!, { width, height }, card)
      }
      drawn = wanted
      frame = requestAnimationFrame(follow)
    }
    follow()
    return () => {
      cancelAnimationFrame(frame)
      onView(null, null)
      view.dispose()
    }
  }, [desk, programme, now, adjust, onView])

  return (
    <div className="lesson-picture">
      <div className="edited-stage" ref={host} role="img" aria-label="The lesson's picture" />
      <canvas className="edited-card" ref={cover} hidden />
    </div>
  )
}
