import { z } from 'zod'
import { editsSchema } from '../walkthrough/edits.ts'
import { walkthroughSchema } from './walkthrough.ts'

/** Where a new recording is to be put into a lesson: in place of a span (an empty one: there), samples at 48,000 a second. */
export const takePlaceSchema = z.object({ from: z.number().int().min(0), to: z.number().int().min(0) }).refine(({ from, to }) => from <= to, { message: 'a place must not end before it begins' })
export type TakePlace = Readonly<z.infer<typeof takePlaceSchema>>

export const lessonTakeSchema = walkthroughSchema.extend({
  /** Recorded to be put into this lesson; else another lesson's, shown in part. The first recording is the lesson's own. */
  own: z.boolean(),
  place: takePlaceSchema.nullable(),
})
export type LessonTake = Readonly<z.infer<typeof lessonTakeSchema>>

export const editStepSchema = z.object({ number: z.number().int().positive(), name: z.string(), madeAt: z.number().int() })
export type EditStep = Readonly<z.infer<typeof editStepSchema>>

/** A walkthrough with what was edited of it; its id is its first recording's. */
export const lessonSchema = z.object({
  id: z.string(),
  edits: editsSchema,
  /** Counts every change, undoing too: what a change must name, so that two windows cannot overwrite each other. */
  version: z.number().int().min(0),
  /** How many of the steps are done; those after it were undone and can be done again. */
  step: z.number().int().min(0),
  steps: z.array(editStepSchema),
  /** The first recording, then the others in the order in which they came. */
  takes: z.array(lessonTakeSchema),
})
export type Lesson = Readonly<z.infer<typeof lessonSchema>>

export const cleanedSoundSchema = z.object({
  state: z.enum(['ready', 'making', 'failed']),
  /** 0 to 1, while it is being made. */
  share: z.number(),
  /** Path of the contract's MediaPath table, once it is ready. */
  media: z.string().nullable(),
  /** Frequency of the mains hum that was found and taken out, hertz; null where there is none. */
  humHz: z.number().nullable(),
  /** Level while nobody speaks, before and after, dB of full scale; null until it is known. */
  noiseDb: z.tuple([z.number(), z.number()]).nullable(),
  fault: z.string().nullable(),
})
export type CleanedSound = Readonly<z.infer<typeof cleanedSoundSchema>>
