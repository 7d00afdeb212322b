import { randomUUID } from 'node:crypto'
import { DeskError } from '../../../shared/contract/errors.ts'
import { addOwnTake, ownerOfTake, takesOfLesson } from '../../library/lessons.ts'
import { removeWalkthrough } from '../../library/removal.ts'
import { getWalkthrough, listWalkthroughs, pageOfWalkthroughs, renameWalkthrough, someWalkthroughs, takesRecordedFor } from '../../library/walkthroughs.ts'
import { listHandoffs } from '../../library/handoffs.ts'
import type { DeskContext, Group } from '../context.ts'
import { cancelHandoffsOf, removeHandoff, startHandoff } from '../handoffJob.ts'

export function walkthroughOperations(context: DeskContext): Group<'walkthrough'> & Group<'handoff'> {
  const { library, recordings, cleaning, hub, now } = context
  const { db, layout } = library
  const known = (id: string) => {
    const found = getWalkthrough(db, id)
    if (!found) throw new DeskError('not-found', 'This walkthrough is not in the library any more.', { where: id })
    return found
  }
  return {
    'walkthrough.begin': ({ swingId, studentId, title, sampleRate, header, takeOf }) => {
      if (takeOf) known(takeOf.lessonId)
      const begun = recordings.begin({ id: randomUUID(), swingId, studentId, title, sampleRate, createdAt: now() }, header)
      if (takeOf) addOwnTake(db, ownerOfTake(db, takeOf.lessonId) ?? takeOf.lessonId, begun.id, takeOf.place)
      hub.changed('walkthroughs')
      return known(begun.id)
    },
    'walkthrough.append': ({ id, at, sound, rows }) => ({ samples: recordings.append(id, at, sound, rows) }),
    'walkthrough.finish': ({ id }) => {
      const whole = recordings.finish(id)
      hub.changed('walkthroughs')
      return whole
    },
    'walkthrough.list': () => listWalkthroughs(db),
    'walkthrough.page': (asked) => pageOfWalkthroughs(db, asked),
    'walkthrough.some': ({ ids }) => someWalkthroughs(db, ids),
    'walkthrough.takes': ({ id }) => takesRecordedFor(db, id),
    'walkthrough.log': ({ id }) => ({ text: recordings.log(id) }),
    'walkthrough.rename': ({ id, title }) => {
      known(id)
      renameWalkthrough(db, id, title)
      hub.changed('walkthroughs')
      return known(id)
    },
    'walkthrough.remove': async ({ id }) => {
      known(id)
      await cancelHandoffsOf(context, id)
      for (const takeId of [id, ...takesOfLesson(db, id).flatMap(({ takeId, own }) => (own ? [takeId] : []))]) {
        recordings.abandon(takeId)
        await cleaning.drop(takeId)
      }
      const removed = removeWalkthrough(db, layout, id)
      hub.changed('walkthroughs', 'handoffs')
      return removed
    },
    'handoff.start': ({ walkthroughId, settings, to, promisedOn }) => startHandoff(context, known(walkthroughId), settings, to, promisedOn ?? null),
    'handoff.remove': ({ id, file }) => removeHandoff(context, id, file),
    'handoff.list': ({ walkthroughId }) => listHandoffs(db, walkthroughId),
  }
}
