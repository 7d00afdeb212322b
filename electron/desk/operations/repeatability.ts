import { DeskError } from '../../../shared/contract/errors.ts'
import type { Repeats } from '../../../shared/contract/repeatability.ts'
import { readOwnClip, repeatsOf, type OwnClip } from '../../../shared/swing/repeats.ts'
import { getClip, listClips } from '../../library/clips.ts'
import { listDigitised } from '../../library/digitised.ts'
import { setRepeatability } from '../../library/repeatability.ts'
import { getSettings } from '../../library/settings.ts'
import { getStudent } from '../../library/students.ts'
import type { DeskContext, Group } from '../context.ts'

/** More clips of one view and club than these, the newest, tell nothing more. */
const mostClips = 24
/** So many clips' readings are kept. */
const mostKept = 60

export function repeatabilityOperations({ library: { db }, hub }: DeskContext): Group<'repeatability'> {
  /** Clips that were read, each as it was; those that have changed since are read again. */
  const kept = new Map<string, { readonly key: string; readonly read: ReturnType<typeof readOwnClip> }>()
  const readOnce = (own: OwnClip): ReturnType<typeof readOwnClip> => {
    const key = JSON.stringify(own)
    const before = kept.get(own.clip.id)
    if (before?.key === key) return before.read
    const read = readOwnClip(own)
    kept.delete(own.clip.id)
    kept.set(own.clip.id, { key, read })
    if (kept.size > mostKept) kept.delete(kept.keys().next().value!)
    return read
  }
  const known = (id: string) => {
    const student = getStudent(db, id)
    if (!student) throw new DeskError('not-found', 'This student is not in the library any more.', { where: id })
    return student
  }
  return {
    'repeatability.set': ({ studentId, figure }) => {
      known(studentId)
      setRepeatability(db, studentId, figure)
      hub.changed('students')
      return { figure }
    },
    'repeatability.fromSwings': async ({ studentId }) => {
      const student = known(studentId)
      const { clickError } = getSettings(db)
      const clips = listClips(db, { studentId }).filter(({ view }) => view !== 'other')
      const groups = Map.groupBy(clips, ({ view, club, handedness }) => JSON.stringify([view, club.toLowerCase(), handedness]))
      const told: Repeats[] = []
      for (const group of groups.values()) {
        const { view, club } = group[0]!
        const lengthM = student.clubs.find(({ kind }) => kind.toLowerCase() === club.toLowerCase())?.lengthM ?? null
        const read: ReturnType<typeof readOwnClip>[] = []
        for (const { id } of group) {
          if (read.filter((one) => one !== null).length >= mostClips) break
          const records = listDigitised(db, [id])
          const clip = records.some(({ kind }) => kind === 'landmark') ? getClip(db, id) : null
          if (!clip) continue
          read.push(readOnce({ clip, statureM: student.statureM, club: club === '' ? null : { kind: club, lengthM }, records: Object.fromEntries(records.map((record) => [record.id, record])), clickError }))
          // Others are served between one clip and the next.
          await new Promise((resolve) => { setImmediate(resolve) })
        }
        if (read.length > 0) told.push({ view, club, ...repeatsOf(read) })
      }
      return told.toSorted((a, b) => b.swings - a.swings || b.clips - a.clips)
    },
  }
}
