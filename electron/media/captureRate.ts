/** Pictures a second of the world while filming, and where that was learnt. */
export interface CaptureRate {
  rate: number
  /** `tag`: the phone wrote it into the file. `file`: only the file's own rate is known, and slow motion may hide behind it. */
  basis: 'tag' | 'file'
  /** The tag's name, or in words what was taken. */
  from: string
}

const rateTags = ['com.android.capture.fps']
const appleSlowMotion = 'com.apple.quicktime.full-frame-rate-playback-intent'

/**
 * A guess that the coach can correct. Android cameras write the rate of capture into the container. Apple's write no
 * rate: a slow-motion recording carries a playback intent and its frames lie at the times they were captured, so the
 * file's own rate is the rate of capture (from memory; no published source at hand).
 * @param tags the container's and the video track's tags together
 * @param playRate the file's median frame rate
 */
export function guessCaptureRate(tags: Readonly<Record<string, string>>, playRate: number): CaptureRate {
  for (const name of rateTags) {
    const rate = Number.parseFloat(tags[name] ?? '')
    if (rate >= 1 && rate <= 10_000) return { rate, basis: 'tag', from: name }
  }
  if (tags[appleSlowMotion] !== undefined && playRate >= 100) return { rate: playRate, basis: 'tag', from: appleSlowMotion }
  return { rate: playRate, basis: 'file', from: 'the median time between frames' }
}
