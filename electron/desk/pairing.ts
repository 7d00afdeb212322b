import { randomUUID } from 'node:crypto'
import type { Clip } from '../../shared/contract/clip.ts'
import type { Swing } from '../../shared/contract/student.ts'
import { clipsOfDelivery } from '../library/clips.ts'
import type { Sqlite } from '../library/database.ts'
import { openJobsOfDelivery } from '../library/jobs.ts'
import { getDelivery, setPaired } from '../library/students.ts'
import { saveSwing } from '../library/swings.ts'

type Paired = Pick<Clip, 'id' | 'view' | 'club' | 'swingId' | 'studentId' | 'takenInAt' | 'filmedAt'>

/**
 * Which clips of a batch belong together: the first face-on with the first down-the-line, the second with the second, in the
 * order of filming where the phone says it of all, else as they came. A clip without a counterpart, or with a swing, stays alone.
 */
export function pairsOf<C extends Paired>(clips: readonly C[]): readonly (readonly [faceOn: C, downTheLine: C])[] {
  const free = clips.filter((clip) => clip.swingId === null)
  const isDated = free.every((clip) => clip.filmedAt !== null)
  const ordered = isDated ? free.toSorted((a, b) => a.filmedAt! - b.filmedAt!) : free
  const faceOn = ordered.filter((clip) => clip.view === 'face-on')
  const downTheLine = ordered.filter((clip) => clip.view === 'down-the-line')
  return faceOn.slice(0, downTheLine.length).map((clip, i) => [clip, downTheLine[i]!] as const)
}

const dayOf = (ms: number): string => new Date(ms).toISOString().slice(0, 10)

/** Makes the swings of a batch once its last file has come to an end. Answers whether there are new ones. */
export function pairDelivery(db: Sqlite, deliveryId: string, now: number): boolean {
  const delivery = getDelivery(db, deliveryId)
  if (!delivery || delivery.paired === 1 || delivery.pair === 'none' || openJobsOfDelivery(db, deliveryId) > 0) return false
  const { pair } = delivery
  return db
    .transaction(() => {
      const pairs = pairsOf(clipsOfDelivery(db, deliveryId))
      for (const [left, right] of pairs) {
        const swing: Swing = {
          id: randomUUID(),
          studentId: left.studentId,
          deliveryId,
          title: [left.club || 'Swing', dayOf(left.filmedAt ?? left.takenInAt)].join(', '),
          leftClipId: left.id,
          rightClipId: right.id,
          pairing: pair,
          tie: null,
          createdAt: now,
        }
        saveSwing(db, swing)
      }
      setPaired(db, deliveryId)
      return pairs.length > 0
    })
    .immediate()
}
