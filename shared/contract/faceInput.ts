import { z } from 'zod'

/** A number and one standard deviation of it. */
const knownSchema = z.object({ value: z.number(), sigma: z.number().min(0) }).strict().readonly()

/** What the coach says of face, path and timing of a swing; nothing of it is measured unless a face line was taken over. Degrees unless said. */
export const faceInputSchema = z
  .object({
    face: knownSchema,
    path: knownSchema,
    /** Whose k: the measured range's middle, a common practice's, or the coach's own. */
    shareOf: z.enum(['measured', 'driver', 'irons', 'own']),
    share: knownSchema,
    /** Degrees a second. */
    closureRate: knownSchema,
    closureBasis: z.string().max(400),
    /** Milliseconds. */
    timingMs: knownSchema,
    faceScatter: z.number().min(0),
    pathScatter: z.number().min(0),
    distance: z.number().positive(),
    unit: z.enum(['yd', 'm']),
    loft: knownSchema,
    attack: knownSchema,
    /** Another rate of closure to set beside it, degrees a second. */
    otherRate: z.number().min(0),
  })
  .strict()
  .readonly()
export type FaceInput = z.infer<typeof faceInputSchema>

/** The operations on them. */
export const faceShapes = {
  /** Of those kept with any of these clips the one kept last; null for none. */
  kept: { input: z.object({ clipIds: z.array(z.string()).max(2) }), output: z.object({ input: faceInputSchema.nullable() }) },
  /** Keeps it with each clip of a swing in place of what was kept there, or with null forgets it; clips that have gone are passed over. */
  keep: { input: z.object({ clipIds: z.array(z.string()).min(1).max(2), input: faceInputSchema.nullable() }), output: z.object({ kept: z.number().int() }) },
} as const
