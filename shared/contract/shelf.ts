import { z } from 'zod'
import { handednessSchema, viewSchema } from './clip.ts'

/**
 * What a swing may be used for. `lessons-only`: the coach may look at it and show it, but nothing that holds it may be handed
 * off. `not-said`: a student's own clip; the student's consent alone decides, and no other student gets it.
 */
export const permissionSchema = z.enum(['not-said', 'lessons-only', 'may-be-sent'])
export type Permission = z.infer<typeof permissionSchema>

export const tagSchema = z.string().trim().min(1, { error: 'a tag needs a word' }).max(60).regex(/^[^"]*$/u, { error: 'a tag has no quotation marks' })

/** What the coach notes of a swing on the Shelf. */
export const shelfNotesSchema = z.object({
  favourite: z.boolean(),
  /** Stands as a model for others. */
  reference: z.boolean(),
  permission: permissionSchema,
  /** Where it came from, in the coach's words. */
  source: z.string().max(2000),
  /** The licence or the agreement under which it may be used. */
  licence: z.string().max(2000),
})

/** A swing on the Shelf: its one or two clips, or a clip that belongs to no swing. */
export const shelfItemSchema = shelfNotesSchema.extend({
  /** The swing's id, or the clip's. */
  key: z.string(),
  swingId: z.string().nullable(),
  clips: z.array(z.object({ id: z.string(), view: viewSchema, mirrored: z.boolean().optional(), fileName: z.string(), seconds: z.number(), captureRate: z.number(), width: z.number(), height: z.number() })).min(1).max(2),
  title: z.string(),
  studentId: z.string().nullable(),
  student: z.string(),
  club: z.string(),
  handedness: handednessSchema,
  /** When it was filmed as far as the phone says, else when it was taken in; milliseconds since 1970. */
  date: z.number().int(),
  note: z.string(),
  question: z.string(),
  feel: z.string(),
  tags: z.array(z.string()),
  /** Ids of the collections it is in. */
  collections: z.array(z.string()),
})
export type ShelfItem = z.infer<typeof shelfItemSchema>

export const shelfOrderSchema = z.enum(['newest', 'oldest', 'best'])
export type ShelfOrder = z.infer<typeof shelfOrderSchema>

export const shelfSearchSchema = z.object({
  /** As it is typed; see shared/shelf/query.ts. */
  text: z.string().max(2000),
  order: shelfOrderSchema,
  offset: z.number().int().min(0),
  limit: z.number().int().min(0).max(200),
})

export const shelfPageSchema = z.object({
  /** How many there are in all. */
  total: z.number().int(),
  items: z.array(shelfItemSchema),
  /** In which order they came: the best first only where there are few enough to weigh them all. */
  order: shelfOrderSchema,
  /** Words that nothing holds, and the nearest ones, which were looked for instead. */
  corrected: z.array(z.object({ from: z.string(), to: z.string() })),
})
export type ShelfPage = z.infer<typeof shelfPageSchema>

export const collectionSchema = z.object({ id: z.string(), name: z.string().trim().min(1, { error: 'a collection needs a name' }).max(80), count: z.number().int() })
export type Collection = z.infer<typeof collectionSchema>

/** What can be put after a field's name, the most used first. */
export const shelfWordsSchema = z.object({ tags: z.array(z.string()), clubs: z.array(z.string()), students: z.array(z.string()), total: z.number().int() })

const keys = z.array(z.string()).min(1).max(10_000)

/** Inputs and outputs of the Shelf's operations, by their names. */
export const shelfShapes = {
  search: { input: shelfSearchSchema, output: shelfPageSchema },
  get: { input: z.object({ keys: z.array(z.string()).max(10_000) }), output: z.array(shelfItemSchema) },
  keys: { input: shelfSearchSchema.pick({ text: true, order: true }).extend({ most: z.number().int().min(1).max(10_000) }), output: z.array(z.string()) },
  words: { input: z.object({}), output: shelfWordsSchema },
  note: { input: z.object({ keys, patch: shelfNotesSchema.partial() }), output: z.array(shelfItemSchema) },
  tag: { input: z.object({ keys, add: z.array(tagSchema).max(50), remove: z.array(z.string()).max(50) }), output: z.array(shelfItemSchema) },
  gaps: { input: z.object({ walkthroughId: z.string() }), output: z.array(z.object({ key: z.string(), why: z.string() })) },
} as const
export const collectionShapes = {
  list: { input: z.object({}), output: z.array(collectionSchema) },
  save: { input: z.object({ id: z.string().nullable(), name: collectionSchema.shape.name }), output: collectionSchema },
  remove: { input: z.object({ id: z.string() }), output: z.object({ name: z.string(), keys: z.array(z.string()) }) },
  put: { input: z.object({ id: z.string(), keys, on: z.boolean() }), output: collectionSchema },
} as const

/**
 * Why something that holds this swing may not be sent, in one sentence; null where it may.
 * @param isOthers the swing is of another student than whom the lesson is for: then leave must have been recorded
 */
export function permissionGap({ permission, name }: { readonly permission: Permission; readonly name: string }, isOthers = false): string | null {
  if (isOthers && permission === 'not-said') return `${name} is another student's swing, and nothing on the Shelf says that it may be shown to others, so nothing that shows it may be handed off.`
  return permission === 'lessons-only' ? `${name} is marked on the Shelf as for your lessons only, so nothing that shows it may be handed off.` : null
}
