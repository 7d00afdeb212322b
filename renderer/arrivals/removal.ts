import type { Mark } from '../../shared/markup/mark.ts'
import type { Student } from '../../shared/contract/student.ts'
import type { ClipSummary, Library } from '../ui/libraryStore.ts'
import { byteWords, countWords } from '../ui/words.ts'

/** What goes with clips, one line each, for the coach to read before it does. */
export function goesWithClips(clips: readonly ClipSummary[], marks: readonly Pick<Mark, 'id'>[], library: Pick<Library, 'swings'>): string[] {
  const ids = new Set(clips.map((clip) => clip.id))
  const pairs = library.swings.filter(({ leftClipId, rightClipId }) => leftClipId && rightClipId && (ids.has(leftClipId) || ids.has(rightClipId))).length
  return [
    ...clips.map((clip) => `${clip.fileName}, ${byteWords(clip.bytes)}, and its review copy`),
    ...(marks.length ? [`${countWords({ mark: marks.length })} drawn on ${clips.length === 1 ? 'it' : 'them'}`] : []),
    ...(pairs ? [`${countWords({ pairing: pairs })} with another clip`] : []),
  ]
}

/** What goes with a student. */
export function goesWithStudent(student: Student, marks: readonly Pick<Mark, 'id'>[], library: Pick<Library, 'clips' | 'swings' | 'walkthroughs' | 'handoffs' | 'deliveries'>): string[] {
  const clips = library.clips.filter((clip) => clip.studentId === student.id)
  const walkthroughs = library.walkthroughs.filter((walkthrough) => walkthrough.studentId === student.id)
  const ids = new Set(walkthroughs.map((walkthrough) => walkthrough.id))
  const handoffs = library.handoffs.filter((handoff) => ids.has(handoff.walkthroughId))
  const deliveries = library.deliveries.filter((delivery) => delivery.studentId === student.id)
  const bytes = clips.reduce((sum, clip) => sum + clip.bytes, 0)
  return [
    `The record of ${student.name}: goals, clubs, injuries, consent`,
    ...(deliveries.length ? [`${countWords({ 'question with its feel': deliveries.length })}`] : []),
    ...(clips.length ? [`${countWords({ clip: clips.length })} (${byteWords(bytes)}): ${clips.map((clip) => clip.fileName).join(', ')}`] : []),
    ...(marks.length ? [countWords({ mark: marks.length })] : []),
    ...(walkthroughs.length ? [`${countWords({ walkthrough: walkthroughs.length })}: ${walkthroughs.map((one) => one.title).join(', ')}`] : []),
    ...(handoffs.length ? [countWords({ 'hand-off': handoffs.length })] : []),
  ]
}
