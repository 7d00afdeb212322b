import { toMs, toSamples } from '../../../shared/walkthrough/edits.ts'
import { tellDone } from '../../ui/notices.ts'
import type { EditingParts } from './LessonEditing.tsx'
import { planTake } from './retake.ts'

/**
 * Goes to the Bench to record for this lesson, the stage as it stands at the place in question. `again`: in place of the
 * selection, or from the playhead to the end; `insert`: at the playhead.
 */
export function takeAgain({ editor, player }: Pick<EditingParts, 'editor' | 'player'>, what: 'again' | 'insert'): void {
  const { lesson, programme, selection } = editor.view.getState()
  if (!lesson || !programme) return
  const here = Math.min(programme.length, toSamples(player.now()))
  const place = what === 'insert' ? { from: here, to: here } : selection ?? { from: here, to: programme.length }
  const at = stageAt(programme, toMs(place.from))
  if (!at) return tellDone('There is no picture here to talk over; go to a place after the card.')
  player.pause()
  const first = lesson.takes[0]!
  planTake({ lessonId: lesson.id, title: first.title, swingId: first.swingId, studentId: first.studentId, place }, at)
}

/** The stage at a time; on a card, that of what comes after it, or before. */
function stageAt(programme: NonNullable<ReturnType<EditingParts['editor']['view']['getState']>['programme']>, ms: number) {
  const here = programme.at(ms)
  if (here?.kind === 'stage') return here.stage
  const places = [...programme.pieces.filter((one) => toMs(one.at) >= ms), ...programme.pieces.toReversed()]
  for (const { at } of places) {
    const seen = programme.at(toMs(at))
    if (seen?.kind === 'stage') return seen.stage
  }
  return null
}
