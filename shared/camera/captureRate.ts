/** How a clip's time was sampled, and what that does to things that move. */

/** Seconds between frames of a camera that samples the world `rate` times a second. */
export const frameInterval = (rate: number): number => 1 / rate

/**
 * Standard deviation of an instant that is only known to the frame it fell on: evenly spread over one interval.
 */
export const frameTimeSigma = (interval: number): number => interval / Math.sqrt(12)

/** How far something smears while the shutter is open: speed times time, in the speed's length. */
export const motionBlur = (speed: number, exposureS: number): number => speed * exposureS

/** How much later a rolling shutter exposes `rows` further on, seconds, where all `totalRows` take `readoutS`. */
export const rollingShutterDelay = (rows: number, totalRows: number, readoutS: number): number => (rows / totalRows) * readoutS

/** The turn between two frames, in the unit of `turnRate` times seconds. */
export const turnPerFrame = (turnRate: number, captureRate: number): number => turnRate / captureRate

/** A ratio of two spans counted in frames, and the values one frame's error in the instant between them gives. */
export function tempoFromFrames(back: number, down: number): { ratio: number; low: number; high: number } {
  return { ratio: back / down, low: (back - 1) / (down + 1), high: (back + 1) / (down - 1) }
}
