import { randomUUID } from 'node:crypto'
import { mkdirSync, readFileSync, rmSync } from 'node:fs'
import { basename, join } from 'node:path'
import { getClip, updateClip } from '../library/clips.ts'
import { applyDigitised, listDigitised } from '../library/digitised.ts'
import type { StoredJob } from '../library/jobs.ts'
import { addDelivery, listStudents, saveStudent } from '../library/students.ts'
import { noteClips } from '../library/shelf.ts'
import { listSwings, saveSwing } from '../library/swings.ts'
import type { Student } from '../../shared/contract/student.ts'
import type { Clip } from '../../shared/contract/clip.ts'
import type { ClipTruth, DemoClip, DemoKit, DemoStudent } from './demo/kit.ts'
import { demoPoints } from './demoPoints.ts'
import type { KitEngine } from './engines.ts'
import type { Finished, Running, Work } from './jobRunner.ts'
import { takeInFile, workFolderName, type TakeInParts } from './takeInJob.ts'

/** What stands as the purpose in the consent of a student of the demo; it also tells them from others. */
export const demoPurpose = 'The demo: nobody real was filmed.'

/** Share of the whole that filming the kit takes. */
const filming = 0.75

/** Makes the demo kit and takes it in: students, clips, tied swings, the points of each clip. Done twice, it finds what is there and adds nothing. */
export function demoWork(parts: () => TakeInParts, kit: KitEngine): Work {
  return {
    // Filming and taking in want the same cores.
    lane: 'take-in',
    async run(job: StoredJob, { signal, report }: Running): Promise<Finished> {
      const desk = parts()
      const work = join(desk.library.layout.incoming, workFolderName(job.id))
      rmSync(work, { recursive: true, force: true })
      mkdirSync(work)
      try {
        const made = await kit(work, { signal, onProgress: ({ share, step }) => report(share * filming, step) })
        const clips = new Map<string, Clip>()
        for (const [i, clip] of made.clips.entries()) {
          const student = studentFor(
            desk,
            made.students.find(({ id }) => id === clip.studentId)!,
          )
          const begin = filming + (i / made.clips.length) * (1 - filming)
          const taken = await takeInKitClip(desk, clip, student, {
            signal,
            report: (share, step) =>
              report(begin + (share / made.clips.length) * (1 - filming), `${basename(clip.path)}: ${step.toLowerCase()}`),
          })
          clips.set(clip.id, taken)
          placePoints(desk, clip, taken)
        }
        for (const pair of made.pairs) addSwing(desk, made, pair, clips)
        desk.hub.changed('students', 'deliveries', 'clips', 'swings', 'digitising')
        return { result: null, step: 'The demo students are in the library' }
      } finally {
        rmSync(work, { recursive: true, force: true })
      }
    },
  }
}

function studentFor({ library, hub, now }: TakeInParts, demo: DemoStudent): Student {
  // A real student of the same name is none of the demo's.
  const known = listStudents(library.db).find(({ name, consent }) => name === demo.name && consent.purpose === demoPurpose)
  if (known) return known
  const student: Student = {
    id: randomUUID(),
    name: demo.name,
    handedness: demo.handedness,
    statureM: demo.statureM,
    clubs: [{ ...demo.club }],
    goals: demo.about,
    ballFlight: '',
    injuries: '',
    minor: false,
    consent: { student: { given: true, on: null }, guardian: { given: false, name: '', on: null }, purpose: demoPurpose, until: null },
    createdAt: now(),
  }
  saveStudent(library.db, student)
  hub.changed('students')
  return student
}

async function takeInKitClip(desk: TakeInParts, clip: DemoClip, student: Student, running: Running): Promise<Clip> {
  const { clip: taken } = await takeInFile(
    desk,
    `${workFolderName(clip.id)}-clip`,
    {
      source: { path: clip.path },
      // As for any clip: the file's own tag says so, where it plays slower than it was filmed.
      captureRate: null,
      clip: { studentId: student.id, deliveryId: null, view: clip.view, club: student.clubs[0]?.kind ?? '', handedness: clip.handedness },
    },
    running,
  )
  return taken
}

/** What the kit knows of a clip, so that every room has something to show; what has been placed on it since stays as it is. */
function placePoints({ library: { db } }: TakeInParts, made: DemoClip, taken: Clip): void {
  if (listDigitised(db, [taken.id]).length > 0) return
  const truth = JSON.parse(readFileSync(made.truthPath, 'utf8')) as ClipTruth
  applyDigitised(db, { added: Object.fromEntries(demoPoints(truth, taken).map((record) => [record.id, record])), updated: {}, removed: {} })
}

function addSwing({ library, now }: TakeInParts, kit: DemoKit, pair: DemoKit['pairs'][number], clips: ReadonlyMap<string, Clip>): void {
  const parts = pair.clipIds.map((id) => ({
    made: kit.clips.find((clip) => clip.id === id)!,
    taken: getClip(library.db, clips.get(id)!.id)!,
  }))
  const left = parts.find(({ made }) => made.view === 'face-on')
  const right = parts.find(({ made }) => made.view === 'down-the-line')
  if (!left || !right || listSwings(library.db).some(({ leftClipId }) => leftClipId === left.taken.id)) return
  // Both are tied where the ball is struck: the one instant that two swings share as well.
  const tickOf = ({ made, taken }: (typeof parts)[number]): number | null => {
    const impact = made.events.impact
    return impact ? taken.frames.ticks[0]! + Math.round((impact.tick / made.timescale) * taken.frames.timescale) : null
  }
  const [leftTick, rightTick] = [tickOf(left), tickOf(right)]
  const { studentId } = left.taken
  const student = kit.students.find(({ id }) => id === pair.studentId)!
  // Nobody sent the reference swing, so nobody waits for an answer to it.
  const delivery = student.role === 'reference' ? null : { id: randomUUID(), studentId, question: student.question, feel: student.feel, receivedAt: now() }
  library.db
    .transaction(() => {
      if (delivery) {
        addDelivery(library.db, delivery, 'none')
        for (const { taken } of parts) updateClip(library.db, taken.id, { deliveryId: delivery.id })
      }
      saveSwing(library.db, {
        id: randomUUID(),
        studentId,
        deliveryId: delivery?.id ?? null,
        title: student.role === 'reference' ? 'Reference' : student.club.kind,
        leftClipId: left.taken.id,
        rightClipId: right.taken.id,
        pairing: pair.sameSwing ? 'one-swing' : 'two-swings',
        tie: leftTick === null || rightTick === null ? null : { left: leftTick, right: rightTick },
        createdAt: now(),
      })
      if (student.role === 'reference')
        noteClips(library.db, parts.map(({ taken }) => taken.id), { reference: true, permission: 'may-be-sent', source: 'Filmed by Crossbearing for its demo', licence: 'Free for any use' })
    })
    .immediate()
}
