import { z } from 'zod'
import { markSchema } from '../markup/mark.ts'
import { clipSchema } from './clip.ts'
import { digitisedSchema } from './digitising.ts'
import { faceInputSchema } from './faceInput.ts'
import { permissionSchema, tagSchema } from './shelf.ts'
import { studentSchema, swingSchema } from './student.ts'

/**
 * A swing as one file, to be sent from one library to another: a zip archive with `manifest.json` and the clips in `clips/`.
 * The format is written out in SWING_BUNDLE.md; what a reader must refuse stands there too.
 */
export const bundleFormat = 'crossbearing-swing'
export const bundleVersion = 1
export const bundleEnding = '.crossbearing-swing.zip'
export const manifestName = 'manifest.json'
/** A manifest larger than this is none: 100,000 points are some 20 MB. */
export const mostManifestBytes = 64 * 2 ** 20
export const mostClipBytes = 8 * 2 ** 30

const hash = z.string().regex(/^[0-9a-f]{64}$/, { error: 'is no SHA-256 in hexadecimal' })
const short = z.string().max(2000)

/** What a bundle says before anything else is read of it. */
export const bundleHeadSchema = z.object({ format: z.literal(bundleFormat), version: z.number().int().positive() })

export const bundleClipSchema = clipSchema
  .pick({ view: true, handedness: true, mirrored: true, width: true, height: true, captureRate: true, captureRateBasis: true, filmedAt: true })
  .extend({
    club: z.string().max(200),
    /** Its name in the archive. */
    file: z.string().regex(/^clips\/[12]\.(mp4|mkv)$/, { error: 'is not clips/1 or clips/2' }),
    bytes: z.number().int().positive().max(mostClipBytes),
    /** SHA-256 of the file in the archive. */
    sha256: hash,
    /** SHA-256 of the file it was made from, as it came from the phone. */
    originalSha256: hash,
    /** The frames that all ticks below count in. The file in the archive has the same frames, but may count otherwise. */
    frames: clipSchema.shape.frames.refine(({ ticks, endTick }) => ticks.every((tick, i) => tick < (ticks[i + 1] ?? endTick)), { error: 'do not follow one another' }),
    /** Points, positions and guides; their clipId is the clip's name in the archive. */
    digitised: z.array(digitisedSchema).max(200_000),
    marks: z.array(markSchema).max(20_000),
  })
export type BundleClip = z.infer<typeof bundleClipSchema>

export const manifestSchema = bundleHeadSchema.extend({
  version: z.literal(bundleVersion),
  /** Who was filmed, with the record of who agreed to what; null where the library did not know. */
  player: studentSchema.pick({ name: true, handedness: true, statureM: true, clubs: true, minor: true, consent: true }).extend({ id: z.uuid() }).nullable(),
  swing: swingSchema.pick({ pairing: true, tie: true }).extend({ title: short }).nullable(),
  reference: z.boolean(),
  permission: permissionSchema,
  source: short,
  licence: short,
  tags: z.array(tagSchema).max(200),
  /** What the coach said of face, path and timing; left out where nothing was said, and in bundles from before it travelled. */
  face: faceInputSchema.optional(),
  /** The left pane's clip first. */
  clips: z.array(bundleClipSchema).min(1).max(2),
})
export type Manifest = z.infer<typeof manifestSchema>

export const bundleShapes = {
  /** Writes a swing of the Shelf to one file; answers with the job. Refused with `no-consent` where a minor in it lacks consent. */
  bundle: z.object({
    key: z.string(),
    /** Full path of the file to write, which is not there yet. */
    to: z.string(),
    /** Without it the player is "Unnamed player", and nobody is named in the consent. */
    withName: z.boolean(),
  }),
} as const
