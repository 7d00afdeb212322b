import { z } from 'zod'
import { faultSchema } from './errors.ts'

export const jobSchema = z.object({
  id: z.string(),
  kind: z.enum(['take-in', 'handoff', 'demo', 'bundle', 'unbundle', 'pack']),
  /** What it is about, in a few words for the list. */
  title: z.string(),
  state: z.enum(['waiting', 'running', 'done', 'failed', 'cancelled']),
  /** 0 to 1. */
  progress: z.number().min(0).max(1),
  /** What it does right now, in words. */
  step: z.string(),
  /** Seconds to go as far as can be told, or null. */
  secondsLeft: z.number().nullable(),
  /** What came of it: a clip's id, a file's path. */
  result: z.string().nullable(),
  fault: faultSchema.nullable(),
  /** The day (ISO) that it is promised for; what is promised sooner is done sooner. */
  promisedOn: z.string().nullable(),
  /** How often it was tried by itself and failed. */
  tries: z.number().int(),
  /** When it tries again by itself, milliseconds since 1970, or null. */
  retryAt: z.number().int().nullable(),
  createdAt: z.number().int(),
})
export type Job = z.infer<typeof jobSchema>
