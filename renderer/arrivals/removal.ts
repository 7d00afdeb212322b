import type { Desk } from '../../shared/contract/operations.ts'
import type { Student } from '../../shared/contract/student.ts'
import type { Handoff, Walkthrough } from '../../shared/contract/walkthrough.ts'
import { logHeaderSchema } from '../../shared/walkthrough/log.ts'
import type { ClipSummary, Library } from '../ui/libraryStore.ts'
import { byteWords, countWords } from '../ui/words.ts'

/** What hangs on some clips and goes with them. */
export interface Footprint {
  readonly marks: number
  /** Those that show one of the clips: their pictures are the clip's, so they cannot stay. */
  readonly walkthroughs: readonly Walkthrough[]
}

/** Whether a walkthrough's log names one of the clips. */
export function shows(log: string, clipIds: ReadonlySet<string>): boolean {
  let header: unknown
  try {
    header = JSON.parse(log.slice(0, log.indexOf('\n')))
  } catch {
    return false
  }
  const parsed = logHeaderSchema.pick({ clips: true }).safeParse(header)
  return parsed.success && Object.keys(parsed.data.clips).some((id) => clipIds.has(id))
}

/** Asks the desk what hangs on the clips. A walkthrough cannot show a clip that came in after it was made, so older ones are not read. */
export async function footprint(desk: Desk, clips: readonly Pick<ClipSummary, 'id' | 'takenInAt'>[], walkthroughs: readonly Walkthrough[]): Promise<Footprint> {
  const ids = new Set(clips.map((clip) => clip.id))
  if (!ids.size) return { marks: 0, walkthroughs: [] }
  const first = Math.min(...clips.map((clip) => clip.takenInAt))
  const showing: Walkthrough[] = []
  for (const walkthrough of walkthroughs)
    if (walkthrough.createdAt >= first && shows((await desk.call('walkthrough.log', { id: walkthrough.id })).text, ids)) showing.push(walkthrough)
  return { marks: (await desk.call('marks.list', { clipIds: [...ids] })).length, walkthroughs: showing }
}

function lessons(walkthroughs: readonly Walkthrough[], handoffs: readonly Handoff[]): string[] {
  const ids = new Set(walkthroughs.map((walkthrough) => walkthrough.id))
  const made = handoffs.filter((handoff) => ids.has(handoff.walkthroughId))
  const paths = made.flatMap(({ path }) => path ?? [])
  return [
    ...(walkthroughs.length ? [`${countWords({ walkthrough: walkthroughs.length })}: ${walkthroughs.map((one) => one.title || 'without a title').join(', ')}`] : []),
    ...(made.length ? [`${countWords({ 'hand-off': made.length })}${paths.length ? `, with the video on this machine: ${paths.join(', ')}` : ''}`] : []),
  ]
}

/** What goes with clips, one line each, for the coach to read before it does. */
export function goesWithClips(clips: readonly ClipSummary[], { marks, walkthroughs }: Footprint, library: Pick<Library, 'swings' | 'handoffs'>): string[] {
  const ids = new Set(clips.map((clip) => clip.id))
  const pairs = library.swings.filter(({ leftClipId, rightClipId }) => leftClipId && rightClipId && (ids.has(leftClipId) || ids.has(rightClipId))).length
  return [
    ...clips.map((clip) => `${clip.fileName}, ${byteWords(clip.bytes)}, and its review copy`),
    ...(marks ? [`${countWords({ mark: marks })} drawn on ${clips.length === 1 ? 'it' : 'them'}`] : []),
    ...(pairs ? [countWords({ pairing: pairs })] : []),
    ...lessons(walkthroughs, library.handoffs),
  ]
}

/** What goes with a student. */
export function goesWithStudent(student: Student, { marks, walkthroughs: showing }: Footprint, library: Pick<Library, 'clips' | 'walkthroughs' | 'handoffs' | 'deliveries'>): string[] {
  const clips = library.clips.filter((clip) => clip.studentId === student.id)
  const walkthroughs = library.walkthroughs.filter((walkthrough) => walkthrough.studentId === student.id || showing.some(({ id }) => id === walkthrough.id))
  const deliveries = library.deliveries.filter((delivery) => delivery.studentId === student.id)
  const bytes = clips.reduce((sum, clip) => sum + clip.bytes, 0)
  return [
    `The record of ${student.name}: goals, clubs, injuries, consent`,
    ...(deliveries.length ? [deliveries.length === 1 ? 'The question and the feel that came with the clips' : `The questions and feels of ${deliveries.length} deliveries`] : []),
    ...(clips.length ? [`${countWords({ clip: clips.length })} (${byteWords(bytes)}): ${clips.map((clip) => clip.fileName).join(', ')}`] : []),
    ...(marks ? [countWords({ mark: marks })] : []),
    ...lessons(walkthroughs, library.handoffs),
    'Copies of the database that an earlier upgrade has kept, if there are any',
  ]
}
