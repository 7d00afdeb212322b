import { z } from 'zod'
import { markSchema } from '../markup/mark.ts'
import { recordsDiffSchema } from '../markup/diff.ts'
import { logHeaderSchema, logRowSchema } from '../walkthrough/log.ts'
import { soundCleaningSchema } from '../walkthrough/edits.ts'
import { editChangeSchema } from '../walkthrough/editSteps.ts'
import { clipSchema, handednessSchema, viewSchema } from './clip.ts'
import { arrivalShapes, clipListSchema, clipSummarySchema, footprintSchema, idsSchema, removedSchema, walkthroughPageShape } from './lists.ts'
import { comparisonShapes } from './comparison.ts'
import { clickErrorSchema, digitisedSchema, markSetSchema } from './digitising.ts'
import { faultSchema } from './errors.ts'
import { faceShapes } from './faceInput.ts'
import { jobSchema } from './job.ts'
import { captionSchema } from '../walkthrough/captions.ts'
import { cleanedSoundSchema, lessonSchema, takePlaceSchema } from './lesson.ts'
import { bundleShapes } from './bundle.ts'
import { planSettingsSchema } from './plan.ts'
import { drillShapes, findingShapes, phraseShapes, planShapes, prescriptionShapes } from './planOperations.ts'
import { repeatabilityShapes } from './repeatability.ts'
import { collectionShapes, shelfShapes } from './shelf.ts'
import { deliverySchema, studentSchema, swingSchema } from './student.ts'
import { handoffSchema, handoffSettingsSchema, walkthroughSchema } from './walkthrough.ts'

/** One thing that a window, a terminal or a test may ask of the desk. Errors come as DeskError with a fault of a known kind. */
export interface Operation<I extends z.ZodType, O extends z.ZodType> {
  readonly input: I
  readonly output: O
}
const operation = <I extends z.ZodType, O extends z.ZodType>(input: I, output: O): Operation<I, O> => ({ input, output })

const none = z.object({})
const byId = z.object({ id: z.string() })
const bytes = z.instanceof(Uint8Array) as unknown as z.ZodType<Uint8Array, Uint8Array>

/**
 * Where the bytes of a file to take in are: a path on this machine (dropped on a desktop window, or named in a terminal),
 * or what was staged through the host (a browser window has no paths).
 */
export const sourceSchema = z.union([z.object({ path: z.string() }), z.object({ staged: z.string(), fileName: z.string() })])

export const takeInItemSchema = z.object({
  source: sourceSchema,
  view: viewSchema.nullable(),
  /** Overrules the tag and the file's own rate. */
  captureRate: z.number().positive().nullable(),
})

export const batchSchema = z.object({
  studentId: z.string().nullable(),
  club: z.string(),
  handedness: handednessSchema.nullable(),
  question: z.string(),
  feel: z.string(),
  /** Pair a face-on clip with the down-the-line clip that came with it. */
  pair: z.enum(['one-swing', 'two-swings', 'none']),
  items: z.array(takeInItemSchema).min(1),
})
export type Batch = z.infer<typeof batchSchema>

export const libraryInfoSchema = z.object({
  folder: z.string(),
  schemaVersion: z.number().int(),
  students: z.number().int(),
  clips: z.number().int(),
  walkthroughs: z.number().int(),
  bytes: z.number().int(),
  empty: z.boolean(),
})

const folderSchema = z.object({ name: z.string(), path: z.string() })
export const folderListSchema = z.object({
  path: z.string(),
  /** The folder above; null at the root of a disk. */
  parent: z.string().nullable(),
  folders: z.array(folderSchema),
  /** Where to set out from: the user's own folders and other disks. */
  places: z.array(folderSchema),
})

/** The program's settings, each with a default; a coach's own choices. */
export const settingsSchema = z.object({
  theme: z.enum(['dark', 'light']),
  palette: z.enum(['at-pointer', 'docked']),
  inputDevice: z.string(),
  countInSeconds: z.number().int().min(0).max(10),
  /** How far the coach's clicks scatter, from points placed several times. */
  clickError: clickErrorSchema,
  handoff: handoffSettingsSchema.omit({ title: true }),
  /** No video is being made until this is false again. */
  handoffsPaused: z.boolean(),
  /** What every plan says of the coach. */
  plan: planSettingsSchema,
})
export type Settings = z.infer<typeof settingsSchema>

export const operations = {
  'library.info': operation(none, libraryInfoSchema),
  /** Copies the whole library to a new folder or file that does not exist yet. */
  'library.backup': operation(z.object({ to: z.string() }), z.object({ path: z.string(), bytes: z.number() })),
  /** Brings a backup back as a library of its own in a folder that does not exist yet or is empty; the open library stays as it is. */
  'library.restore': operation(z.object({ from: z.string(), to: z.string() }), z.object({ path: z.string(), bytes: z.number() })),
  /** Looks for rows without files, files without rows, broken references; media hashes too where deep. */
  'library.check': operation(z.object({ deep: z.boolean() }), z.object({ sound: z.boolean(), findings: z.array(z.string()), swept: z.array(z.string()) })),
  /** The folders inside a folder (null: the user's own), for a window that has no chooser of the system's; hidden ones left out. */
  'folder.list': operation(z.object({ path: z.string().nullable() }), folderListSchema),
  'settings.get': operation(none, settingsSchema),
  'settings.set': operation(settingsSchema.partial(), settingsSchema),

  'student.list': operation(none, z.array(studentSchema)),
  'student.save': operation(studentSchema.omit({ id: true, createdAt: true, repeatability: true }).extend({ id: z.string().nullable() }), studentSchema),
  /** Deletes everything of a student: clips, swings, marks, walkthroughs, hand-offs, files nobody else uses. */
  'student.remove': operation(byId, removedSchema),
  /** What `student.remove` would take away. */
  'student.footprint': operation(byId, footprintSchema),
  'repeatability.set': operation(repeatabilityShapes.set.input, repeatabilityShapes.set.output),
  'repeatability.fromSwings': operation(repeatabilityShapes.fromSwings.input, repeatabilityShapes.fromSwings.output),
  'delivery.list': operation(none, z.array(deliverySchema)),
  /** Records by id, in the order asked; those that are not there any more are left out. So are `clip.some`, `swing.some`, `walkthrough.some`. */
  'delivery.some': operation(idsSchema, z.array(deliverySchema)),
  'delivery.save': operation(deliverySchema, deliverySchema),

  'arrival.page': operation(arrivalShapes.page.input, arrivalShapes.page.output),
  'arrival.students': operation(arrivalShapes.students.input, arrivalShapes.students.output),

  /** What file names tell: view, a student's name, handedness. */
  'takeIn.guess': operation(z.object({ fileNames: z.array(z.string()) }), z.array(z.object({ view: viewSchema.nullable(), studentId: z.string().nullable(), studentName: z.string().nullable() }))),
  /** Starts one job a file; answers at once. */
  'takeIn.start': operation(batchSchema, z.object({ deliveryId: z.string(), jobs: z.array(jobSchema) })),
  'job.list': operation(none, z.array(jobSchema)),
  'job.cancel': operation(byId, jobSchema),
  'job.retry': operation(byId, jobSchema),
  /** Puts waiting work before another that waits in the same line; null: behind all. */
  'job.move': operation(byId.extend({ before: z.string().nullable() }), z.array(jobSchema)),
  /** Promises a video for another day (null: for none) while it is not made yet; what waits takes its new turn. */
  'job.promise': operation(byId.extend({ promisedOn: z.iso.date().nullable() }), jobSchema),
  /** Stops making videos until it is taken up again; what runs goes on from there. */
  'job.pause': operation(z.object({ paused: z.boolean() }), z.object({ paused: z.boolean() })),
  /** Forgets finished, failed and cancelled jobs. */
  'job.clear': operation(none, z.array(jobSchema)),

  'clip.list': operation(clipListSchema, z.array(clipSummarySchema)),
  'clip.some': operation(idsSchema, z.array(clipSummarySchema)),
  'clip.get': operation(byId, clipSchema),
  /** A capture rate is the coach's own where it is not said whose it is. */
  'clip.update': operation(byId.extend({ patch: clipSchema.pick({ studentId: true, view: true, club: true, handedness: true, mirrored: true, captureRate: true, captureRateBasis: true, note: true }).partial() }), clipSchema),
  'clip.remove': operation(byId, removedSchema),
  /** What removing these would take away. */
  'clip.footprint': operation(idsSchema, footprintSchema),

  /** Newest first. */
  'swing.list': operation(z.object({ limit: z.number().int().min(0).optional() }), z.array(swingSchema)),
  'swing.some': operation(idsSchema, z.array(swingSchema)),
  /** All that any of these clips is part of. */
  'swing.ofClips': operation(idsSchema, z.array(swingSchema)),
  'swing.save': operation(swingSchema.omit({ id: true, createdAt: true }).extend({ id: z.string().nullable() }), swingSchema),
  'swing.remove': operation(byId, removedSchema),

  /** All marks of some clips. */
  'marks.list': operation(z.object({ clipIds: z.array(z.string()) }), z.array(markSchema)),
  /** Puts a change to the marks on disk. */
  'marks.apply': operation(z.object({ diff: recordsDiffSchema(markSchema) }), z.object({ saved: z.number().int() })),

  /** All that was placed on some clips to measure by. */
  'digitising.list': operation(z.object({ clipIds: z.array(z.string()) }), z.array(digitisedSchema)),
  /** Puts a change to it on disk; one that leaves a point off its picture or positions out of order is refused whole. */
  'digitising.apply': operation(z.object({ diff: recordsDiffSchema(digitisedSchema) }), z.object({ saved: z.number().int() })),
  'markSet.list': operation(none, z.array(markSetSchema)),
  /** A set of the same name gives way to it. */
  'markSet.save': operation(markSetSchema.extend({ id: z.string().nullable() }), markSetSchema),
  'markSet.remove': operation(byId, none),

  'walkthrough.begin': operation(z.object({ swingId: z.string().nullable(), studentId: z.string().nullable(), title: z.string(), sampleRate: z.number().int(), header: logHeaderSchema, /** For a recording that is to be put into a lesson. */ takeOf: z.object({ lessonId: z.string(), place: takePlaceSchema }).optional() }), walkthroughSchema),
  /**
   * Appends sound (mono 16-bit little-endian PCM) and rows; both are on the disk when this answers. `at` is the number of samples
   * before this piece: a piece that was already written is recognised and not written twice.
   */
  'walkthrough.append': operation(byId.extend({ at: z.number().int().min(0), sound: bytes, rows: z.array(logRowSchema) }), z.object({ samples: z.number().int() })),
  'walkthrough.finish': operation(byId, walkthroughSchema),
  'walkthrough.list': operation(none, z.array(walkthroughSchema)),
  'walkthrough.page': operation(walkthroughPageShape.input, walkthroughPageShape.output),
  'walkthrough.some': operation(idsSchema, z.array(walkthroughSchema)),
  /** Those that were recorded to be put into this one. */
  'walkthrough.takes': operation(byId, z.array(walkthroughSchema)),
  /** The log as text; parseLog reads it. The sound is at mediaUrl('walkthrough', id). */
  'walkthrough.log': operation(byId, z.object({ text: z.string() })),
  'walkthrough.rename': operation(byId.extend({ title: z.string().min(1) }), walkthroughSchema),
  'walkthrough.remove': operation(byId, removedSchema),

  /** A walkthrough with what was edited of it; a lesson's id is its first recording's. */
  'lesson.get': operation(byId, lessonSchema),
  /** Makes one step, on disk when this answers. Refused where the lesson is not at `version` any more. */
  'lesson.apply': operation(byId.extend({ version: z.number().int().min(0), name: z.string().min(1).max(120), change: editChangeSchema }), lessonSchema),
  /** Goes to the state after step `to` (0: untouched): back undoes, on does again. */
  'lesson.step': operation(byId.extend({ version: z.number().int().min(0), to: z.number().int().min(0) }), lessonSchema),
  /** How the cleaned copy of a recording's sound stands; begins to make it where it is not there. `lessons` changes when it is done. */
  'lesson.sound': operation(z.object({ takeId: z.string(), cleaning: soundCleaningSchema }), cleanedSoundSchema),

  /** Queues a render; refused with `no-consent` where a minor in it lacks consent, with `may-not-be-sent` where a swing in it is for lessons only. */
  'handoff.start': operation(z.object({ walkthroughId: z.string(), settings: handoffSettingsSchema, /** Full path to write; null for the library's own hand-off folder. */ to: z.string().nullable(), /** The day that it is promised for. */ promisedOn: z.iso.date().nullable().optional() }), z.object({ handoff: handoffSchema, job: jobSchema })),
  /** Takes a video off the list: one that is finished with its file or without, one that came to nothing as it is. Refused while it is being made. */
  'handoff.remove': operation(byId.extend({ file: z.enum(['keep', 'delete']) }), z.object({ deleted: z.boolean() })),
  'handoff.list': operation(z.object({ walkthroughId: z.string().optional() }), z.array(handoffSchema)),

  /** A lesson's captions, in times of the lesson as it is edited now; they go with what is said under them. */
  'captions.get': operation(byId, z.object({ captions: z.array(captionSchema) })),
  'captions.set': operation(byId.extend({ captions: z.array(captionSchema).max(5000) }), z.object({ captions: z.array(captionSchema) })),
  /** Takes over a WebVTT file in the place of what was there; one that cannot be read is refused whole, with the line. */
  'captions.import': operation(byId.extend({ name: z.string(), text: z.string().max(5_000_000) }), z.object({ captions: z.array(captionSchema) })),
  /** As a WebVTT file. */
  'captions.text': operation(byId, z.object({ text: z.string() })),

  /** What stood beside a swing on the Bench last. */
  'comparison.kept': operation(comparisonShapes.kept.input, comparisonShapes.kept.output),
  'comparison.keep': operation(comparisonShapes.keep.input, comparisonShapes.keep.output),

  'face.kept': operation(faceShapes.kept.input, faceShapes.kept.output),
  'face.keep': operation(faceShapes.keep.input, faceShapes.keep.output),

  /** One page of what stands on the Shelf, found as one types. */
  'shelf.search': operation(shelfShapes.search.input, shelfShapes.search.output),
  'shelf.get': operation(shelfShapes.get.input, shelfShapes.get.output),
  /** The keys of all that a search finds, in its order. */
  'shelf.keys': operation(shelfShapes.keys.input, shelfShapes.keys.output),
  'shelf.words': operation(shelfShapes.words.input, shelfShapes.words.output),
  /** Writes what the coach notes of swings: favourite, reference, what they may be used for, where they came from. */
  'shelf.note': operation(shelfShapes.note.input, shelfShapes.note.output),
  'shelf.tag': operation(shelfShapes.tag.input, shelfShapes.tag.output),
  /** The swings of a walkthrough that may not be sent, and why; a hand-off of it is refused with `may-not-be-sent`. */
  'shelf.gaps': operation(shelfShapes.gaps.input, shelfShapes.gaps.output),
  /** Writes a swing to one file (SWING_BUNDLE.md); answers with the job. Refused with `no-consent` as a hand-off is. */
  'shelf.bundle': operation(bundleShapes.bundle, jobSchema),
  /** Brings such a file in; answers with the job, whose result is a clip's id. */
  'shelf.unbundle': operation(z.object({ source: sourceSchema }), jobSchema),
  'collection.list': operation(collectionShapes.list.input, collectionShapes.list.output),
  'collection.save': operation(collectionShapes.save.input, collectionShapes.save.output),
  /** Takes a collection away, not the swings in it; answers with what is needed to make it again. */
  'collection.remove': operation(collectionShapes.remove.input, collectionShapes.remove.output),
  'collection.put': operation(collectionShapes.put.input, collectionShapes.put.output),

  'finding.list': operation(findingShapes.list.input, findingShapes.list.output),
  'finding.save': operation(findingShapes.save.input, findingShapes.save.output),
  'finding.remove': operation(findingShapes.remove.input, findingShapes.remove.output),
  'finding.arrange': operation(findingShapes.arrange.input, findingShapes.arrange.output),
  'drill.list': operation(drillShapes.list.input, drillShapes.list.output),
  'drill.save': operation(drillShapes.save.input, drillShapes.save.output),
  'drill.remove': operation(drillShapes.remove.input, drillShapes.remove.output),
  'prescription.list': operation(prescriptionShapes.list.input, prescriptionShapes.list.output),
  'prescription.save': operation(prescriptionShapes.save.input, prescriptionShapes.save.output),
  'prescription.remove': operation(prescriptionShapes.remove.input, prescriptionShapes.remove.output),
  'phrase.search': operation(phraseShapes.search.input, phraseShapes.search.output),
  'phrase.keep': operation(phraseShapes.keep.input, phraseShapes.keep.output),
  'phrase.forget': operation(phraseShapes.forget.input, phraseShapes.forget.output),
  'plan.get': operation(planShapes.get.input, planShapes.get.output),
  'plan.save': operation(planShapes.save.input, planShapes.save.output),
  'plan.startFrom': operation(planShapes.startFrom.input, planShapes.startFrom.output),
  /** Refused like a hand-off: `no-consent`, `may-not-be-sent`. */
  'plan.pack': operation(planShapes.pack.input, planShapes.pack.output),
  'plan.packs': operation(planShapes.packs.input, planShapes.packs.output),

  /** Makes the demo kit and takes it in: students, clips, swings. Answers with the job. */
  'demo.install': operation(none, jobSchema),
} as const

export type Operations = typeof operations
export type OperationName = keyof Operations
export type Input<N extends OperationName> = z.input<Operations[N]['input']>
export type Output<N extends OperationName> = z.output<Operations[N]['output']>

/** The desk as its callers see it. Every host gives this and nothing else. */
export interface Desk {
  call<N extends OperationName>(name: N, input: Input<N>): Promise<Output<N>>
  /** Hears of changes until the returned function is called. */
  listen(heard: (event: DeskEvent) => void): () => void
}

/** What the desk tells of itself. */
export const deskEventSchema = z.discriminatedUnion('type', [
  z.object({ type: z.literal('job'), job: jobSchema }),
  /** Something of this kind has changed; ask again. */
  z.object({ type: z.literal('changed'), what: z.enum(['students', 'deliveries', 'clips', 'swings', 'marks', 'walkthroughs', 'handoffs', 'settings', 'jobs', 'digitising', 'markSets', 'lessons', 'shelf', 'collections', 'findings', 'drills', 'prescriptions', 'phrases', 'plans']) }),
  z.object({ type: z.literal('fault'), fault: faultSchema }),
])
export type DeskEvent = z.infer<typeof deskEventSchema>

/**
 * What the desk serves as bytes, by GET with Range, under one root that each host has its own address for:
 *
 * | path                              | what                                                                   |
 * | --------------------------------- | ---------------------------------------------------------------------- |
 * | `review/CLIP.mp4`                 | the review copy                                                        |
 * | `poster/CLIP.jpg`                 | a still, long side 640                                                 |
 * | `strip/CLIP.jpg`                  | the filmstrip: small frames side by side                               |
 * | `strip/CLIP.json`                 | `{ frames: number[], width, height }` of one small frame               |
 * | `envelope/CLIP.json`              | `{ perSecond, peaks: number[] }` of the sound, or 404                  |
 * | `frame/CLIP/INDEX`                | one frame of the original, I420; headers x-width, x-height, x-range    |
 * | `walkthrough/ID.wav`              | the sound of a walkthrough                                             |
 * | `lesson/ID/VERSION.wav`            | the sound of a lesson as it is edited; `VERSION-recorded.wav`: not cleaned |
 * | `cleaned/ID/KEY.wav`               | a cleaned copy of it; the path is what `lesson.sound` answers           |
 * | `handoff/ID.mp4`                  | a finished hand-off                                                    |
 * | `finding/ID.jpg`                  | a finding's picture                                                    |
 * | `plan/WALKTHROUGH.html`, `.pdf`   | a lesson's plan; 403 where nothing of it may be handed over            |
 * | `plan-preview/WALKTHROUGH.html`   | the same for a frame of the window                                     |
 * | `pack/ID.zip`                     | what was put together for a student                                    |
 */
export type MediaPath = string
