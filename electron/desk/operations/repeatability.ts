import { DeskError } from '../../../shared/contract/errors.ts'
import type { Repeats } from '../../../shared/contract/repeatability.ts'
import type { Clip } from '../../../shared/contract/clip.ts'
import { repeatsOf } from '../../../shared/swing/repeats.ts'
import { getClip, listClips } from '../../library/clips.ts'
import { listDigitised } from '../../library/digitised.ts'
import { setRepeatability } from '../../library/repeatability.ts'
import { getSettings } from '../../library/settings.ts'
import { getStudent } from '../../library/students.ts'
import type { DeskContext, Group } from '../context.ts'

/** More clips of one view and club than these, the newest, tell nothing more. */
const mostClips = 24

export function repeatabilityOperations({ library: { db }, hub }: DeskContext): Group<'repeatability'> {
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
    'repeatability.fromSwings': ({ studentId }) => {
      const student = known(studentId)
      const { clickError } = getSettings(db)
      const placed = new Set(listDigitised(db, listClips(db, { studentId }).map(({ id }) => id)).map(({ clipId }) => clipId))
      const groups = Map.groupBy(listClips(db, { studentId }).filter(({ id, view }) => placed.has(id) && view !== 'other'), ({ view, club, handedness }) => JSON.stringify([view, club.toLowerCase(), handedness]))
      return [...groups.values()].map((clips): Repeats => {
        const { view, club } = clips[0]!
        const lengthM = student.clubs.find(({ kind }) => kind.toLowerCase() === club.toLowerCase())?.lengthM ?? null
        const own = clips.slice(0, mostClips).flatMap(({ id }) => {
          const clip: Clip | null = getClip(db, id)
          return clip ? [{ clip, statureM: student.statureM, club: club === '' ? null : { kind: club, lengthM }, records: Object.fromEntries(listDigitised(db, [id]).map((record) => [record.id, record])), clickError }] : []
        })
        return { view, club, ...repeatsOf(own) }
      }).toSorted((a, b) => b.swings - a.swings || b.clips - a.clips)
    },
  }
}
