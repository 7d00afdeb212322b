import { z } from 'zod'

/** Which part of the swing a drill works on, in the order of the swing. */
export const drillAreas = ['grip', 'set-up', 'takeaway', 'top', 'transition', 'delivery', 'face-control', 'tempo'] as const
export type DrillArea = (typeof drillAreas)[number]

/** Parts of the body that a drill may load. */
export const bodyParts = ['neck', 'shoulder', 'elbow', 'wrist', 'hand', 'back', 'hip', 'knee', 'ankle'] as const
export type BodyPart = (typeof bodyParts)[number]

const some = (what: string) => z.string().trim().min(1, { error: `${what} is needed` })

export const doseSchema = z.object({
  sets: z.number().int().min(1).max(20),
  repetitions: z.number().int().min(1).max(100),
  daysAWeek: z.number().int().min(1).max(7),
})
export type Dose = Readonly<z.infer<typeof doseSchema>>

/** What stands on a card. Lead and trail, never left and right: one card serves both hands. */
export const drillTextSchema = z.object({
  title: some('a title').max(80),
  area: z.enum(drillAreas),
  /** What it changes, in a sentence or two. */
  changes: some('what it changes').max(400),
  /** What has to be at hand, a word or two each; the club is understood. */
  needs: z.array(some('a word').max(60)).max(6),
  /** What to do, a step each. */
  how: z.array(some('a step').max(300)).min(1, { error: 'a step is needed at least' }).max(8),
  /** The feel, in one sentence. */
  feel: some('the feel').max(240),
  dose: doseSchema,
  /** How to film it. */
  film: some('how to film it').max(300),
  mistake: some('the common mistake').max(300),
  loads: z.array(z.enum(bodyParts)).max(bodyParts.length),
  /** How much of the swing it takes: none, the club at slow or part swings, or swings at speed. */
  swing: z.enum(['none', 'slow', 'full']),
})
export type DrillText = Readonly<z.infer<typeof drillTextSchema>>

/** A card in its file: its id is the file's name. */
export const starterCardSchema = drillTextSchema.strict()

export const drillCardSchema = drillTextSchema.extend({
  id: z.string().min(1).max(80),
  /** `starter`: as it came. `own`: written by the coach. `copy`: the coach's own version of a starter card, in its place. */
  origin: z.enum(['starter', 'own', 'copy']),
  /** A clip of the library that demonstrates it. */
  clipId: z.string().nullable(),
})
export type DrillCard = Readonly<z.infer<typeof drillCardSchema>>

export const prescriptionSchema = z.object({
  id: z.uuid(),
  studentId: z.string().nullable(),
  walkthroughId: z.string().nullable(),
  cardId: z.string(),
  /** The card as it was prescribed; it follows the coach's changes of the card until it has been handed over. */
  card: drillTextSchema,
  dose: doseSchema,
  /** A word of the coach's own for this student. */
  note: z.string().max(400),
  /** The day by which the next film is wanted (ISO), or null. */
  filmBy: z.iso.date().nullable(),
  order: z.number(),
  handedOverAt: z.number().int().nullable(),
  createdAt: z.number().int(),
})
export type Prescription = Readonly<z.infer<typeof prescriptionSchema>>

/** Id and texts of a card as the coach saves it; id null makes a new one. */
export const cardToSaveSchema = drillTextSchema.extend({ id: z.string().nullable(), clipId: z.string().nullable() })

export const prescriptionToSaveSchema = prescriptionSchema.pick({ id: true, studentId: true, walkthroughId: true, cardId: true, dose: true, note: true, filmBy: true, order: true })
