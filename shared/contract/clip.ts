import { z } from 'zod'

/** Where the phone stood. */
export const viewSchema = z.enum(['face-on', 'down-the-line', 'other'])
export type View = z.infer<typeof viewSchema>

export const handednessSchema = z.enum(['right', 'left'])
export type Handedness = z.infer<typeof handednessSchema>

/**
 * The frames of a clip as they are shown, in order, in the clip's own timescale. Made at take-in from the packets;
 * it is the truth about time everywhere. Frame i is on screen from ticks[i] until ticks[i + 1], the last until endTick.
 */
export const frameIndexSchema = z.object({
  /** Ticks a second of file time. */
  timescale: z.number().int().positive(),
  /** Integer presentation time of each shown frame, strictly ascending; the first need not be 0. */
  ticks: z.array(z.number().int()).min(1),
  /** Where the last frame ends; greater than the last tick. */
  endTick: z.number().int(),
})
export type FrameIndex = Readonly<z.infer<typeof frameIndexSchema>>

export const rateBasisSchema = z.enum(['tag', 'file', 'coach'])

export const clipSchema = z.object({
  id: z.string(),
  studentId: z.string().nullable(),
  swingId: z.string().nullable(),
  deliveryId: z.string().nullable(),
  view: viewSchema,
  club: z.string(),
  handedness: handednessSchema,
  /**
   * Whether the file shows the world left for right, as a phone's front camera may save it. All that is placed on a clip
   * stays in the file's own pixels; whoever shows or reads it turns it back. Left out: no.
   */
  mirrored: z.boolean().optional(),
  /** As it was named on the student's phone. */
  fileName: z.string(),
  /** SHA-256 of the original, hex; the name of its file in the media store. */
  hash: z.string(),
  bytes: z.number().int(),
  /** Display space: after rotation, square pixels. */
  width: z.number().int().positive(),
  height: z.number().int().positive(),
  frames: frameIndexSchema,
  /** Pictures a second of the world while filming. */
  captureRate: z.number().positive(),
  captureRateBasis: rateBasisSchema,
  /** Pictures a second as the file plays. */
  playRate: z.number().positive(),
  hasSound: z.boolean(),
  hdr: z.boolean(),
  codec: z.string(),
  /** Size of the review copy in its own pixels. */
  reviewWidth: z.number().int().positive(),
  reviewHeight: z.number().int().positive(),
  takenInAt: z.number().int(),
  /** When the phone says it was filmed, milliseconds since 1970, or null. */
  filmedAt: z.number().int().nullable(),
  note: z.string(),
})
export type Clip = z.infer<typeof clipSchema>

/** The hand that a clip's picture shows as it lies in the file: a mirrored right-hander looks like a left-hander. */
export const pictureHand = ({ handedness, mirrored }: { readonly handedness: Handedness; readonly mirrored?: boolean | undefined }): Handedness =>
  mirrored ? (handedness === 'left' ? 'right' : 'left') : handedness
