import { z } from 'zod'
import { clipSchema } from './clip.ts'
import { deliverySchema, swingSchema } from './student.ts'
import { walkthroughSchema } from './walkthrough.ts'

/** A clip without its frame index: what lists show. */
export const clipSummarySchema = clipSchema.omit({ frames: true }).extend({ frameCount: z.number().int(), seconds: z.number() })
export type ClipSummary = z.infer<typeof clipSummarySchema>

/** So many records may be asked for by id at once. */
export const mostIds = 2000
export const idsSchema = z.object({ ids: z.array(z.string()).max(mostIds) })

const pageSchema = { offset: z.number().int().min(0), limit: z.number().int().min(0).max(200) }

/** What one student sent together, with all its clips and the swings that any of them is part of. */
export const arrivalSchema = z.object({
  studentId: z.string().nullable(),
  delivery: deliverySchema.nullable(),
  receivedAt: z.number().int(),
  /** When the first hand-off about it was finished, or null. */
  answeredAt: z.number().int().nullable(),
  /** Whether a student waits for an answer. Clips that no delivery brought, such as a reference swing's, wait for none. */
  waits: z.boolean(),
  clips: z.array(clipSummarySchema),
  swings: z.array(swingSchema),
})

export const arrivalFilterSchema = z.object({
  studentId: z.string().nullable(),
  /** Words that must all be found in the student, the question, the feel, a file's name, a club, a view or a note. */
  text: z.string().max(2000),
  show: z.enum(['waiting', 'all']),
})
export type ArrivalFilter = z.infer<typeof arrivalFilterSchema>

export const arrivalShapes = {
  /** Those who wait first, the longest wait on top; below them what was answered or waits for no answer, the newest on top. */
  page: { input: arrivalFilterSchema.extend(pageSchema), output: z.object({ total: z.number().int(), items: z.array(arrivalSchema) }) },
  /** Everybody, who waits longest first, then by name: since when they wait, whether they ever sent anything, how many clips are theirs. */
  students: { input: z.object({}), output: z.array(z.object({ studentId: z.string(), waitsSince: z.number().int().nullable(), answered: z.boolean(), clips: z.number().int() })) },
} as const

/** Which clips a list is wanted of, the newest first: of one student (null: of none), or of all others than one. */
export const clipListSchema = z.object({ studentId: z.string().nullable().optional(), otherThan: z.string().nullable().optional(), limit: z.number().int().min(0).optional() })

/** One page of the lessons, the newest first; recordings under way and those made to be put into another lesson are left out. */
export const walkthroughPageShape = {
  input: z.object({
    /** Words that must all be found in the title or the student's name. */
    text: z.string().max(500),
    /** Only this student's (null: of none); left out: all. */
    studentId: z.string().nullable().optional(),
    ...pageSchema,
    limit: z.number().int().min(0).max(2000),
  }),
  output: z.object({ total: z.number().int(), items: z.array(walkthroughSchema) }),
} as const

/** What one step of deletion took away, or would. */
export const removedSchema = z.object({
  students: z.number(), clips: z.number(), swings: z.number(), marks: z.number(),
  /** Points, positions and guides placed to measure by. */
  points: z.number(),
  findings: z.number(), prescriptions: z.number(), plans: z.number(),
  walkthroughs: z.number(),
  /** Walkthroughs that were edited. */
  lessons: z.number(),
  handoffs: z.number(), files: z.array(z.string()),
})

/** What would go, for the coach to read before it does; nothing is deleted by asking. */
export const footprintSchema = removedSchema.omit({ files: true }).extend({
  pairings: z.number().int(),
  deliveries: z.number().int(),
  /** Of the clips that would go. */
  bytes: z.number().int(),
  /** Names of the clips' files, the first of them; `clips` says how many there are. */
  fileNames: z.array(z.string()),
  /** Titles of the walkthroughs, the first of them. */
  titles: z.array(z.string()),
  /** Where finished videos lie on this machine, the first of them. */
  videos: z.array(z.string()),
})
export type Footprint = z.infer<typeof footprintSchema>
