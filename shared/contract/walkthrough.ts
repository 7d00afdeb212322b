import { z } from 'zod'

export const walkthroughSchema = z.object({
  id: z.string(),
  swingId: z.string().nullable(),
  studentId: z.string().nullable(),
  title: z.string(),
  /** Milliseconds of sound. */
  durationMs: z.number(),
  sampleRate: z.number().int().positive(),
  state: z.enum(['recording', 'whole', 'recovered']),
  createdAt: z.number().int(),
  /** The lesson that it was recorded to be put into; null or left out for one that is a lesson's first recording. */
  takeOf: z.string().nullable().optional(),
})
export type Walkthrough = z.infer<typeof walkthroughSchema>

export const handoffSettingsSchema = z.object({
  size: z.enum(['1080p', '720p']),
  orientation: z.enum(['landscape', 'portrait']),
  fps: z.union([z.literal(30), z.literal(60)]),
  title: z.string().max(120),
  /** The most that the file may take, megabytes of a million bytes; none where its size does not matter. */
  sizeGoalMb: z.number().min(1).max(100_000).nullable().optional(),
  /** Whether the lesson's captions go into the file, for players to switch on. */
  captions: z.boolean().optional(),
})
export type HandoffSettings = z.infer<typeof handoffSettingsSchema>

export const handoffSchema = z.object({
  id: z.string(),
  walkthroughId: z.string(),
  jobId: z.string(),
  settings: handoffSettingsSchema,
  /** Where the finished file lies on this machine, or null while it is not finished. */
  path: z.string().nullable(),
  bytes: z.number().int().nullable(),
  createdAt: z.number().int(),
})
export type Handoff = z.infer<typeof handoffSchema>

/** Above this number of x264's quality (higher is coarser) movement looks smeared; common practice, no source. */
export const coarseCrf = 30

/** Pixels of the picture for a hand-off. */
export function handoffSize({ size, orientation }: Pick<HandoffSettings, 'size' | 'orientation'>): { width: number; height: number } {
  const [long, short] = size === '1080p' ? [1920, 1080] : [1280, 720]
  return orientation === 'landscape' ? { width: long, height: short } : { width: short, height: long }
}
