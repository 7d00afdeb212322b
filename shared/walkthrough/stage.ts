import { z } from 'zod'
import { clipSchema } from '../contract/clip.ts'
import { imagePointSchema, markSchema } from '../markup/mark.ts'
import { clampTick, playheadAfter, throughTie, type ClipTime } from './motion.ts'
import { referenceFrameAt } from './phaseTie.ts'
import { referenceSchema, type Reference } from './reference.ts'

/** What the log needs to know of a clip to be replayed without the library. */
export const stageClipSchema = clipSchema.pick({
  id: true, view: true, handedness: true, mirrored: true, width: true, height: true, frames: true, captureRate: true, playRate: true,
})
export type StageClip = Readonly<z.infer<typeof stageClipSchema>>
export type StageClips = Readonly<Record<string, StageClip>>

export const paneIdSchema = z.union([z.literal(0), z.literal(1)])
export type PaneId = z.infer<typeof paneIdSchema>

export const paneSchema = z.object({
  clipId: z.string().nullable(),
  /** Playhead, in the clip's ticks; what is shown is the frame that this lies in. */
  tick: z.number(),
  /** 1 fits the whole picture into the pane. */
  zoom: z.number().min(1).max(40),
  /** The point of the picture in the pane's middle; null is the picture's own middle. */
  centre: imagePointSchema.nullable(),
  mirror: z.boolean(),
})
export type Pane = Readonly<z.infer<typeof paneSchema>>

export const movingSchema = z.union([z.literal('both'), paneIdSchema])

/** The panes on the move: where each would be is a function of the time alone. */
export const motionSchema = z.object({
  /** Times the speed of the world. */
  rate: z.number(),
  /** Ticks from which each pane set out. */
  from: z.tuple([z.number(), z.number()]).readonly(),
  moving: movingSchema,
  /** A span that repeats, in ticks of the pane that leads (the moving one; of two the first that has a clip). */
  loop: z.object({ from: z.number(), to: z.number() }).nullable(),
  /** Milliseconds on the log's clock. */
  since: z.number(),
})
export type Motion = Readonly<z.infer<typeof motionSchema>>

export const stageSchema = z.object({
  layout: z.enum(['twin', 'single']),
  /** The pane that commands go to, and the one that a single layout shows. */
  active: paneIdSchema,
  panes: z.tuple([paneSchema, paneSchema]).readonly(),
  tie: z.object({ left: z.number(), right: z.number() }).nullable(),
  motion: motionSchema.nullable(),
  marks: z.record(z.string(), markSchema),
  /** A mark in the making. */
  draft: markSchema.nullable(),
  pointer: z.object({ pane: paneIdSchema, at: imagePointSchema }).nullable(),
  /** What stands beside or over each pane. A log from before there were any has none. */
  references: z.tuple([referenceSchema.nullable(), referenceSchema.nullable()]).readonly().optional(),
})
/** All that is seen at one instant: the state that the log folds to. */
export type Stage = Readonly<z.infer<typeof stageSchema>>

export const emptyPane: Pane = { clipId: null, tick: 0, zoom: 1, centre: null, mirror: false }
export const emptyStage: Stage = {
  layout: 'twin', active: 0, panes: [emptyPane, emptyPane], tie: null, motion: null, marks: {}, draft: null, pointer: null,
}

/** The pane that leads the motion, or null where nothing can move. */
export function leader(stage: Stage, motion: Motion): PaneId | null {
  if (motion.moving !== 'both') return stage.panes[motion.moving].clipId === null ? null : motion.moving
  if (stage.panes[0].clipId !== null) return 0
  return stage.panes[1].clipId !== null ? 1 : null
}

/** Playheads of both panes at a time (milliseconds on the log's clock), motion worked out. */
export function playheads(stage: Stage, clips: Readonly<Record<string, ClipTime>>, at: number): readonly [number, number] {
  const { motion, panes } = stage
  const rest = [panes[0].tick, panes[1].tick] as const
  const lead = motion && leader(stage, motion)
  if (!motion || lead === null) return rest
  const leadClip = clips[panes[lead].clipId!]
  if (!leadClip) return rest
  const seconds = (at - motion.since) / 1000
  const leadTick = playheadAfter(leadClip, motion.from[lead], seconds, motion.rate, motion.loop)
  const other: PaneId = lead === 0 ? 1 : 0
  const otherId = panes[other].clipId
  const otherClip = otherId === null ? undefined : clips[otherId]
  let otherTick = rest[other]
  if (motion.moving === 'both' && otherClip) {
    otherTick = motion.loop
      ? clampTick(otherClip.frames, throughTie(leadClip, otherClip, motion.from[lead], motion.from[other], leadTick))
      : playheadAfter(otherClip, motion.from[other], seconds, motion.rate, null)
  }
  return lead === 0 ? [leadTick, otherTick] : [otherTick, leadTick]
}

/** A pane's reference, or null. */
export const referenceOf = (stage: Pick<Stage, 'references'>, pane: PaneId): Reference | null => stage.references?.[pane] ?? null

/** Every clip that a stage shows, panes first. */
export const clipsShown = (stage: Pick<Stage, 'panes' | 'references'>): readonly string[] =>
  [...new Set([...stage.panes.map(({ clipId }) => clipId), ...(stage.references ?? []).map((reference) => reference?.clipId ?? null)].filter((id) => id !== null))]

/** The frame of a pane's reference that goes with the frame the pane shows at a tick; null where either is missing. */
export function referenceFrame(stage: Pick<Stage, 'panes' | 'references'>, pane: PaneId, clips: StageClips, tick: number = stage.panes[pane].tick): number | null {
  const reference = referenceOf(stage, pane)
  const { clipId } = stage.panes[pane]
  const [own, other] = [clipId === null ? undefined : clips[clipId], reference ? clips[reference.clipId] : undefined]
  return reference && own && other ? referenceFrameAt(reference.tie, own, other, tick) : null
}
