import { randomUUID } from 'node:crypto'
import { DeskError } from '../../../shared/contract/errors.ts'
import { getClip, listClips, someClips, updateClip, type ClipPatch } from '../../library/clips.ts'
import { footprintOfClips } from '../../library/footprint.ts'
import { applyMarks, listMarks } from '../../library/marks.ts'
import { removeClip, removeSwing } from '../../library/removal.ts'
import { all } from '../../library/statement.ts'
import { getSwing, listSwings, saveSwing, someSwings, swingsOfClips } from '../../library/swings.ts'
import type { DeskContext, Group } from '../context.ts'
import { cancelHandoffsOf } from '../handoffJob.ts'

export function clipOperations(context: DeskContext): Group<'clip'> & Group<'swing'> & Group<'marks'> {
  const { library, hub, now } = context
  const { db, layout } = library
  const clip = (id: string) => {
    const found = getClip(db, id)
    if (!found) throw new DeskError('not-found', 'This clip is not in the library any more.', { where: id })
    return found
  }
  const swing = (id: string) => {
    const found = getSwing(db, id)
    if (!found) throw new DeskError('not-found', 'This swing is not in the library any more.', { where: id })
    return found
  }
  return {
    'clip.list': (asked) => listClips(db, asked),
    'clip.some': ({ ids }) => someClips(db, ids),
    'clip.footprint': ({ ids }) => footprintOfClips(db, ids),
    'clip.get': ({ id }) => clip(id),
    'clip.update': ({ id, patch }) => {
      clip(id)
      const change = Object.fromEntries(Object.entries(patch).filter(([, value]) => value !== undefined)) as ClipPatch
      db.transaction(() =>
        updateClip(db, id, change.captureRate === undefined ? change : { captureRateBasis: 'coach', ...change }),
      ).immediate()
      hub.changed('clips')
      return clip(id)
    },
    'clip.remove': async ({ id }) => {
      clip(id)
      const showing = all<{ id: string }>(db, 'SELECT walkthroughId AS id FROM walkthroughClips WHERE clipId = ?', id).map((row) => row.id)
      for (const walkthrough of showing) {
        await cancelHandoffsOf(context, walkthrough)
        context.recordings.abandon(walkthrough)
      }
      await context.engines.media.release()
      const removed = removeClip(db, layout, id)
      hub.changed('clips', 'swings', 'marks', 'walkthroughs', 'handoffs')
      return removed
    },
    'swing.list': ({ limit }) => listSwings(db, limit),
    'swing.some': ({ ids }) => someSwings(db, ids),
    'swing.ofClips': ({ ids }) => swingsOfClips(db, ids),
    'swing.save': (given) => {
      const saved =
        given.id === null
          ? { ...given, id: randomUUID(), createdAt: now() }
          : { ...given, id: given.id, createdAt: swing(given.id).createdAt }
      db.transaction(() => saveSwing(db, saved)).immediate()
      hub.changed('swings', 'clips')
      return saved
    },
    'swing.remove': ({ id }) => {
      swing(id)
      const removed = removeSwing(db, layout, id)
      hub.changed('swings', 'clips')
      return removed
    },
    'marks.list': ({ clipIds }) => listMarks(db, clipIds),
    'marks.apply': ({ diff }) => {
      const saved = applyMarks(db, diff)
      hub.changed('marks')
      return { saved }
    },
  }
}
