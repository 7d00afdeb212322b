import { randomUUID } from 'node:crypto'
import { DeskError } from '../../../shared/contract/errors.ts'
import { footprintOfStudent } from '../../library/footprint.ts'
import { listJobs } from '../../library/jobs.ts'
import { removeStudent } from '../../library/removal.ts'
import { getDelivery, getStudent, listDeliveries, listStudents, saveStudent, someDeliveries, updateDelivery } from '../../library/students.ts'
import { all } from '../../library/statement.ts'
import type { DeskContext, Group } from '../context.ts'

export function studentOperations(context: DeskContext): Group<'student'> & Group<'delivery'> {
  const { library, hub, jobs, now } = context
  const { db, layout } = library
  const known = (id: string) => {
    const student = getStudent(db, id)
    if (!student) throw new DeskError('not-found', 'This student is not in the library any more.', { where: id })
    return student
  }
  return {
    'student.footprint': ({ id }) => {
      known(id)
      return footprintOfStudent(db, id)
    },
    'student.list': () => listStudents(db),
    'student.save': (given) => {
      const student =
        given.id === null
          ? { ...given, id: randomUUID(), createdAt: now() }
          : { ...given, id: given.id, createdAt: known(given.id).createdAt }
      saveStudent(db, student)
      hub.changed('students')
      return known(student.id)
    },
    'student.remove': async ({ id }) => {
      known(id)
      const deliveries = new Set(all<{ id: string }>(db, 'SELECT id FROM deliveries WHERE studentId = ?', id).map((row) => row.id))
      // Work on what is about to go would bring some of it back.
      const touched = new Set(
        all<{ id: string }>(
          db,
          'SELECT walkthroughId AS id FROM walkthroughClips JOIN clips ON clips.id = clipId WHERE clips.studentId = ? UNION SELECT id FROM walkthroughs WHERE studentId = ?',
          id,
          id,
        ).map((row) => row.id),
      )
      for (const job of listJobs(db)) {
        const isTheirs =
          (job.deliveryId !== null && deliveries.has(job.deliveryId)) || (job.walkthroughId !== null && touched.has(job.walkthroughId))
        if (isTheirs && (job.state === 'waiting' || job.state === 'running')) await jobs.cancel(job.id)
      }
      for (const walkthrough of touched) context.recordings.abandon(walkthrough)
      await context.engines.media.release()
      const removed = removeStudent(db, layout, id)
      hub.changed('students', 'deliveries', 'clips', 'swings', 'marks', 'walkthroughs', 'handoffs', 'jobs')
      return removed
    },
    'delivery.list': () => listDeliveries(db),
    'delivery.some': ({ ids }) => someDeliveries(db, ids),
    'delivery.save': (delivery) => {
      if (!updateDelivery(db, delivery))
        throw new DeskError('not-found', 'This delivery is not in the library any more.', { where: delivery.id })
      hub.changed('deliveries')
      const { pair: _pair, paired: _paired, ...saved } = getDelivery(db, delivery.id)!
      return saved
    },
  }
}
