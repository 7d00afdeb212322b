import { DeskError } from '../../../shared/contract/errors.ts'
import { consentGap } from '../../../shared/contract/student.ts'
import { findingsOfClips } from '../../library/findings.ts'
import { getClip } from '../../library/clips.ts'
import { permissionGaps } from '../../library/shelf.ts'
import { getStudent } from '../../library/students.ts'
import { getSwing } from '../../library/swings.ts'
import { getWalkthrough } from '../../library/walkthroughs.ts'
import type { Finding } from '../../../shared/contract/finding.ts'
import type { DeskContext } from '../context.ts'
import { dayOf } from '../handoffJob.ts'
import { clipsOfLesson } from '../lessons.ts'

/** Clips of a lesson: those that its recordings show, and those of the swing it is about. */
export function lessonClips(context: DeskContext, walkthroughId: string): string[] {
  const { db } = context.library
  const walkthrough = getWalkthrough(db, walkthroughId)
  if (!walkthrough) throw new DeskError('not-found', 'This lesson is not in the library any more.', { where: walkthroughId })
  const shown = walkthrough.state === 'recording' ? context.recordings.clips(walkthroughId) : clipsOfLesson(context, walkthroughId)
  const swing = walkthrough.swingId === null ? null : getSwing(db, walkthrough.swingId)
  return [...new Set([...shown, ...[swing?.leftClipId, swing?.rightClipId].filter((id) => id !== null && id !== undefined)])]
}

export const lessonFindings = (context: DeskContext, walkthroughId: string): Finding[] => findingsOfClips(context.library.db, lessonClips(context, walkthroughId))

/**
 * Why nothing of a lesson may be handed over today: the consent of anyone in it, or a swing that is for the coach's eyes
 * only. The same rules as for the video. Null where it may.
 * @param also clips besides the lesson's own, such as demonstrations
 */
export function barredBy(context: DeskContext, walkthroughId: string, also: readonly string[] = []): DeskError | null {
  const { library: { db }, now } = context
  const besides = lessonFindings(context, walkthroughId).flatMap(({ picture: { beside } }) => (beside?.shown ? [beside.clipId] : []))
  const clipIds = [...lessonClips(context, walkthroughId), ...besides, ...also]
  const students = new Set(clipIds.map((id) => getClip(db, id)?.studentId ?? null))
  students.add(getWalkthrough(db, walkthroughId)?.studentId ?? null)
  for (const id of students) {
    const student = id === null ? null : getStudent(db, id)
    const gap = student && consentGap(student, dayOf(now()))
    if (gap) return new DeskError('no-consent', gap, { where: student.name, remedy: `Record the consent on ${student.name}'s page, then hand over again.` })
  }
  const [gap] = permissionGaps(db, clipIds, getWalkthrough(db, walkthroughId)?.studentId ?? null)
  return gap ? new DeskError('may-not-be-sent', gap.why, { where: gap.name, remedy: 'Make a lesson without it, or say on the Shelf that it may be sent if you have leave to.' }) : null
}

export function requireMayGo(context: DeskContext, walkthroughId: string, also: readonly string[] = []): void {
  const barred = barredBy(context, walkthroughId, also)
  if (barred) throw barred
}
