import { z } from 'zod'
import { pointNames, type PointName } from '../contract/pointsFile.ts'
import type { Affine } from '../geometry/affine.ts'
import { imagePoint, type ImagePoint } from '../geometry/vec.ts'
import { markSchema } from '../markup/mark.ts'
import { rises } from './phaseTie.ts'

/**
 * From the reference's picture to the pane's: turned left for right first where mirrored (x to -x), then scaled, turned, shifted.
 * Stored whole, so that a replay needs neither points nor library to lay one over the other.
 */
export const similaritySchema = z.object({
  scale: z.number().positive(),
  /** Degrees clockwise as seen. */
  turn: z.number(),
  mirror: z.boolean(),
  /** Pixels of the pane's picture. */
  shift: z.tuple([z.number(), z.number()]).readonly(),
})
export type Similarity = Readonly<z.infer<typeof similaritySchema>>

export function similarityMap({ scale, turn, mirror, shift }: Similarity): Affine {
  const angle = (turn * Math.PI) / 180
  const [cos, sin] = [scale * Math.cos(angle), scale * Math.sin(angle)]
  const sign = mirror ? -1 : 1
  return { a: sign * cos, b: sign * sin, c: -sin, d: cos, e: shift[0], f: shift[1] }
}

/**
 * Points placed on a clip, frame by frame, short enough for a log: a row is the frame's tick, then x and y of each point in the
 * order of `points`, null where it is not placed. Image space, to a tenth of a pixel; rows rise in time.
 */
export const trackSchema = z.object({
  points: z.array(z.enum(pointNames)).readonly(),
  rows: z.array(z.array(z.number().nullable()).readonly()).readonly(),
}).readonly().refine(({ points, rows }) => rows.every((row) => row.length === 1 + 2 * points.length && row[0] !== null), { message: 'a row does not fit its points' })
export type PointTrack = z.infer<typeof trackSchema>

export const looks = ['beside', 'ghost', 'wipe'] as const

/** What stands beside one pane, or over it. */
export const referenceSchema = z.object({
  clipId: z.string(),
  tie: z.array(z.tuple([z.number(), z.number()]).readonly()).min(1).readonly().refine(rises, { message: 'the tie does not rise' }),
  /** Whether the pairs are positions of the swing, or one instant from which real time runs. */
  tiedBy: z.enum(['positions', 'time']),
  transform: similaritySchema,
  /** Whether the transform is in use; else the reference is fitted in as it was filmed. */
  aligned: z.boolean(),
  look: z.enum(looks),
  /** Of a ghost how much it shows; of a wipe how much of the pane's width is left to the student. */
  amount: z.number().min(0).max(1),
  /** What of a ghost is laid over: its picture, its skeleton, its shaft's path. Skeleton and shaft show in the other looks too. */
  picture: z.boolean(),
  skeleton: z.boolean(),
  shaft: z.boolean(),
  /** Hand and clubhead paths of both, up to this instant. */
  traces: z.boolean(),
  /** What was drawn on the reference itself. A log from before it could be shown has neither of the two. */
  marked: z.boolean().optional(),
  /** The marks of the reference's clip that may be shown. */
  marks: z.array(markSchema).readonly().optional(),
  /** Points of the pane's clip and of the reference's; null where none are placed. */
  tracks: z.object({ own: trackSchema.nullable(), reference: trackSchema.nullable() }).readonly(),
})
export type Reference = Readonly<z.infer<typeof referenceSchema>>

/** All but the parts that are the comparison itself: what the coach may change while it stands. */
export const referencePatchSchema = referenceSchema.omit({ clipId: true, tracks: true, marks: true }).partial()
export type ReferencePatch = Readonly<z.infer<typeof referencePatchSchema>>

export type TrackPoints = Partial<Record<PointName, ImagePoint>>

/**
 * The points of a track at a tick: those of the frame itself; between two frames that are no farther apart than `reach` ticks, on
 * the straight line between them.
 */
export function trackAt({ points, rows }: PointTrack, tick: number, reach: number): TrackPoints {
  const found: TrackPoints = {}
  points.forEach((name, k) => {
    let before: readonly (number | null)[] | null = null
    for (const row of rows) {
      const [at, x, y] = [row[0]!, row[1 + 2 * k]!, row[2 + 2 * k]!]
      if (x === null || y === null) continue
      if (at === tick) {
        found[name] = imagePoint(x, y)
        return
      }
      if (at > tick) {
        if (!before || at - before[0]! > reach) return
        const share = (tick - before[0]!) / (at - before[0]!)
        const [px, py] = [before[1 + 2 * k]!, before[2 + 2 * k]!]
        found[name] = imagePoint(px + share * (x - px), py + share * (y - py))
        return
      }
      before = row
    }
  })
  return found
}
