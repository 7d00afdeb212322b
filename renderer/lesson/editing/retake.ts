import { createStore } from 'zustand/vanilla'
import type { Desk } from '../../../shared/contract/operations.ts'
import type { TakePlace } from '../../../shared/contract/lesson.ts'
import { takeIn } from '../../../shared/walkthrough/editHeadings.ts'
import { changeBetween } from '../../../shared/walkthrough/editSteps.ts'
import { lengthOfAll, toMs, wholePiece } from '../../../shared/walkthrough/edits.ts'
import { parseLog } from '../../../shared/walkthrough/log.ts'
import type { Stage } from '../../../shared/walkthrough/stage.ts'
import { restoreOnBench } from '../../ui/appStore.ts'
import { clockWords } from '../clockWords.ts'

/** A recording that is about to be made for a lesson, on the Bench. */
export interface TakePlan {
  readonly lessonId: string
  readonly title: string
  readonly swingId: string | null
  readonly studentId: string | null
  readonly place: TakePlace
}

/** What the recorder is to record for; null: a lesson of its own. Lives as long as the window, as the Bench's stage does. */
export const takePlanStore = createStore<{ readonly plan: TakePlan | null }>()(() => ({ plan: null }))

/** Goes to the Bench with the stage as it stood, to be talked over. */
export function planTake(plan: TakePlan, stage: Stage): void {
  takePlanStore.setState({ plan })
  restoreOnBench(stage)
}
export const dropPlan = (): void => takePlanStore.setState({ plan: null })

export const planWords = ({ title, place }: TakePlan): string =>
  place.from === place.to ? `New part for “${title}” at ${clockWords(toMs(place.from))}` : `“${title}” again, from ${clockWords(toMs(place.from))} to ${clockWords(toMs(place.to))}`

/**
 * Puts a recording into its lesson as one step. The place is the one that was chosen before recording; should the lesson be
 * shorter by now, its end.
 */
export async function putIn(desk: Pick<Desk, 'call'>, lessonId: string, takeId: string, place: TakePlace): Promise<void> {
  const lesson = await desk.call('lesson.get', { id: lessonId })
  const take = lesson.takes.find(({ id }) => id === takeId)
  if (!take || take.durationMs === 0) return
  const { text } = await desk.call('walkthrough.log', { id: takeId })
  const length = lengthOfAll(lesson.edits.pieces)
  const span = { from: Math.min(place.from, length), to: Math.min(place.to, length) }
  const edits = takeIn(lesson.edits, { id: takeId, log: parseLog(text), durationMs: take.durationMs }, { ...wholePiece(take), id: crypto.randomUUID() }, span, () => crypto.randomUUID())
  const name = span.from < span.to ? `Take ${clockWords(toMs(span.from))} again` : `Put in a part at ${clockWords(toMs(span.from))}`
  await desk.call('lesson.apply', { id: lessonId, version: lesson.version, name, change: changeBetween(lesson.edits, edits) })
}
