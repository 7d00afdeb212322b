import { z } from 'zod'
import { viewNames } from './pointsFile.ts'
import { cardToSaveSchema, drillCardSchema, prescriptionSchema, prescriptionToSaveSchema } from './drill.ts'
import { findingOrderSchema, findingSchema, findingsOfSchema } from './finding.ts'
import { jobSchema } from './job.ts'
import { packSchema, phraseKinds, phraseSchema, planRecordSchema } from './plan.ts'

const none = z.object({})
const byId = z.object({ id: z.string() })
const byLesson = z.object({ walkthroughId: z.string() })

/** Inputs and outputs of the operations on findings, drills, phrases and plans, by their names. */
export const findingShapes = {
  /** The cause first, then what follows, then what is kept aside. */
  list: { input: findingsOfSchema, output: z.array(findingSchema) },
  /** Puts a finding on disk, new or changed: by its id. */
  save: { input: findingSchema.omit({ createdAt: true }), output: findingSchema },
  remove: { input: byId, output: none },
  arrange: { input: findingOrderSchema, output: none },
} as const

export const drillShapes = {
  list: { input: none, output: z.array(drillCardSchema) },
  /** Saves a card of the coach's own; under a starter card's id it stands in that card's place. */
  save: { input: cardToSaveSchema, output: drillCardSchema },
  /** Takes a card of the coach's own away; a starter card is then as it came. What was prescribed of it stays. */
  remove: { input: byId, output: none },
} as const

export const prescriptionShapes = {
  /** All of a student's, the newest first; or those of one lesson in their order. */
  list: { input: z.union([z.object({ studentId: z.string() }), byLesson]), output: z.array(prescriptionSchema) },
  save: { input: prescriptionToSaveSchema, output: prescriptionSchema },
  remove: { input: byId, output: none },
} as const

export const phraseShapes = {
  /** Sentences of a kind that fit what was typed, the best first; all of them, the most used first, where nothing was. */
  search: { input: z.object({ kind: z.enum(phraseKinds), words: z.string().max(600), most: z.number().int().min(1).max(50) }), output: z.array(phraseSchema) },
  keep: { input: z.object({ kind: z.enum(phraseKinds), text: phraseSchema.shape.text }), output: none },
  forget: { input: byId, output: none },
} as const

export const planShapes = {
  get: {
    input: byLesson,
    output: z.object({
      plan: planRecordSchema,
      /** What a plan worth sending still lacks, a sentence each. */
      gaps: z.array(z.string()),
      /** Why nothing of this lesson may be handed over today, or null. */
      barred: z.string().nullable(),
      /** What the places of the cameras advise for the next film. */
      advice: z.array(z.object({ view: z.enum(viewNames), sentences: z.array(z.string()) })),
    }),
  },
  save: { input: planRecordSchema, output: planRecordSchema },
  /** Takes over another lesson's sentences, views and drills; what this one has already stays. */
  startFrom: { input: byLesson.extend({ from: z.string() }), output: planRecordSchema },
  /** Queues putting video, page, printed plan and pictures together in one folder or zip with a manifest; the job's result is the pack's id. */
  pack: {
    input: byLesson.extend({
      kind: z.enum(['folder', 'zip']),
      title: z.string().trim().min(1, { error: 'a title is needed' }).max(120),
      /** A finished hand-off of this lesson, or null for none. */
      videoId: z.string().nullable(),
      demonstrations: z.boolean(),
      /** Full path to write; null for the library's own hand-off folder. */
      to: z.string().nullable(),
    }),
    output: jobSchema,
  },
  packs: { input: byLesson, output: z.array(packSchema) },
} as const
