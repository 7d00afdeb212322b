import { z } from 'zod'
import { anchors, sizings } from '../compare/fit.ts'
import { referenceSchema } from '../walkthrough/reference.ts'

/** What stood beside a swing when the coach last looked at it, so that it can be had again. */
export const keptComparisonSchema = z.object({
  reference: z.union([z.object({ swingId: z.string() }).strict(), z.object({ clipId: z.string() }).strict()]),
  /** What it was called then. */
  title: z.string(),
  look: referenceSchema.pick({ look: true, amount: true, aligned: true, picture: true, skeleton: true, shaft: true, traces: true, marked: true }),
  sizeBy: z.enum(sizings),
  alignOn: z.enum(anchors),
  tieBy: z.enum(['positions', 'time']),
  /** By the student's clip, the instants (its tick, the reference's) from which real time runs. */
  pairs: z.record(z.string(), z.tuple([z.number(), z.number()]).readonly()),
})
export type KeptComparison = Readonly<z.infer<typeof keptComparisonSchema>>

/** The operations on them. */
export const comparisonShapes = {
  /** Of those kept with any of these clips the one kept last; null for none. It goes with the reference's clip. */
  kept: { input: z.object({ clipIds: z.array(z.string()).max(2) }), output: z.object({ comparison: keptComparisonSchema.nullable() }) },
  /** Keeps it with each of the student's clips, in place of what was kept there; clips that have gone are passed over. */
  keep: {
    input: z.object({ clips: z.array(z.object({ clipId: z.string(), /** The reference's clip beside it. */ referenceClipId: z.string() })).min(1).max(2), comparison: keptComparisonSchema }),
    output: z.object({ kept: z.number().int() }),
  },
} as const
