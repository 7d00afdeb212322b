import type { Clip } from '../../../shared/contract/clip.ts'
import { DeskError } from '../../../shared/contract/errors.ts'
import type { Framed } from '../../../shared/contract/finding.ts'
import { getClip } from '../../library/clips.ts'
import { arrangeFindings, findingsOfClips, getFinding, removeFinding, saveFinding } from '../../library/findings.ts'
import type { DeskContext, Group } from '../context.ts'
import { dropFindingPicture } from '../plan/findingPictures.ts'
import { lessonFindings } from '../plan/mayGo.ts'

function requireFrame({ tick, marks }: Framed, { id, fileName, frames }: Clip): void {
  if (tick < frames.ticks[0]! || tick >= frames.endTick) throw new DeskError('bad-input', `The frame of this finding lies outside the clip, which has ${frames.ticks.length} frames.`, { where: fileName })
  if (marks.some((mark) => mark.clipId !== id)) throw new DeskError('bad-input', 'A mark of this finding lies on another clip.', { where: fileName })
}

export function findingOperations(context: DeskContext): Group<'finding'> {
  const { library: { db }, hub, now } = context
  return {
    'finding.list': (of) => ('walkthroughId' in of ? lessonFindings(context, of.walkthroughId) : findingsOfClips(db, of.clipIds)),
    'finding.save': (given) => {
      const clip = getClip(db, given.clipId)
      if (!clip) throw new DeskError('not-found', 'The clip of this finding is not in the library any more.', { where: given.clipId })
      requireFrame(given.picture, clip)
      const { beside } = given.picture
      // Where it has left the library since, the finding's own view stands alone.
      const other = beside ? getClip(db, beside.clipId) : null
      if (beside && other) {
        requireFrame(beside, other)
        if (other.id === clip.id || other.studentId !== clip.studentId)
          throw new DeskError('bad-input', 'What stands beside a finding is another view of the same student.', { where: other.fileName })
      }
      const finding = { ...given, createdAt: getFinding(db, given.id)?.createdAt ?? now() }
      saveFinding(db, finding)
      hub.changed('findings')
      return finding
    },
    'finding.remove': ({ id }) => {
      const finding = getFinding(db, id)
      if (!finding) throw new DeskError('not-found', 'This finding is not in the library any more.', { where: id })
      dropFindingPicture(context, finding)
      removeFinding(db, id)
      hub.changed('findings')
      return {}
    },
    'finding.arrange': (order) => {
      arrangeFindings(db, order)
      hub.changed('findings')
      return {}
    },
  }
}
