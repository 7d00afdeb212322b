import type { PointsFile, ViewName } from '../../contract/pointsFile.ts'
import { frameAt, ticksPerRealSecond } from '../../walkthrough/motion.ts'
import type { MeasuredClip, SwingRecords } from '../assemble.ts'
import type { TellInstant } from './sidesWords.ts'

/** The clip that a view was put together from and the place of its frame at an instant of the view's clock. */
export function frameOf({ clips, tie }: Pick<SwingRecords, 'clips' | 'tie'>, file: PointsFile, view: ViewName, t: number): { readonly clip: MeasuredClip; readonly frame: number } | null {
  const clip = clips.find((one) => one.view === view)
  if (!clip) return null
  const isTied = tie !== null && file.views.length === 2 && file.sameSwing
  const zero = isTied ? (clip === clips[0] ? tie.left : tie.right) : clip.frames.ticks[0]!
  return { clip, frame: frameAt(clip.frames, zero + t * ticksPerRealSecond(clip) + 0.5) }
}

/** Tells an instant of a view's clock as the frame of the clip that the view was put together from. */
export const tellFrames = (records: Pick<SwingRecords, 'clips' | 'tie'>, file: PointsFile): TellInstant => (view, t) => {
  const found = frameOf(records, file, view, t)
  return found ? `frame ${found.frame + 1}` : `${t.toFixed(3)} s`
}
