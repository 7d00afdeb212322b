import { z } from 'zod'

/**
 * What the marks of the arms and of the flight carry, so that a replay draws them without solving anything: places, numbers
 * with their errors, and words.
 */

const known = z.object({ value: z.number(), sigma: z.number().min(0) }).readonly()
const handed = z.enum(['right', 'left'])
const words = z.string().max(2000)

/** The joints of a figure of thorax, arms and club, in the order in which places are listed. */
export const figureJoints = [
  'leadShoulder', 'trailShoulder', 'trailHip', 'leadHip', 'leadElbow', 'trailElbow', 'leadWrist', 'trailWrist', 'butt', 'clubhead',
] as const
export type FigureJoint = (typeof figureJoints)[number]

/** What is drawn as one piece. */
export const figureParts = ['thorax', 'leadArm', 'trailArm', 'club'] as const
export type FigurePart = (typeof figureParts)[number]

export const poseKinds = ['reference', 'filmed', 'wanted', 'sketch'] as const
export type PoseKind = (typeof poseKinds)[number]

const poseSchema = z
  .object({
    /** As it was filmed, as it is wanted, another swing's, or a body that nobody filmed. */
    kind: z.enum(poseKinds),
    /** Far ones first, as seen from where it is drawn. */
    order: z.array(z.enum(figureParts)).length(figureParts.length).readonly(),
    /** Joints at the end of their range. */
    atLimit: z.array(z.enum(figureJoints)).readonly(),
    /** Places in the plate's own square, 0 to 1, y down; null where the mark's points are the places. */
    joints: z.array(z.tuple([z.number(), z.number()]).readonly()).length(figureJoints.length).readonly().nullable(),
  })
  .readonly()
export type FigurePose = z.infer<typeof poseSchema>

/** What a mark was made from, so that it can be told when that has changed, and made again. */
const figureFromSchema = z
  .object({
    /** Of the fit (or the sketch); nothing but the same fit gives the same. */
    fit: z.string().max(80),
    /** Where the wanted elbow stands on its arc, degrees; null where none is wanted. */
    swivelDeg: z.number().nullable(),
    /** The swing whose arms lie behind. */
    ghost: z.string().nullable(),
    /** Whence a plate's figure is looked at: turn and rise, radians; null over the student's own picture. */
    eye: z.tuple([z.number(), z.number()]).readonly().nullable(),
  })
  .readonly()
export type FigureFrom = z.infer<typeof figureFromSchema>

export const figureUnits = ['deg', 'cm'] as const
const rowSchema = z.object({ name: z.string().max(60), unit: z.enum(figureUnits), filmed: known.nullable(), wanted: known.nullable() }).readonly()
export type FigureRow = z.infer<typeof rowSchema>

/** Poses of one body, drawn in this order, with the numbers that belong to them. */
export const figureSchema = z
  .object({
    poses: z.array(poseSchema).min(1).max(3).readonly(),
    /** From where it is seen, in words; null in the student's own picture. */
    seen: z.string().max(60).nullable(),
    rows: z.array(rowSchema).max(6).readonly(),
    /** In words for the student. */
    verdict: z.string().max(200),
    /** What is at its limit, a phrase each. */
    limits: z.array(z.string().max(120)).max(8).readonly(),
    basis: words,
    handedness: handed,
    /** Missing in what an older program put there: it is then taken to be of an earlier fit. */
    from: figureFromSchema.optional(),
  })
  .readonly()
export type Figure = z.infer<typeof figureSchema>

const sideSchema = z.object({ share: z.number().min(0).max(1), typical: z.number().min(0) }).readonly()

/** Where the balls of many swings start and how far off they are at a distance; positive to the push side. */
export const missesSchema = z
  .object({
    distance: z.number().positive(),
    unit: z.enum(['yd', 'm']),
    /** Start directions, degrees, one a swing. */
    starts: z.array(z.number().min(-89).max(89)).min(1).max(400).readonly(),
    start: known,
    /** One standard deviation of the starts about their middle, and how well it is known. */
    startSpread: known,
    missSpread: known,
    pull: sideSchema,
    push: sideSchema,
    verdict: z.string().max(200),
    basis: words,
    handedness: handed,
    /** Of what was said of face, path and timing. */
    from: z.string().max(80).optional(),
  })
  .readonly()
export type Misses = z.infer<typeof missesSchema>
