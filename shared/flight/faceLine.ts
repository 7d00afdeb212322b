import type { Vec2 } from '../geometry/vec.ts'
import type { Known } from './launch.ts'

/** A line drawn along the face on one frame, from the heel to the toe, as filmed. */
export interface FaceLine {
  readonly heel: Vec2
  readonly toe: Vec2
  /** One standard deviation of each end, pixels. */
  readonly sigmaPx: number
}

/** How the picture is turned against the world's level, radians, as `levelOfClip` gives it. */
export interface PictureLevel {
  readonly roll: number
  readonly sigma: number
}

/** A line shorter than this is mostly error; pixels. */
const shortest = 4
const degrees = 180 / Math.PI

const wrapped = (angle: number): number => angle - 360 * Math.ceil((angle - 180) / 360)

/** From heel to toe against the picture's right, counter-clockwise; degrees in (-180, 180]. */
const slopeOf = ({ heel, toe }: FaceLine): number => Math.atan2(heel[1] - toe[1], toe[0] - heel[0]) * degrees
const lengthOf = ({ heel, toe }: FaceLine): number => Math.hypot(toe[0] - heel[0], toe[1] - heel[1])
/** What both ends' errors do to the slope, degrees. */
const ownSigma = (line: FaceLine): number => ((Math.SQRT2 * line.sigmaPx) / lengthOf(line)) * degrees

/** Why a face line says nothing, in one sentence; null where it does. */
export function faceLineFault(line: FaceLine): string | null {
  const length = lengthOf(line)
  if (!Number.isFinite(length)) return 'The face line has an end that is no point of the picture.'
  if (length < shortest) return `The face line is ${length.toFixed(1)} px long, too short to have a direction: draw it from the heel to the toe, or zoom in.`
  return null
}

/**
 * The face's apparent angle: heel to toe against the level, as it looks in this picture, degrees in (-180, 180], counter-clockwise
 * positive. It is no angle in space: how the face stands out of the picture's plane is not seen. Null for a line with a fault.
 */
export function apparentFace(line: FaceLine, level: PictureLevel): Known | null {
  if (faceLineFault(line)) return null
  return { value: wrapped(slopeOf(line) + level.roll * degrees), sigma: Math.hypot(ownSigma(line), level.sigma * degrees) }
}

/**
 * How far the apparent face turned from one frame to another of one clip, the shorter way round, degrees, counter-clockwise
 * positive. The picture's level is the same in both and drops out. Null for a line with a fault.
 */
export function faceChange(from: FaceLine, to: FaceLine): Known | null {
  if (faceLineFault(from) || faceLineFault(to)) return null
  return { value: wrapped(slopeOf(to) - slopeOf(from)), sigma: Math.hypot(ownSigma(from), ownSigma(to)) }
}

/**
 * How blurred the toe is while a frame is exposed, in pixels; null where its way is not known. A face that turns this far across
 * its own width has no edge to draw.
 * @param speedPxPerS of the clubhead in the picture @param exposureS usually not above one frame
 */
export const blurPx = (speedPxPerS: number, exposureS: number): number => Math.abs(speedPxPerS * exposureS)

export type FilmedClosure = { readonly ok: true; readonly rate: Known; readonly note: string } | { readonly ok: false; readonly why: string }

/** Longer than this between two face lines, what the face did at impact itself is not in the film; seconds, our assumption. */
const longestS = 0.012

/**
 * The rate of closure as two face lines near impact show it, degrees a second, as it looks in this picture. Refused, with the
 * reason in words, where the film is too slow or the lines too uncertain to tell anything.
 * @param apartS seconds of the world between the two frames, with their error
 */
export function closureOnFilm(from: FaceLine, to: FaceLine, apartS: Known): FilmedClosure {
  const fault = faceLineFault(from) ?? faceLineFault(to)
  if (fault) return { ok: false, why: fault }
  if (!(apartS.value > 0)) return { ok: false, why: 'Both face lines stand on one frame: draw the second on a later one.' }
  if (apartS.value > longestS)
    return {
      ok: false,
      why: `The two frames stand ${(apartS.value * 1000).toFixed(0)} ms apart: how fast the face closed at impact itself cannot be read from that. Say what you take it to be.`,
    }
  const change = faceChange(from, to)!
  const rate = change.value / apartS.value
  const sigma = Math.hypot(change.sigma / apartS.value, (rate * apartS.sigma) / apartS.value)
  if (sigma > Math.abs(rate))
    return { ok: false, why: `The face seems to turn ${Math.abs(change.value).toFixed(0)} \u00b1 ${change.sigma.toFixed(0)}\u00b0 between the two frames, no more than its error: a rate cannot be read from that.` }
  return { ok: true, rate: { value: Math.abs(rate), sigma }, note: 'as it looks in this picture: the true rate depends on how the face stands to the camera' }
}
