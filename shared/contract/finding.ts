import { z } from 'zod'
import { imagePointSchema, markSchema } from '../markup/mark.ts'
import { paneIdSchema } from '../walkthrough/stage.ts'
import { positionNames, viewNames } from './pointsFile.ts'

/**
 * What a finding is to the lesson: the one cause that is worth changing, what follows from it, or something kept aside that
 * does not go to the student. Of the findings of a lesson one at most is the cause.
 */
export const findingRoles = ['cause', 'follows', 'aside'] as const
export type FindingRole = (typeof findingRoles)[number]

export const numberUnits = ['deg', 'mm', 's', 'ratio', 'share', 'deg/s', 'px'] as const

/** A measured number as it stood when the finding was made, with its error and what it rests on. */
export const findingNumberSchema = z.object({
  /** What was measured, in words. */
  title: z.string().min(1).max(120),
  view: z.enum(viewNames).nullable(),
  value: z.number(),
  unit: z.enum(numberUnits),
  /** One standard deviation, in the unit. */
  sigma: z.number().min(0),
  /** The 68 % interval. */
  lo: z.number(),
  hi: z.number(),
  basis: z.string().max(2000),
})
export type FindingNumber = Readonly<z.infer<typeof findingNumberSchema>>

/** What a finding was made from, so that asking again brings it up to date instead of making another. */
export const findingSourceSchema = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('measure'), id: z.string(), view: z.enum(viewNames).nullable(), at: z.string() }),
  z.object({ kind: z.literal('mark'), id: z.string() }),
  z.object({ kind: z.literal('frame'), tick: z.number().int() }),
])
export type FindingSource = Readonly<z.infer<typeof findingSourceSchema>>

/** One frame of a clip with the marks that stood on it: all that `picture/` needs to draw it again. */
const framedSchema = z.object({
  tick: z.number().int(),
  /** As it stood in the pane; 1 and null show the whole picture. */
  zoom: z.number().min(1).max(40),
  centre: imagePointSchema.nullable(),
  mirror: z.boolean(),
  marks: z.array(markSchema).max(200),
})
export type Framed = Readonly<z.infer<typeof framedSchema>>

/** A frame of the finding's clip and, where the swing was seen from two sides, the other view of the same instant. */
export const findingPictureSchema = framedSchema.extend({
  /** Left out or null where one view stood alone. `pane` is the one it stood in; `shown` whether the coach wants it in the picture. */
  beside: framedSchema.extend({ clipId: z.string().min(1), pane: paneIdSchema, shown: z.boolean() }).nullish(),
})
export type FindingPicture = Readonly<z.infer<typeof findingPictureSchema>>

export const findingSchema = z.object({
  id: z.uuid(),
  clipId: z.string().min(1),
  swingId: z.string().nullable(),
  at: z.enum([...positionNames, 'swing']).nullable(),
  /** What is seen, in the coach's words. */
  saw: z.string().max(600),
  number: findingNumberSchema.nullable(),
  source: findingSourceSchema,
  picture: findingPictureSchema,
  /** Whether the picture goes onto the plan, where there is room for it. */
  shown: z.boolean(),
  role: z.enum(findingRoles),
  /** Among those of the same role, lowest first. */
  order: z.number(),
  createdAt: z.number().int(),
})
export type Finding = Readonly<z.infer<typeof findingSchema>>

/** Whose findings are asked for: those on a walkthrough's clips, or on clips that are named. */
export const findingsOfSchema = z.union([z.object({ walkthroughId: z.string() }), z.object({ clipIds: z.array(z.string()).max(50) })])

/** A new order: all of the findings that it names, each once. */
export const findingOrderSchema = z
  .object({ cause: z.string().nullable(), follows: z.array(z.string()), aside: z.array(z.string()) })
  .refine(({ cause, follows, aside }) => {
    const ids = [...(cause === null ? [] : [cause]), ...follows, ...aside]
    return new Set(ids).size === ids.length
  }, { error: 'a finding has one place' })
export type FindingOrder = Readonly<z.infer<typeof findingOrderSchema>>
