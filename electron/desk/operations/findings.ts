import { DeskError } from '../../../shared/contract/errors.ts'
import { getClip } from '../../library/clips.ts'
import { arrangeFindings, findingsOfClips, getFinding, removeFinding, saveFinding } from '../../library/findings.ts'
import type { DeskContext, Group } from '../context.ts'
import { dropFindingPicture } from '../plan/findingPictures.ts'
import { lessonFindings } from '../plan/mayGo.ts'

export function findingOperations(context: DeskContext): Group<'finding'> {
  const { library: { db }, hub, now } = context
  return {
    'finding.list': (of) => ('walkthroughId' in of ? lessonFindings(context, of.walkthroughId) : findingsOfClips(db, of.clipIds)),
    'finding.save': (given) => {
      const clip = getClip(db, given.clipId)
      if (!clip) throw new DeskError('not-found', 'The clip of this finding is not in the library any more.', { where: given.clipId })
      if (given.picture.tick < clip.frames.ticks[0]! || given.picture.tick >= clip.frames.endTick)
        throw new DeskError('bad-input', `The frame of this finding lies outside the clip, which has ${clip.frames.ticks.length} frames.`, { where: clip.fileName })
      if (given.picture.marks.some((mark) => mark.clipId !== given.clipId)) throw new DeskError('bad-input', 'A mark of this finding lies on another clip.', { where: clip.fileName })
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
