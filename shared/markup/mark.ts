import { z } from 'zod'
import type { ImagePoint } from '../geometry/vec.ts'
import { figureSchema, missesSchema } from './figure.ts'

/** [x, y] in image space: finite numbers, outside the picture allowed (a line may run past its edge). */
export const imagePointSchema = z.tuple([z.number(), z.number()]).readonly() as unknown as z.ZodType<ImagePoint, ImagePoint>

/** What shapes there are and how many points each is made of. */
export const shapes = {
  /** Through both points, on to the picture's edges. */
  line: { least: 2, most: 2 },
  segment: { least: 2, most: 2 },
  /** Tail, head. */
  arrow: { least: 2, most: 2 },
  /** Two opposite corners. */
  box: { least: 2, most: 2 },
  /** Centre, a point of the rim. */
  circle: { least: 2, most: 2 },
  dot: { least: 1, most: 1 },
  /** One arm's end, vertex, other arm's end. */
  angle: { least: 3, most: 3 },
  polyline: { least: 2, most: 500 },
  freehand: { least: 2, most: 5000 },
  /** Top left corner of the words. */
  text: { least: 1, most: 1 },
  /** A shaft as reconstructed in space: its hands end and its head end, then the head end one standard deviation either way. */
  fan: { least: 4, most: 4 },
  /** Two opposite corners of a plate with the view from above; its numbers are the mark's reading. */
  plan: { least: 2, most: 2 },
  /** Thorax, arms and club laid over the picture: the joints of one to three poses, as `figureJoints` lists them; the rest is the mark's figure. */
  arms: { least: 10, most: 30 },
  /** Two opposite corners of a plate with the arms as the room shows them, and of one with a fan of misses. */
  figure: { least: 2, most: 2 },
  misses: { least: 2, most: 2 },
} as const
export type Shape = keyof typeof shapes
export const shapeSchema = z.enum(Object.keys(shapes) as [Shape, ...Shape[]])

/** What the coach means by a mark; the shape and the ink follow from it, and later what it measures. */
export const meanings = {
  'head-box': { shape: 'box', ink: 'head', name: 'Head box' },
  'body-line': { shape: 'segment', ink: 'body', name: 'Body line' },
  'shaft-line': { shape: 'line', ink: 'club', name: 'Shaft line' },
  'elbow-line': { shape: 'line', ink: 'trail', name: 'Elbow line' },
  'arm-level': { shape: 'segment', ink: 'lead', name: 'Arm level' },
  'turn-centre': { shape: 'circle', ink: 'body', name: 'Turn centre' },
  path: { shape: 'freehand', ink: 'club', name: 'Path' },
  /** Along the club's face on a sharp frame, from the heel to the toe. */
  'face-line': { shape: 'segment', ink: 'club', name: 'Face line' },
} as const satisfies Record<string, { shape: Shape; ink: Ink; name: string }>
export type Meaning = keyof typeof meanings
export const meaningSchema = z.enum(Object.keys(meanings) as [Meaning, ...Meaning[]])

export const inks = ['plain', 'lead', 'trail', 'club', 'reference', 'head', 'body'] as const
export type Ink = (typeof inks)[number]
export const inkSchema = z.enum(inks)

/** When a mark shows, in its clip's ticks, both ends included: a frame has from = to; null is the whole clip. */
export const spanSchema = z.object({ from: z.number().int(), to: z.number().int() }).nullable()
export type Span = z.infer<typeof spanSchema>

const known = z.object({ value: z.number(), sigma: z.number().min(0) }).readonly()

/** What a mark tells in numbers: the shaft at the top, degrees, with one standard deviation each. */
export const readingSchema = z
  .object({
    /** Where the shaft points seen from above: 0 along the target line, positive across it, toward the ball's side. */
    azimuth: known,
    /** The same once it is carried to level; null where that cannot be had. */
    atLevel: known.nullable(),
    /** Positive short of level, negative past it. */
    short: known.nullable(),
    /** In words for the student. */
    verdict: z.string().max(200),
    basis: z.string().max(2000),
    /** Which side of the target line the ball is drawn on. */
    handedness: z.enum(['right', 'left']),
  })
  .readonly()
export type MarkReading = z.infer<typeof readingSchema>

export const markSchema = z
  .object({
    id: z.string().min(1),
    clipId: z.string().min(1),
    shape: shapeSchema,
    meaning: meaningSchema.nullable(),
    points: z.array(imagePointSchema),
    /** The words of a text mark; a caption for the others. */
    text: z.string().max(2000),
    span: spanSchema,
    ink: inkSchema,
    /** Stroke in thousandths of the drawn picture's short side, so that it looks the same at every size. */
    weight: z.number().min(1).max(30),
    dashed: z.boolean(),
    hidden: z.boolean(),
    /** Order of drawing, lowest first. */
    order: z.number(),
    /** Left out is null, and stays left out: a record from before marks had readings is written back as it was read. */
    reading: readingSchema.nullable().optional(),
    /** Of arms and figures, and of misses: as with a reading, left out stays left out. */
    figure: figureSchema.optional(),
    misses: missesSchema.optional(),
  })
  .refine((mark) => mark.points.length >= shapes[mark.shape].least && mark.points.length <= shapes[mark.shape].most, {
    message: 'the number of points does not fit the shape',
    path: ['points'],
  })
export type Mark = Readonly<z.infer<typeof markSchema>>
export type Marks = Readonly<Record<string, Mark>>

/** Whether the mark shows while the frame that begins at this tick is on the screen. */
export const showsAt = (mark: Mark, tick: number): boolean =>
  !mark.hidden && (mark.span === null || (tick >= mark.span.from && tick <= mark.span.to))

/** The marks of one clip that show at a tick, in the order of drawing. */
export function marksAt(marks: Marks, clipId: string, tick: number): Mark[] {
  return Object.values(marks)
    .filter((mark) => mark.clipId === clipId && showsAt(mark, tick))
    .sort((a, b) => a.order - b.order || (a.id < b.id ? -1 : 1))
}
