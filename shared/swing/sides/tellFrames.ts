import type { PointsFile } from '../../contract/pointsFile.ts'
import { frameAt, ticksPerRealSecond } from '../../walkthrough/motion.ts'
import type { SwingRecords } from '../assemble.ts'
import type { TellInstant } from './sidesWords.ts'

/** Tells an instant of a view's clock as the frame of the clip that the view was put together from. */
export const tellFrames = ({ clips, tie }: Pick<SwingRecords, 'clips' | 'tie'>, file: PointsFile): TellInstant => (view, t) => {
  const clip = clips.find((one) => one.view === view)
  if (!clip) return `${t.toFixed(3)} s`
  const isTied = tie !== null && file.views.length === 2 && file.sameSwing
  const zero = isTied ? (clip === clips[0] ? tie.left : tie.right) : clip.frames.ticks[0]!
  return `frame ${frameAt(clip.frames, zero + t * ticksPerRealSecond(clip) + 0.5) + 1}`
}
