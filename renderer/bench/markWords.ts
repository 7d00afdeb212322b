import type { FrameIndex } from '../../shared/contract/clip.ts'
import { meanings, type Mark, type Shape } from '../../shared/markup/mark.ts'
import { planeMarkName } from '../../shared/swing/planeMarks.ts'
import { frameAt, realSeconds, type ClipTime } from '../../shared/walkthrough/motion.ts'

export const shapeWords: Readonly<Record<Shape, string>> = {
  line: 'Line', segment: 'Segment', arrow: 'Arrow', box: 'Box', circle: 'Circle', dot: 'Dot', angle: 'Angle', polyline: 'Polyline', freehand: 'Freehand', text: 'Text',
  fan: 'Shaft as it is', plan: 'From above', arms: 'Arms', figure: 'Arms in the corner', misses: 'Fan of misses',
}
export const inkWords = { plain: 'White', lead: 'Lead side', trail: 'Trail side', club: 'Club', reference: 'Reference', head: 'Head', body: 'Body' } as const

export const markName = (mark: Pick<Mark, 'meaning' | 'shape'> & { readonly id?: string }): string =>
  mark.meaning ? meanings[mark.meaning].name : (mark.id !== undefined && planeMarkName(mark.id)) || shapeWords[mark.shape]

/** When a mark shows, in frames counted from 1: `frame 118`, `frames 100 to 130`, `whole clip`. */
export function spanWords({ span }: Pick<Mark, 'span'>, frames: FrameIndex): string {
  if (span === null) return 'whole clip'
  const [from, to] = [frameAt(frames, span.from) + 1, frameAt(frames, span.to) + 1]
  return from === to ? `frame ${from}` : `frames ${from} to ${to}`
}

/** Seconds with their sign and as many digits as the interval between two frames is worth: `+0.117`. */
export function secondsWords(seconds: number, sign = true): string {
  const digits = Math.abs(seconds).toFixed(3)
  return Number(digits) === 0 ? '0.000' : `${seconds < 0 ? '\u2212' : sign ? '+' : ''}${digits}`
}

/** Seconds of the world from an instant to the frame shown, and the interval of frames, which is how well it is known. */
export function timeFrom(clip: ClipTime, zero: number, tick: number): { readonly seconds: number; readonly error: number } {
  return { seconds: realSeconds(clip, zero, tick), error: 1 / clip.captureRate }
}
