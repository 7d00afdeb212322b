import { z } from 'zod'
import { viewNames } from './pointsFile.ts'

/** What the coach's plans say of the coach, and on what they are printed; set once, in the library's settings. */
export const planSettingsSchema = z.object({
  /** As it stands at the head of the page; empty for none. */
  name: z.string().max(80),
  /** How to reach the coach: a line each. */
  lines: z.array(z.string().max(80)).max(3),
  paper: z.enum(['a4', 'letter']),
})
export type PlanSettings = Readonly<z.infer<typeof planSettingsSchema>>

/** How the student is named on the page: nothing identifying but what the coach chose. */
export const planNames = ['first-name', 'full-name', 'none'] as const

/** What the coach has decided for one lesson's plan; all the rest follows from findings, drills and what was measured. */
export const planRecordSchema = z.object({
  walkthroughId: z.string().min(1),
  /** The cause in one sentence to the student; empty: the words of the finding that is the cause. */
  cause: z.string().max(400),
  /** How the cause makes what follows. */
  because: z.string().max(600),
  named: z.enum(planNames),
  /** Which views to film next. */
  filmViews: z.array(z.enum(viewNames)).max(2),
  /** The coach's own words on how to film; empty: what the places of the cameras advise. */
  filmWords: z.string().max(600),
  /** The day by which the next film is wanted (ISO), or null. */
  filmBy: z.iso.date().nullable(),
})
export type PlanRecord = Readonly<z.infer<typeof planRecordSchema>>

export const newPlan = (walkthroughId: string): PlanRecord =>
  ({ walkthroughId, cause: '', because: '', named: 'first-name', filmViews: ['face-on', 'down-the-line'], filmWords: '', filmBy: null })

/** One file of what is handed over. */
export const packFileSchema = z.object({
  /** Its place in the folder or zip, with forward slashes. */
  path: z.string(),
  what: z.enum(['video', 'plan-pdf', 'plan-page', 'picture', 'demonstration']),
  /** In words, for whoever opens the folder. */
  words: z.string(),
  bytes: z.number().int(),
  sha256: z.string().regex(/^[0-9a-f]{64}$/),
})
export type PackFile = Readonly<z.infer<typeof packFileSchema>>

/** manifest.json of a folder or zip: all that is in it but the manifest itself. */
export const manifestSchema = z.object({
  format: z.literal('crossbearing-handoff'),
  version: z.literal(1),
  title: z.string(),
  /** The day it was made (ISO). */
  made: z.iso.date(),
  files: z.array(packFileSchema),
})
export type Manifest = Readonly<z.infer<typeof manifestSchema>>

/** What was put together for a student: a folder or a zip. */
export const packSchema = z.object({
  id: z.string(),
  walkthroughId: z.string(),
  kind: z.enum(['folder', 'zip']),
  /** Where it lies on this machine. */
  path: z.string(),
  bytes: z.number().int(),
  files: z.array(packFileSchema),
  createdAt: z.number().int(),
})
export type Pack = Readonly<z.infer<typeof packSchema>>

/** What kind of sentence a phrase is: only like is offered for like. */
export const phraseKinds = ['saw', 'cause', 'because', 'film', 'note'] as const
export type PhraseKind = (typeof phraseKinds)[number]

export const phraseSchema = z.object({
  /** Null for a sentence that was used before but not kept by the coach. */
  id: z.string().nullable(),
  kind: z.enum(phraseKinds),
  text: z.string().trim().min(1).max(600),
  /** How often it stands in the library. */
  used: z.number().int().min(0),
})
export type Phrase = Readonly<z.infer<typeof phraseSchema>>
