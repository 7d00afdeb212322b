import { z } from 'zod'
import { viewSchema } from './clip.ts'

/** Where a figure comes from. */
export const repeatabilityFromSchema = z.discriminatedUnion('by', [
  z.object({ by: z.literal('coach') }),
  z.object({ by: z.literal('swings'), swings: z.number().int().min(3), /** One standard deviation, metres. */ sigmaM: z.number().positive() }),
])
export type RepeatabilityFrom = Readonly<z.infer<typeof repeatabilityFromSchema>>

/** What a figure may be, metres: a tenth of a centimetre to the length of a forearm. */
export const repeatabilityBounds = { least: 0.001, most: 0.3 } as const

/** How far a point of a student's swing comes back to the same place at the same position, one standard deviation in each direction. */
export const repeatabilitySchema = z.object({
  m: z.number().min(repeatabilityBounds.least, { error: 'must be 0.1 cm at least: no swing comes back exactly' }).max(repeatabilityBounds.most, { error: 'must be 30 cm at most' }),
  from: repeatabilityFromSchema,
})
export type RepeatabilityFigure = Readonly<z.infer<typeof repeatabilitySchema>>

/** What a student's measured clips of one view and club tell of it. */
export const repeatsSchema = z.object({
  view: viewSchema,
  club: z.string(),
  /** How many clips are measured at all. */
  clips: z.number().int(),
  /** How many of them could be set beside one another. */
  swings: z.number().int(),
  /** Metres; null where it cannot be told. */
  m: z.number().positive().nullable(),
  sigmaM: z.number().positive().nullable(),
  /** Why not, in one sentence; null where it is told. */
  why: z.string().nullable(),
})
export type Repeats = Readonly<z.infer<typeof repeatsSchema>>

/** The operations on them. */
export const repeatabilityShapes = {
  /** Sets a student's figure, or with null forgets it. */
  set: { input: z.object({ studentId: z.string(), figure: repeatabilitySchema.nullable() }), output: z.object({ figure: repeatabilitySchema.nullable() }) },
  /** What the student's own clips tell, those of the most swings first. */
  fromSwings: { input: z.object({ studentId: z.string() }), output: z.array(repeatsSchema) },
} as const
