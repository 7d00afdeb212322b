import { imagePoint, type ImagePoint } from '../geometry/vec.ts'
import type { Size } from '../picture/layout.ts'
import { frameAt, tickOf, ticksPerRealSecond, type ClipTime } from '../walkthrough/motion.ts'
import type { FrameIndex } from '../contract/clip.ts'
import type { Mark, Span } from './mark.ts'
import { rounded } from './tools/tool.ts'

/**
 * A point of one clip's picture laid onto another's: scaled by the pictures' heights about their middles (players fill
 * the height, and one scale keeps circles and angles), turned about where the panes show the clips mirrored differently.
 */
export function acrossPictures(from: Size, to: Size, mirrored: boolean): (point: ImagePoint) => ImagePoint {
  const scale = to.height / from.height
  const sign = mirrored ? -1 : 1
  return ([x, y]) => imagePoint(to.width / 2 + sign * (x - from.width / 2) * scale, to.height / 2 + (y - from.height / 2) * scale)
}

/** A copy of a mark for another clip. */
export function copyAcross(mark: Mark, onto: { readonly id: string; readonly clipId: string; readonly span: Span; readonly order: number }, map: (point: ImagePoint) => ImagePoint): Mark {
  return { ...mark, ...onto, points: mark.points.map((point) => rounded(map(point))) }
}

/** Seconds of the world for which a mark of a span shows until the coach says otherwise. */
export const spanSeconds = 0.25

/** The span of the frame on screen, of a while from that frame on, or of the whole clip. */
export function spanFrom(kind: 'frame' | 'span' | 'clip', clip: ClipTime, frame: number): Span {
  if (kind === 'clip') return null
  const from = tickOf(clip.frames, frame)
  return { from, to: kind === 'frame' ? from : tickOf(clip.frames, frameAt(clip.frames, from + spanSeconds * ticksPerRealSecond(clip))) }
}

export const spanKind = (span: Span): 'frame' | 'span' | 'clip' => (span === null ? 'clip' : span.from === span.to ? 'frame' : 'span')

/** The span with one end put at a frame; the other end gives way rather than be passed. */
export function withEnd(span: Span, end: 'from' | 'to', frames: FrameIndex, frame: number): Span {
  const tick = tickOf(frames, frame)
  const whole = span ?? { from: frames.ticks[0]!, to: frames.ticks.at(-1)! }
  return end === 'from' ? { from: tick, to: Math.max(tick, whole.to) } : { from: Math.min(tick, whole.from), to: tick }
}
