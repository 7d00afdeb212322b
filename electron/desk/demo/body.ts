/** Lengths of the skeleton in metres. */
export interface BodyLengths {
  readonly stature: number
  readonly upperArm: number
  readonly forearm: number
  /** Wrist to the middle of a fist closed on a grip. */
  readonly fist: number
  readonly thigh: number
  readonly shank: number
  readonly ankleHeight: number
  readonly foot: number
  /** Middle of the hips to the middle of the shoulders. */
  readonly trunk: number
  /** Middle of the shoulders to a shoulder's centre. */
  readonly clavicle: number
  readonly hipHalf: number
  /** Middle of the shoulders to the middle of the head (between the ears). */
  readonly neck: number
  readonly crownAboveEars: number
}

/**
 * Segment lengths from stature: Drillis & Contini 1966, reproduced in Winter, Biomechanics and Motor Control of Human Movement, fig. 4.1.
 * The published widths of shoulders (.259) and hips (.191) are the outline's; joint centres lie a limb's radius inside them, by .022 and
 * .041 of stature (our own, from the limbs' radii that the figure wears).
 */
export function bodyFor(stature: number): BodyLengths {
  return {
    stature,
    upperArm: 0.186 * stature,
    forearm: 0.146 * stature,
    fist: 0.045 * stature,
    thigh: (0.53 - 0.285) * stature,
    shank: (0.285 - 0.039) * stature,
    ankleHeight: 0.039 * stature,
    foot: 0.152 * stature,
    trunk: (0.818 - 0.53) * stature,
    clavicle: (0.259 / 2 - 0.022) * stature,
    hipHalf: (0.191 / 2 - 0.041) * stature,
    neck: 0.112 * stature,
    crownAboveEars: 0.07 * stature,
  }
}
