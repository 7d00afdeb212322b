import { z } from 'zod'
import { handednessSchema } from './clip.ts'
import { repeatabilitySchema } from './repeatability.ts'

/** Who agreed to what, for how long. Dates are ISO days (2026-05-01). */
export const consentSchema = z.object({
  /** The student's own agreement. */
  student: z.object({ given: z.boolean(), on: z.string().nullable() }),
  /** A parent's or guardian's; needed for a minor. */
  guardian: z.object({ given: z.boolean(), name: z.string(), on: z.string().nullable() }),
  purpose: z.string(),
  /** The last day it holds, or null for no end. */
  until: z.string().nullable(),
})
export type Consent = z.infer<typeof consentSchema>

export const studentSchema = z.object({
  id: z.string(),
  name: z.string().min(1).max(120),
  handedness: handednessSchema,
  statureM: z.number().min(0.8).max(2.4).nullable(),
  clubs: z.array(z.object({ kind: z.string().min(1), lengthM: z.number().min(0.45).max(1.3).nullable() })),
  goals: z.string(),
  ballFlight: z.string(),
  injuries: z.string(),
  minor: z.boolean(),
  consent: consentSchema,
  createdAt: z.number().int(),
  /** How far the swing comes back to the same place; set by `repeatability.set` alone. Left out or null: nobody has said. */
  repeatability: repeatabilitySchema.nullable().optional(),
})
export type Student = z.infer<typeof studentSchema>

/** Why nothing of this student may be handed off on a day (ISO), in one sentence; null where it may. */
export function consentGap(student: Pick<Student, 'name' | 'minor' | 'consent'>, today: string): string | null {
  const { student: own, guardian, until } = student.consent
  if (until !== null && until < today) return `${student.name}'s consent ended on ${until}: renew it before handing anything off.`
  if (!student.minor) return null
  if (!own.given) return `${student.name} is a minor and the child's own consent is not recorded.`
  if (!guardian.given || guardian.name.trim() === '') return `${student.name} is a minor and a parent's consent is not recorded.`
  return null
}

/** What came in together: the student's own question and feel go with it. */
export const deliverySchema = z.object({
  id: z.string(),
  studentId: z.string().nullable(),
  question: z.string(),
  feel: z.string(),
  receivedAt: z.number().int(),
})
export type Delivery = z.infer<typeof deliverySchema>

/** One filmed swing, or two filmed one after the other and looked at as a pair. */
export const swingSchema = z.object({
  id: z.string(),
  studentId: z.string().nullable(),
  deliveryId: z.string().nullable(),
  title: z.string(),
  leftClipId: z.string().nullable(),
  rightClipId: z.string().nullable(),
  /** one-swing: two cameras saw the same swing. two-swings: the clips show different swings. */
  pairing: z.enum(['one-swing', 'two-swings']),
  tie: z.object({ left: z.number(), right: z.number() }).nullable(),
  createdAt: z.number().int(),
})
export type Swing = z.infer<typeof swingSchema>
