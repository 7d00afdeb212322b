import { positionNames, type PositionName } from '../../../shared/contract/pointsFile.ts'
import { clockOf } from '../../../shared/swing/assemble.ts'
import { positionTitle } from '../../../shared/swing/digitised.ts'
import { framesAbout } from '../../../shared/swing/plan.ts'
import { frameAt, ticksPerRealSecond } from '../../../shared/walkthrough/motion.ts'
import type { PaneId, StageClip } from '../../../shared/walkthrough/stage.ts'
import type { Peg } from '../strip/pegs.ts'
import type { Measuring } from './measuring.ts'

/** The digit of a position, in the order of the swing: 1 is address, 0 is the finish. */
export const positionDigit = (index: number): string => String((index + 1) % 10)

export interface PositionLine {
  readonly name: PositionName
  /** "frame 42", "between frames 41 and 42"; null where it is not known. */
  readonly where: string | null
  readonly error: string | null
  readonly by: 'set' | 'found' | null
  readonly basis: string
}

const ms = (seconds: number): string => `\u00b1 ${(1000 * seconds).toFixed(seconds < 0.00995 ? 1 : 0)} ms`

/** How each position stands on a pane's clip. */
export function positionLines(measuring: Measuring, pane: PaneId, clip: StageClip): PositionLine[] {
  const { outcome, table } = measuring.state.getState()
  const isIn = outcome.kind === 'measured' && outcome.clips.some(({ id }) => id === clip.id)
  const found = isIn ? (outcome.result.viewPositions ? outcome.result.viewPositions[clip.view as 'face-on'] : outcome.result.positions) : undefined
  const clock = clockOf(clip, measuring.tiedOf(clip.id))
  return positionNames.map((name) => {
    const own = table[`${clip.id}/position/${name}`]
    const result = found?.[name]
    const set = own?.kind === 'position'
    const frame = set ? frameAt(clip.frames, own.tick) + 1 : null
    const frames = result ? framesAbout({ ...clip, view: clip.view }, clock, result.t).map((i) => i + 1) : []
    const where = set ? (own.falls === 'on' ? `frame ${frame}` : `between ${frame} and ${frame! + 1}`)
      : result ? (frames.length === 2 ? `between ${frames[0]} and ${frames[1]}` : `frame ${frames[0]}`) : null
    return { name, where, error: result ? ms(result.sigma) : null, by: set ? 'set' as const : result ? 'found' as const : null, basis: result?.basis ?? '' }
  })
}

/** The same as pegs of the clip's strip. */
export function pegsOf(measuring: Measuring, pane: PaneId, clip: StageClip): Peg[] {
  const { outcome, table } = measuring.state.getState()
  const perSecond = ticksPerRealSecond(clip)
  return positionLines(measuring, pane, clip).flatMap((line, i): Peg[] => {
    const own = table[`${clip.id}/position/${line.name}`]
    const t = measuring.positionTime(pane, line.name)
    const result = outcome.kind === 'measured' ? (outcome.result.viewPositions?.[clip.view as 'face-on'] ?? outcome.result.positions)[line.name] : undefined
    const peg = { clipId: clip.id, label: positionDigit(i), words: `${positionTitle(line.name)}, ${line.where}`, isSet: own?.kind === 'position' }
    if (t !== null && result) return [{ ...peg, tick: measuring.tickAtTime(pane, t), sigmaTicks: result.sigma * perSecond }]
    return own?.kind === 'position' ? [{ ...peg, tick: own.tick, sigmaTicks: 0 }] : []
  })
}
