import type { ClipSummary, Footprint } from '../../shared/contract/lists.ts'
import type { Student } from '../../shared/contract/student.ts'
import { byteWords, countWords } from '../ui/words.ts'

/** So many names a line tells; the number of the rest follows. */
const mostNames = 20

function names(list: readonly string[], count: number): string {
  const told = list.slice(0, mostNames)
  return [...told, ...(count > told.length ? [`${(count - told.length).toLocaleString('en')} more`] : [])].join(', ')
}

const counted = (counts: Readonly<Record<string, number>>): string[] => (Object.values(counts).some((n) => n > 0) ? [countWords(counts)] : [])

/** What hangs on clips or a student besides the clips themselves. */
function hanging({ points, findings, prescriptions, walkthroughs, lessons, plans, handoffs, titles, videos }: Footprint): string[] {
  return [
    ...counted({ 'placed point': points }),
    ...counted({ finding: findings }),
    ...counted({ 'prescribed drill': prescriptions }),
    ...(walkthroughs > 0 ? [`${countWords({ walkthrough: walkthroughs })}: ${names(titles.map((title) => title || 'without a title'), walkthroughs)}`] : []),
    ...counted({ 'edited lesson': lessons }),
    ...counted({ 'practice plan': plans }),
    ...(handoffs > 0 ? [`${countWords({ 'hand-off': handoffs })}${videos.length > 0 ? `, with the video on this machine: ${names(videos, videos.length)}` : ''}`] : []),
  ]
}

/** What goes with clips, one line each, for the coach to read before it does. */
export function goesWithClips(clips: readonly ClipSummary[], footprint: Footprint): string[] {
  return [
    ...clips.slice(0, mostNames).map((clip) => `${clip.fileName}, ${byteWords(clip.bytes)}, and its review copy`),
    ...(clips.length > mostNames ? [`${countWords({ 'other clip': clips.length - mostNames })}`] : []),
    ...(footprint.marks > 0 ? [`${countWords({ mark: footprint.marks })} drawn on ${clips.length === 1 ? 'it' : 'them'}`] : []),
    ...counted({ pairing: footprint.pairings }),
    ...hanging(footprint),
  ]
}

/** What goes with a student. */
export function goesWithStudent(student: Student, footprint: Footprint): string[] {
  const { deliveries, clips, bytes, fileNames, marks } = footprint
  return [
    `The record of ${student.name}: goals, clubs, injuries, consent`,
    ...(deliveries > 0 ? [deliveries === 1 ? 'The question and the feel that came with the clips' : `The questions and feels of ${countWords({ delivery: deliveries })}`] : []),
    ...(clips > 0 ? [`${countWords({ clip: clips })} (${byteWords(bytes)}): ${names(fileNames, clips)}`] : []),
    ...counted({ mark: marks }),
    ...hanging(footprint),
    'Copies of the database that an earlier upgrade has kept, if there are any',
  ]
}
