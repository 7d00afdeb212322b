import { z } from 'zod'
import { imagePointSchema, markSchema } from '../markup/mark.ts'
import { pointNames, positionNames, scaleSources, type PointName, type PositionName, type ScaleSource } from './pointsFile.ts'

/**
 * What the coach, or the program, has placed on a clip to measure by. All of it is records of one table with ids that say
 * what they are: there is one landmark of a name on a frame, one position of a name on a clip, one guide of a name.
 */
export const placedBySchema = z.enum(['coach', 'program'])

const tick = z.number().int()

/** A point of the points file on one frame. */
export const landmarkSchema = z.object({
  kind: z.literal('landmark'),
  id: z.string().min(1),
  clipId: z.string().min(1),
  /** The frame's own tick. */
  tick,
  point: z.enum(pointNames),
  /** Image space; the mean where it was placed more than once. */
  at: imagePointSchema,
  /** One standard deviation in x and in y, pixels; null: as well as the coach clicks. */
  sigmaPx: z.number().positive().nullable(),
  /** How often the coach has placed it, each time without looking at the last. */
  placed: z.number().int().min(1),
  by: placedBySchema,
})
export type LandmarkRecord = Readonly<z.infer<typeof landmarkSchema>>

/** A position of the swing on one clip. */
export const positionRecordSchema = z.object({
  kind: z.literal('position'),
  id: z.string().min(1),
  clipId: z.string().min(1),
  name: z.enum(positionNames),
  tick,
  /** Whether it is the frame of this tick, or falls somewhere between that frame and the next. */
  falls: z.enum(['on', 'between']),
  /** One standard deviation, seconds of the world; null: as near as the frames stand. */
  sigmaS: z.number().min(0).nullable(),
  by: placedBySchema,
})
export type PositionRecord = Readonly<z.infer<typeof positionRecordSchema>>

/**
 * What a guide's two points are. `ball`: opposite edges of the ball at address. `known`: two points on the measured plane,
 * `metres` apart.
 */
export const guideNames = ['plumb', 'horizon', 'targetLine', 'stanceLine', 'ball', 'known'] as const
export type GuideName = (typeof guideNames)[number]

export const guideSchema = z.object({
  kind: z.literal('guide'),
  id: z.string().min(1),
  clipId: z.string().min(1),
  name: z.enum(guideNames),
  ends: z.tuple([imagePointSchema, imagePointSchema]).readonly(),
  /** How far apart the ends are in the world; of `known` alone. */
  metres: z.number().positive({ error: 'must be greater than 0: a length of nothing gives no scale' }).max(20).nullable(),
  by: placedBySchema,
})
export type GuideRecord = Readonly<z.infer<typeof guideSchema>>

/** A rectangle of known size on the ground, such as a mat: its corners in order around it. */
export const matSchema = z.object({
  kind: z.literal('mat'),
  id: z.string().min(1),
  clipId: z.string().min(1),
  corners: z.tuple([imagePointSchema, imagePointSchema, imagePointSchema, imagePointSchema]).readonly(),
  /** From the first corner to the second, and from the second to the third. */
  lengthM: z.number().positive({ error: 'must be greater than 0: a side of nothing gives no scale' }).max(20),
  widthM: z.number().positive({ error: 'must be greater than 0: a side of nothing gives no scale' }).max(20),
  by: placedBySchema,
})
export type MatRecord = Readonly<z.infer<typeof matSchema>>

/** When the club is heard to meet the ball, put back by the sound's way to the camera. */
export const heardSchema = z.object({
  kind: z.literal('heard'),
  id: z.string().min(1),
  clipId: z.string().min(1),
  /** Ticks of the clip, between frames as a rule. */
  at: z.number(),
  /** One standard deviation, seconds of the world. */
  sigmaS: z.number().positive(),
  by: placedBySchema,
})
export type HeardRecord = Readonly<z.infer<typeof heardSchema>>

/** Something of known size that is not to be used for the scale of a clip. */
export const leftOutSchema = z.object({
  kind: z.literal('left-out'),
  id: z.string().min(1),
  clipId: z.string().min(1),
  source: z.enum(scaleSources),
  by: placedBySchema,
})
export type LeftOutRecord = Readonly<z.infer<typeof leftOutSchema>>

export const digitisedSchema = z.discriminatedUnion('kind', [landmarkSchema, positionRecordSchema, guideSchema, matSchema, heardSchema, leftOutSchema])
export type Digitised = LandmarkRecord | PositionRecord | GuideRecord | MatRecord | HeardRecord | LeftOutRecord
export type DigitisedTable = Readonly<Record<string, Digitised>>

export const landmarkId = (clipId: string, at: number, point: PointName): string => `${clipId}/${at}/${point}`
export const positionId = (clipId: string, name: PositionName): string => `${clipId}/position/${name}`
export const guideId = (clipId: string, name: GuideName): string => `${clipId}/guide/${name}`

export const matId = (clipId: string): string => `${clipId}/mat`
export const heardId = (clipId: string): string => `${clipId}/heard`
export const leftOutId = (clipId: string, source: ScaleSource): string => `${clipId}/left-out/${source}`

/** The id that a record must have, so that there is one of each. */
export function idOf(record: Digitised): string {
  switch (record.kind) {
    case 'landmark': return landmarkId(record.clipId, record.tick, record.point)
    case 'position': return positionId(record.clipId, record.name)
    case 'guide': return guideId(record.clipId, record.name)
    case 'mat': return matId(record.clipId)
    case 'heard': return heardId(record.clipId)
    case 'left-out': return leftOutId(record.clipId, record.source)
  }
}

/**
 * How far the coach's clicks scatter: the sum of squares about their means of all repeated placings, and its degrees of
 * freedom. Pixels of a picture 1920 long, so that clips of all sizes teach one hand.
 */
export const clickErrorSchema = z.object({ squares: z.number().min(0), freedom: z.number().int().min(0) })
export type ClickError = Readonly<z.infer<typeof clickErrorSchema>>

/** Marks of one way of coaching under a name, to be laid on any clip: as they lay on the clip they were taken from. */
export const markSetSchema = z.object({
  id: z.string().min(1),
  name: z.string().trim().min(1, { error: 'a set needs a name' }).max(80),
  /** The picture they were drawn on, pixels. */
  width: z.number().positive(),
  height: z.number().positive(),
  handedness: z.enum(['right', 'left']),
  /** The points of the frame that they were drawn on: what a new clip's points are fitted to. */
  points: z.partialRecord(z.enum(pointNames), imagePointSchema),
  marks: z.array(markSchema.safeExtend({ span: z.null() })).min(1, { error: 'a set needs a mark at least' }).max(200),
})
export type MarkSet = Readonly<z.infer<typeof markSetSchema>>
