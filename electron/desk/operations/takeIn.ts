import { randomUUID } from 'node:crypto'
import { isAbsolute } from 'node:path'
import { DeskError } from '../../../shared/contract/errors.ts'
import type { z } from 'zod'
import type { batchSchema } from '../../../shared/contract/operations.ts'
import { setSettings } from '../../library/settings.ts'
import { addDelivery, getStudent, listStudents } from '../../library/students.ts'
import type { Answer, DeskContext, Group } from '../context.ts'
import { guessFromName } from '../guess.ts'
import { nameOfSource, type TakeInPayload } from '../takeInJob.ts'

/** Puts a batch on the list: one delivery, one job a file. */
function startBatch(context: DeskContext, batch: z.output<typeof batchSchema>): Answer<'takeIn.start'> {
  const { library, staging, jobs, hub, now } = context
  const { db } = library
  const student = batch.studentId === null ? null : getStudent(db, batch.studentId)
  if (batch.studentId !== null && !student)
    throw new DeskError('not-found', 'This student is not in the library any more.', {
      where: 'studentId',
      remedy: 'Choose another student.',
    })
  for (const { source } of batch.items) {
    if ('staged' in source) staging.path(source.staged)
    else if (!isAbsolute(source.path))
      throw new DeskError('bad-input', 'A file needs its full path.', {
        where: source.path,
        remedy: 'Name it from the root of the disk on.',
      })
  }
  const handedness = batch.handedness ?? student?.handedness ?? 'right'
  const students = listStudents(db)
  const deliveryId = randomUUID()
  const made = db
    .transaction(() => {
      addDelivery(
        db,
        { id: deliveryId, studentId: batch.studentId, question: batch.question, feel: batch.feel, receivedAt: now() },
        batch.pair,
      )
      return batch.items.map(({ source, view, captureRate }) => {
        const title = nameOfSource(source)
        const payload: TakeInPayload = {
          source,
          captureRate,
          clip: {
            studentId: batch.studentId,
            deliveryId,
            view: view ?? guessFromName(title, students).view ?? 'other',
            club: batch.club,
            handedness,
          },
        }
        return jobs.add({ kind: 'take-in', title, payload, deliveryId, walkthroughId: null })
      })
    })
    .immediate()
  hub.changed('deliveries', 'jobs')
  return { deliveryId, jobs: made }
}

export function takeInOperations(context: DeskContext): Group<'takeIn'> & Group<'job'> {
  const { library, jobs } = context
  return {
    'takeIn.guess': ({ fileNames }) => {
      const students = listStudents(library.db)
      return fileNames.map((name) => guessFromName(name, students))
    },
    'takeIn.start': (batch) => startBatch(context, batch),
    'job.list': () => jobs.list(),
    'job.cancel': ({ id }) => jobs.cancel(id),
    'job.retry': ({ id }) => jobs.retry(id),
    'job.move': ({ id, before }) => jobs.move(id, before),
    'job.promise': ({ id, promisedOn }) => jobs.promise(id, promisedOn),
    'job.pause': ({ paused }) => {
      setSettings(library.db, { handoffsPaused: paused })
      context.hub.changed('settings')
      jobs.pauseChanged()
      return { paused }
    },
    'job.clear': () => jobs.clear(),
  }
}
